/* shelf: parts lists from outside. RFC 4180 (from memory), section 2, says how fields are quoted. */
#include "tests/check.h"

#include "base/file.h"
#include "shelf/shelf.h"

#include <stdio.h>
#include <unistd.h>

static Arena *arena;
static Lore *lore;
static char csv_path[64], database_path[64];

static int open_room(void **state) {
    (void)state;
    arena = arena_new();
    lore = lore_new(arena);
    lore_add_builtin(lore);
    snprintf(csv_path, sizeof csv_path, "/tmp/unpick-test-csv-%d.csv", (int)getpid());
    snprintf(database_path, sizeof database_path, "/tmp/unpick-test-csv-%d.db", (int)getpid());
    unlink(database_path);
    return 0;
}

static int close_room(void **state) {
    (void)state;
    unlink(csv_path);
    unlink(database_path);
    arena_free(arena);
    return 0;
}

static Shelf *open_file(void) {
    Diags problems = diags_new(arena);
    Shelf *shelf = shelf_open(arena, lore, database_path, &problems);
    assert_non_null(shelf);
    return shelf;
}

/* Loads a list into the catalogue file; the problems as they would be printed. */
static const char *load(Shelf *shelf, Text csv, uint32_t *rows) {
    Diags problems = diags_new(arena);
    Out out = out_new(arena);
    assert_true(file_write(csv_path, csv));
    bool fine = shelf_load(shelf, csv_path, rows, &problems);
    assert_int_equal(fine, problems.list.count == 0);
    diags_print(&out, &problems);
    out_char(&out, '\0');
    return out.at;
}

static void loads(Shelf *shelf, Text csv, uint32_t expected) {
    uint32_t rows;
    const char *said = load(shelf, csv, &rows);
    if (said[0] != '\0') fail_msg("%s", said);
    assert_int_equal(rows, expected);
}

/* Refused, with a message that says `says` and, since it is the first part named in each list, nothing of NEW1 is there. */
static void refuses(Text csv, const char *says) {
    uint32_t rows = 9;
    Shelf *shelf = open_file();
    const char *said = load(shelf, csv, &rows);
    if (strstr(said, says) == NULL) fail_msg("expected: %s\nsaid: %s", says, said);
    assert_int_equal(rows, 0);
    assert_null(shelf_part(shelf, TEXT("NEW1")));
    shelf_close(shelf);
    shelf = open_file();
    assert_null(shelf_part(shelf, TEXT("NEW1")));
    shelf_close(shelf);
}

/* The very first list is refused: nothing may be left that stands in the way of the next. */
static void a_refused_first_list_leaves_no_trace(void **state) {
    (void)state;
    refuses(TEXT("name,pins\nNEW1,eight\n"), "no number of pins");
    refuses(TEXT("name\nNEW1,8\n"), "this row has 2 fields");
}

static void columns_go_by_name_in_any_order(void **state) {
    (void)state;
    Shelf *shelf = open_file();
    loads(shelf,
          TEXT("Unit Price,Stock,MPN,Package,Category,Marking,Aliases,Voltage,Currency,Pin Count\n"
               "0.12,500,XQ9171,SOP-8 DIP-8,opamp,91Q,XQ9171A;XR9171,3..32 V,EUR,8\n"),
          1);
    const ShelfPart *part = shelf_part(shelf, TEXT("xq9171"));
    assert_non_null(part);
    assert_true(text_is(part->kind, "opamp"));
    assert_int_equal(part->package_count, 2);
    assert_true(text_is(part->packages[1], "DIP-8"));
    assert_int_equal(part->leads, 8);
    assert_near(part->price, 0.12);
    assert_true(text_is(part->currency, "EUR"));
    assert_near(part->supply.high, 32);
    assert_true(text_ends(part->source, ".csv:2"));
    assert_ptr_equal(shelf_part(shelf, TEXT("no such part")), NULL);
    assert_true(text_is(shelf_part(shelf, TEXT("XR9171"))->name, "XQ9171"));
    ShelfMatch match;
    assert_int_equal(shelf_find(shelf, arena, (ShelfQuery){.marking = TEXT("91Q"), .package = TEXT("SO8")}, &match, 1), 1);
    assert_true(text_is(match.part->name, "XQ9171"));
    assert_true(match.by_code);
    shelf_close(shelf);
}

