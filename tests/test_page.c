/* page: who is answered, and what; without a socket. */
#include "tests/page_fixture.h"

#include "page/verbs.h"

/* ---- who is answered ---- */

static void whoever_has_the_address_gets_the_page(void **state) {
    PageAnswer answer = page_get(*state, "");
    assert_int_equal(answer.status, 200);
    assert_holds(answer.body, "<title>A teardown on the bench</title>");
    assert_holds(answer.body, "</html>");
}

static void without_the_key_nothing_is_told(void **state) {
    static const char *const paths[] = {"/", "", "/notes", "//notes", "/00000000000000000000000000000000/notes",
                                        "/0000000000000000000000000000000/notes", "/web/bench.js", "/../notes.txt"};
    for (size_t i = 0; i < sizeof paths / sizeof *paths; i++) {
        PageRequest request = page_request(*state, "GET", "");
        request.path = text_of(paths[i]);
        PageAnswer answer = page_asked(*state, &request);
        assert_int_equal(answer.status, 403);
        assert_lacks(answer.body, "Bench notes");
    }
}

static void a_key_cut_short_or_with_a_digit_changed_opens_nothing(void **state) {
    Asked *asked = *state;
    PageRequest request = page_request(asked, "GET", "notes");
    char *path = text_cstring(asked->arena, request.path);
    path[5] = path[5] == '0' ? '1' : '0';
    request.path = text_of(path);
    assert_int_equal(page_asked(asked, &request).status, 403);
    request.path = text_fmt(asked->arena, "%.*s/notes", TEXT_ARG(text_sub(asked->key, 0, asked->key.len - 2)));
    assert_int_equal(page_asked(asked, &request).status, 403);
}

/* What a name server in a stranger's hand can do: a name of theirs that leads to this machine (DNS rebinding). */
static void a_name_that_is_not_ours_is_refused_even_with_the_key(void **state) {
    static const char *const hosts[] = {"", "evil.example", "evil.example:8017", "127.0.0.1", "127.0.0.1:80", "127.0.0.1:8017.evil.example",
                                        "localhost:80", "[::1]:8017", "0.0.0.0:8017"};
    for (size_t i = 0; i < sizeof hosts / sizeof *hosts; i++) {
        PageRequest request = page_request(*state, "GET", "notes");
        request.host = text_of(hosts[i]);
        assert_int_equal(page_asked(*state, &request).status, 421);
    }
    PageRequest request = page_request(*state, "GET", "notes");
    request.host = TEXT("localhost:8017");
    assert_int_equal(page_asked(*state, &request).status, 200);
}

static void a_post_from_another_page_changes_nothing_even_with_the_key(void **state) {
    static const char *const origins[] = {"", "null", "http://evil.example", "https://127.0.0.1:8017", "http://127.0.0.1:8018",
                                          "http://localhost:8017", "http://127.0.0.1:8017.evil.example"};
    Text before = page_notes(*state);
    for (size_t i = 0; i < sizeof origins / sizeof *origins; i++) {
        PageRequest request = page_request(*state, "POST", "add");
        request.origin = text_of(origins[i]);
        request.body = TEXT("part R1");
        assert_int_equal(page_asked(*state, &request).status, 403);
    }
    assert_true(text_same(before, page_notes(*state)));
}

static void the_phones_door_is_shut_unless_opened(void **state) {
    PageRequest request = page_request(*state, "GET", "notes");
    request.door = PAGE_DOOR_PHONE;
    assert_int_equal(page_asked(*state, &request).status, 421);
    request.host = TEXT("");
    assert_int_equal(page_asked(*state, &request).status, 421);
}

static void no_path_leads_out_of_the_page(void **state) {
    static const char *const paths[] = {"../notes.txt", "notes.txt", "web/../notes.txt", "web/", "web/bench.html", "/etc/passwd",
                                        "photos/a.jpg", "..", "derived/page", "dispenser/notes.txt", "NOTES", "notes/"};
    for (size_t i = 0; i < sizeof paths / sizeof *paths; i++) {
        PageAnswer answer = page_get(*state, paths[i]);
        assert_int_equal(answer.status, 404);
    }
}

static void a_tile_is_found_by_number_and_never_by_path(void **state) {
    static const char *const ids[] = {"", "..", "../..", "/etc", "0123456789abcdef"};
    for (size_t i = 0; i < sizeof ids / sizeof *ids; i++) {
        PageRequest request = page_request(*state, "GET", "tile");
        page_argument(&request, "id", ids[i]);
        page_argument(&request, "level", "0/../../..");
        page_argument(&request, "x", "0");
        page_argument(&request, "y", "0");
        assert_int_equal(page_asked(*state, &request).status, 404);
    }
}

static void other_methods_are_refused(void **state) {
    PageRequest request = page_request(*state, "DELETE", "notes");
    assert_int_equal(page_asked(*state, &request).status, 405);
    request = page_request(*state, "GET", "add");
    assert_int_equal(page_asked(*state, &request).status, 405);
    request = page_request(*state, "POST", "web/bench.js");
    assert_int_equal(page_asked(*state, &request).status, 404);
}

static void a_body_of_ten_gigabytes_is_refused_before_it_is_read(void **state) {
    Asked *asked = *state;
    PageRequest request = page_request(asked, "POST", "add");
    PageAnswer refusal = {0};
    uint64_t most = 0;
    assert_true(page_admit(asked->page, asked->arena, &request, &most, &refusal));
    assert_int_equal(most, NOTE_LINE_MOST);
    request.announced = UINT64_C(10) << 30;
    assert_false(page_admit(asked->page, asked->arena, &request, &most, &refusal));
    assert_int_equal(refusal.status, 413);
    request.announced = UINT64_MAX;
    assert_false(page_admit(asked->page, asked->arena, &request, &most, &refusal));
}

static void bytes_that_are_no_text_are_refused(void **state) {
    PageRequest request = page_request(*state, "GET", "why");
    page_argument(&request, "claim", "\xFF\xFE");
    assert_int_equal(page_asked(*state, &request).status, 400);
    request = page_request(*state, "GET", "complete");
    request.arguments[request.argument_count++] = (PageArgument){TEXT("typed"), {"a\0b", 3}};
    assert_int_equal(page_asked(*state, &request).status, 400);
}

/* ---- notes ---- */

static void a_note_is_on_the_disk_when_the_answer_says_so(void **state) {
    PageAnswer answer = page_post(*state, "add", "part R1 0805 marked \"101\"");
    assert_int_equal(answer.status, 200);
    assert_holds(answer.body, "\"line\": 11");
    assert_true(text_ends(page_notes(*state), "part R1 0805 marked \"101\"\n"));
}

static void a_note_that_cant_be_understood_is_refused_with_its_place(void **state) {
    Text before = page_notes(*state);
    PageAnswer answer = page_post(*state, "add", "jion U1.8 R1.1");
    assert_int_equal(answer.status, 422);
    assert_holds(answer.body, "\"column\": 1");
    assert_holds(answer.body, "did you mean `join`?");
    assert_true(text_same(before, page_notes(*state)));
}

static void a_line_end_within_a_note_smuggles_nothing_in(void **state) {
    Text before = page_notes(*state);
    assert_int_equal(page_post(*state, "add", "part R1\nstrike 1").status, 422);
    assert_true(text_same(before, page_notes(*state)));
}

static void checking_writes_nothing(void **state) {
    Text before = page_notes(*state);
    assert_holds(page_post(*state, "check", "part R1").body, "\"ok\": true");
    assert_holds(page_post(*state, "check", "strike 99").body, "does not exist");
    assert_holds(page_post(*state, "check", "part").body, "\"ok\": false");
    assert_true(text_same(before, page_notes(*state)));
}

static void what_is_checked_is_what_is_added(void **state) {
    size_t count;
    const VerbHelp *helps = verb_helps(&count);
    page_post(*state, "add", "ask \"anything\""); /* for the strike of the examples */
    for (size_t i = 0; i < count; i++) {
        if (helps[i].verb == NOTE_STRIKE) continue;
        assert_holds(page_post(*state, "check", helps[i].example).body, "\"ok\": true");
        assert_int_equal(page_post(*state, "add", helps[i].example).status, 200);
    }
}

static void every_verb_that_the_grammar_has_is_helped_with(void **state) {
    (void)state;
    for (NoteVerb verb = 0; verb < NOTE_VERB_COUNT; verb++)
        if (verb_help(note_verb_name(verb)) == NULL) fail_msg("no help for %.*s", TEXT_ARG(note_verb_name(verb)));
}

/* ---- what is shown ---- */