/* RFC 4180, section 2, rules 5 to 7; and a byte order mark, which spreadsheets write. */
static void quotes_crlf_and_byte_order_mark(void **state) {
    (void)state;
    Shelf *shelf = open_file();
    loads(shelf, TEXT("\xEF\xBB\xBFname,about\r\n\"QZ1001\",\"says \"\"hello\"\", then\r\na second line\"\r\n\r\nQZ1002,"),
          2);
    assert_true(text_is(shelf_part(shelf, TEXT("QZ1001"))->about, "says \"hello\", then\r\na second line"));
    assert_non_null(shelf_part(shelf, TEXT("QZ1002")));
    loads(shelf, TEXT("name;price\nQZ1003;0,35\n"), 1);
    assert_near(shelf_part(shelf, TEXT("QZ1003"))->price, 0.35);
    shelf_close(shelf);
}

static void a_part_that_is_there_is_replaced(void **state) {
    (void)state;
    Shelf *shelf = open_file();
    loads(shelf, TEXT("name,about,also\nQR500,first,QR501\n"), 1);
    loads(shelf, TEXT("name,about\nqr500,second\n"), 1);
    assert_true(text_is(shelf_part(shelf, TEXT("QR500"))->about, "second"));
    assert_null(shelf_part(shelf, TEXT("QR501")));
    shelf_close(shelf);
}

static void a_bad_row_keeps_all_others_out(void **state) {
    (void)state;
    refuses(TEXT("name,pins\nNEW1,8\nNEW2,eight\n"), ".csv:3:6: no number of pins");
    refuses(TEXT("name,price\nNEW1,1\nNEW2,\"1,234\"\n"), ".csv:3:6: a price that reads two ways");
    refuses(TEXT("name,price\nNEW1,1\nNEW2,cheap\n"), ".csv:3:6: no price");
    refuses(TEXT("name,supply\nNEW1,5 V\nNEW2,5 A\n"), ".csv:3:6: no supply voltage");
    refuses(TEXT("name,pins\nNEW1,8\nNEW2\n"), ".csv:3:1: this row has 1 fields; expected 2");
    refuses(TEXT("name,pins\nNEW1,8\n,8\n"), ".csv:3:1: nothing in the column of the name");
    refuses(TEXT("name\nNEW1\nNEW2\nnew1\n"), ".csv:4:1: new1 is in this list already");
    refuses(TEXT("name\nNEW1\nQR5\"5\n"), ".csv:3:1: a quote inside a field that does not begin with one");
    refuses(TEXT("name\nNEW1\n\"QR5\"5\n"), ".csv:3:1: something stands behind this field's closing quote");
    refuses(TEXT("name,about\nNEW1,\"a\nb\nc"), ".csv:2:6: this quote is never closed");
    refuses(TEXT("name\nNEW1\nA\0B\n"), ".csv:3:1: this field is not text");
    refuses(TEXT("name\nNEW1\n\xFF\xFE\n"), ".csv:3:1: this field is not text");
    refuses(TEXT("name,mpn\nNEW1,NEW2\n"), ".csv:1:6: a second column for the name");
    refuses(TEXT("colour,weight\nNEW1,3\n"), ".csv:1:1: no column has the part's name");
    refuses(TEXT(""), "this list is empty");
}

static void huge_fields_are_refused_or_passed_over(void **state) {
    (void)state;
    enum { HUGE = 3 * 1024 * 1024 };
    Out out = out_new(arena);
    out_lit(&out, "name,notes\nNEW1,x\nNEW2,\"");
    for (int i = 0; i < HUGE; i++) out_char(&out, 'y');
    out_lit(&out, "\"\n");
    Text with_notes = out_text(&out); /* nobody asks for `notes` */
    Shelf *shelf = open_file();
    loads(shelf, text_sub(with_notes, 0, 17), 1);
    loads(shelf, with_notes, 2);
    shelf_close(shelf);
    out = out_new(arena);
    out_lit(&out, "name\n");
    for (int i = 0; i < HUGE; i++) out_char(&out, 'y');
    uint32_t rows;
    shelf = open_file();
    assert_non_null(strstr(load(shelf, out_text(&out), &rows), "too long a name"));
    shelf_close(shelf);
    out = out_new(arena);
    out_lit(&out, "name");
    for (int i = 0; i < 2000; i++) out_lit(&out, ",x");
    shelf = open_file();
    assert_non_null(strstr(load(shelf, out_text(&out), &rows), "too many fields"));
    shelf_close(shelf);
}

/* Text that would be orders to a database, were it ever read as such. */
static void a_name_is_only_a_name(void **state) {
    (void)state;
    Shelf *shelf = open_file();
    loads(shelf, TEXT("name,about\nX9'); drop table part; --,\"' or '1'='1\"\n\"a \"\" b%_\",?1\n"), 2);
    assert_true(text_is(shelf_part(shelf, TEXT("X9'); drop table part; --"))->about, "' or '1'='1"));
    assert_non_null(shelf_part(shelf, TEXT("a \" b%_")));
    ShelfMatch matches[3];
    shelf_find(shelf, arena, (ShelfQuery){.marking = TEXT("'; delete from part; --")}, matches, 3);
    assert_non_null(shelf_part(shelf, TEXT("QZ1001")));
    shelf_close(shelf);
}