static void text_from_outside_never_becomes_markup(void **state) {
    static const char nasty[] = "<script>alert(1)</script><img src=x onerror=alert(1)>' \\\"&";
    Asked *asked = *state;
    page_post(asked, "add", text_fmt(asked->arena, "product \"%s\" household", nasty).at);
    page_post(asked, "add", text_fmt(asked->arena, "part U1 SOP-8 marked \"%s\"", nasty).at);
    page_post(asked, "add", text_fmt(asked->arena, "ask \"%s\"", nasty).at);
    page_post(asked, "add", text_fmt(asked->arena, "claim U1 \"%s\" sure 60%%", nasty).at);
    page_again(asked);
    static const char *const paths[] = {"", "notes", "findings"};
    for (size_t i = 0; i < sizeof paths / sizeof *paths; i++) {
        PageAnswer answer = page_get(asked, paths[i]);
        assert_holds(answer.body, "&lt;script&gt;");
        assert_lacks(answer.body, "<script>alert");
        assert_lacks(answer.body, "<img src");
    }
    PageRequest request = page_request(asked, "GET", "why");
    page_argument(&request, "claim", "stated:U1");
    PageAnswer answer = page_asked(asked, &request);
    assert_int_equal(answer.status, 200);
    assert_lacks(answer.body, "<script>");
}

static void an_empty_teardown_says_what_to_do_first_and_hazards_before_that(void **state) {
    Text body = page_get(*state, "findings").body;
    size_t care = text_find(body, TEXT("Before the first screw: unplug it")), first = text_find(body, TEXT("Begin here"));
    assert_true(care < first && first != SIZE_MAX);
    assert_holds(body, "local codes and licensed practice decide");
}

/* The hash that a piece of a sheet carries, by which an open page knows whether it is new. */
static Text piece_hash(Asked *asked, const char *sheet, const char *id) {
    Text body = page_get(asked, sheet).body;
    const char *opening = text_fmt(asked->arena, " id=\"%s\" data-is=\"", id).at;
    size_t at = text_find(body, text_of(opening));
    assert_true(at != SIZE_MAX);
    return text_sub(body, at + strlen(opening), 16);
}

static void a_note_changes_the_pieces_it_bears_on_and_no_others(void **state) {
    Asked *asked = *state;
    page_post(asked, "add", "part U1 SOP-8");
    page_again(asked);
    Text line = piece_hash(asked, "notes", "line-11"), before = piece_hash(asked, "notes", "line-1");
    Text parts = piece_hash(asked, "findings", "parts"), hazards = piece_hash(asked, "findings", "hazards");
    page_post(asked, "add", "part U2 SOP-8");
    page_post(asked, "add", "strike 11");
    page_post(asked, "add", "part U3 SOP-8");
    page_again(asked);
    assert_false(text_same(line, piece_hash(asked, "notes", "line-11")));
    assert_false(text_same(parts, piece_hash(asked, "findings", "parts")));
    assert_true(text_same(before, piece_hash(asked, "notes", "line-1")));
    assert_true(text_same(hazards, piece_hash(asked, "findings", "hazards")));
}

static Text page_line(Asked *asked, const char *line) {
    PageRequest request = page_request(asked, "GET", "line");
    page_argument(&request, "n", line);
    return page_asked(asked, &request).body;
}

static void a_line_shows_what_rests_on_it(void **state) {
    Asked *asked = *state;
    page_post(asked, "add", "part U1 SOP-8");
    page_post(asked, "add", "claim U1 \"a timer\" sure 70%");
    page_again(asked);
    assert_holds(page_line(asked, "12"), "data-claim=\"stated:U1\"");
}

static void a_struck_line_says_so_and_can_count_again(void **state) {
    Asked *asked = *state;
    page_post(asked, "add", "part U1 SOP-8");
    page_post(asked, "add", "strike 11");
    page_again(asked);
    assert_holds(page_line(asked, "11"), "Struck in line 12.");
    page_post(asked, "add", "strike 12");
    page_again(asked);
    assert_lacks(page_line(asked, "11"), "Struck in line");
    assert_holds(page_line(asked, "11"), "data-strike=\"11\"");
    assert_holds(page_line(asked, "12"), "Let it count again");
}

static void a_bad_line_of_an_editor_is_shown_where_it_stands(void **state) {
    Asked *asked = *state;
    Text bad = text_fmt(asked->arena, "%.*sjion a b\n", TEXT_ARG(page_notes(asked)));
    assert_true(file_write(text_fmt(asked->arena, "%s/notes.txt", asked->folder).at, bad));
    page_again(asked);
    assert_holds(page_get(asked, "notes").body, "class=\"bad\"");
    assert_holds(page_get(asked, "notes").body, "did you mean `join`?");
}

/* ---- completion ---- */

static Text completed(Asked *asked, const char *typed) {
    PageRequest request = page_request(asked, "GET", "complete");
    page_argument(&request, "typed", typed);
    return page_asked(asked, &request).body;
}

static void what_may_stand_next_is_offered(void **state) {
    Asked *asked = *state;
    page_post(asked, "add", "part Q1 SOT-23 npn");
    page_post(asked, "add", "net VBAT Q1.C");
    page_post(asked, "add", "mode idle");
    page_post(asked, "add", "board A 10 x 10 mm");
    page_again(asked);
    assert_holds(completed(asked, "jo"), "\"text\": \"join\"");
    assert_holds(completed(asked, "join Q"), "\"text\": \"Q1.\"");
    assert_holds(completed(asked, "join Q1."), "\"text\": \"Q1.B\"");
    assert_holds(completed(asked, "join V"), "\"text\": \"VBAT\"");
    assert_holds(completed(asked, "read v(V"), "\"text\": \"VBAT\"");
    assert_holds(completed(asked, "read "), "\"text\": \"v(\"");
    assert_holds(completed(asked, "read v(VBAT) = 6.2 m"), "\"text\": \"mV\"");
    assert_holds(completed(asked, "part Q"), "\"text\": \"Q2\"");
    assert_holds(completed(asked, "part Q2 SOT"), "\"text\": \"SOT-23\"");
    assert_holds(completed(asked, "part Q2 on "), "\"text\": \"A\"");
    assert_holds(completed(asked, "read v(VBAT) = 1 V in "), "\"text\": \"idle\"");
    assert_holds(completed(asked, "join Q1.B Q1.C by "), "\"text\": \"meter\"");
    assert_lacks(completed(asked, "ask \"jo"), "\"text\"");
    assert_holds(completed(asked, "join "), "what copper or wire joins");
}

/* ---- coming back ---- */

static void the_key_outlives_the_program_only_where_it_was_kept(void **state) {
    Asked *asked = *state;
    Text before = asked->key;
    page_again(asked);
    assert_false(text_same(before, asked->key)); /* nothing listened, so nothing was kept */
}

static void a_folder_that_is_no_teardown_is_said_to_be_none(void **state) {
    Asked *asked = *state;
    assert_null(page_new(&(PageSettings){.folder = "/nonexistent"}, &asked->problems));
    assert_null(page_new(&(PageSettings){.folder = asked->base}, &asked->problems));
    assert_true(asked->problems.list.count >= 2);
}

#define with_page(test) cmocka_unit_test_setup_teardown(test, page_set_up, page_tear_down)

int main(void) {
    const struct CMUnitTest tests[] = {
        with_page(whoever_has_the_address_gets_the_page),
        with_page(without_the_key_nothing_is_told),
        with_page(a_key_cut_short_or_with_a_digit_changed_opens_nothing),
        with_page(a_name_that_is_not_ours_is_refused_even_with_the_key),
        with_page(a_post_from_another_page_changes_nothing_even_with_the_key),
        with_page(the_phones_door_is_shut_unless_opened),
        with_page(no_path_leads_out_of_the_page),
        with_page(a_tile_is_found_by_number_and_never_by_path),
        with_page(other_methods_are_refused),
        with_page(a_body_of_ten_gigabytes_is_refused_before_it_is_read),
        with_page(bytes_that_are_no_text_are_refused),
        with_page(a_note_is_on_the_disk_when_the_answer_says_so),
        with_page(a_note_that_cant_be_understood_is_refused_with_its_place),
        with_page(a_line_end_within_a_note_smuggles_nothing_in),
        with_page(checking_writes_nothing),
        with_page(what_is_checked_is_what_is_added),
        with_page(every_verb_that_the_grammar_has_is_helped_with),
        with_page(text_from_outside_never_becomes_markup),
        with_page(an_empty_teardown_says_what_to_do_first_and_hazards_before_that),
        with_page(a_note_changes_the_pieces_it_bears_on_and_no_others),
        with_page(a_line_shows_what_rests_on_it),
        with_page(a_struck_line_says_so_and_can_count_again),
        with_page(a_bad_line_of_an_editor_is_shown_where_it_stands),
        with_page(what_may_stand_next_is_offered),
        with_page(the_key_outlives_the_program_only_where_it_was_kept),
        with_page(a_folder_that_is_no_teardown_is_said_to_be_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