static void another_file_is_no_catalogue(void **state) {
    (void)state;
    Diags problems = diags_new(arena);
    assert_true(file_write(csv_path, TEXT("name\nthis is a list, not a database, and it is long enough\n")));
    assert_null(shelf_open(arena, lore, csv_path, &problems));
    assert_int_equal(problems.list.count, 1);
    problems = diags_new(arena);
    Shelf *shelf = shelf_open(arena, lore, NULL, &problems);
    uint32_t rows;
    assert_false(shelf_load(shelf, csv_path, &rows, &problems));
    assert_int_equal(problems.list.count, 1);
    shelf_close(shelf);
}

/* A database cut short or with bytes turned over may be refused or give less, but never crash or hang. */
static void a_spoilt_catalogue_does_no_harm(void **state) {
    (void)state;
    Text whole;
    ShelfMatch matches[3];
    assert_true(file_read(arena, database_path, 16 * 1024 * 1024, &whole));
    char *copy = text_cstring(arena, whole);
    uint32_t chance = 12345;
    for (int round = 0; round < 300; round++) {
        for (size_t i = 0; i < whole.len; i++) copy[i] = whole.at[i];
        for (int k = 0; k < 8; k++) {
            chance = chance * 1664525 + 1013904223; /* Numerical Recipes' generator */
            copy[100 + chance % (whole.len - 100)] ^= (char)(1 << (chance >> 29));
        }
        assert_true(file_write(csv_path, (Text){copy, round % 3 == 0 ? whole.len * 2 / 3 : whole.len}));
        Arena *own = arena_new();
        Diags problems = diags_new(own);
        Shelf *shelf = shelf_open(own, lore, csv_path, &problems);
        if (shelf != NULL) {
            shelf_find(shelf, own, (ShelfQuery){.marking = TEXT("QZ1OO1")}, matches, 3);
            shelf_part(shelf, TEXT("XQ9171"));
        }
        shelf_close(shelf);
        arena_free(own);
    }
}

static void a_list_in_memory_is_for_this_shelf_only(void **state) {
    (void)state;
    Diags problems = diags_new(arena);
    uint32_t rows;
    Shelf *shelf = shelf_open(arena, lore, NULL, &problems);
    uint32_t before = shelf_count(shelf);
    const ShelfPart *builtin = shelf_part(shelf, TEXT("LM358"));
    assert_true(shelf_add(shelf, "/tmp/unpick-no-such-list.csv", &rows, &problems));
    assert_int_equal(rows, 0);
    assert_true(file_write(csv_path, TEXT("name,code,package\nWW7001,W7,SOT-23\n")));
    assert_true(shelf_add(shelf, csv_path, &rows, &problems));
    assert_int_equal(shelf_count(shelf), before + 1);
    assert_ptr_equal(shelf_part(shelf, TEXT("LM358")), builtin);
    ShelfMatch match;
    assert_int_equal(shelf_find(shelf, arena, (ShelfQuery){.marking = TEXT("WW70O1")}, &match, 1), 1);
    assert_true(text_is(match.differs, "5th: 0 read as O"));
    assert_true(file_write(csv_path, TEXT("name,pins\nWW7002,3\nWW7003,?\n")));
    assert_false(shelf_add(shelf, csv_path, &rows, &problems));
    assert_int_equal(shelf_count(shelf), before + 1);
    shelf_close(shelf);
    shelf = shelf_open(arena, lore, NULL, &problems);
    assert_int_equal(shelf_count(shelf), before);
    shelf_close(shelf);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_refused_first_list_leaves_no_trace),   cmocka_unit_test(columns_go_by_name_in_any_order),
        cmocka_unit_test(quotes_crlf_and_byte_order_mark),        cmocka_unit_test(a_part_that_is_there_is_replaced),
        cmocka_unit_test(a_bad_row_keeps_all_others_out),         cmocka_unit_test(a_name_is_only_a_name),
        cmocka_unit_test(huge_fields_are_refused_or_passed_over), cmocka_unit_test(another_file_is_no_catalogue),
        cmocka_unit_test(a_spoilt_catalogue_does_no_harm),        cmocka_unit_test(a_list_in_memory_is_for_this_shelf_only),
    };
    return cmocka_run_group_tests_name("shelf, lists", tests, open_room, close_room);
}
