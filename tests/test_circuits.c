/* Published circuits, the files of tests/circuits: each is a file of notes that names its source and says in comments what
 * must be found.
 *
 *   #: finds "IDIOM" REF ...     this idiom, with exactly these parts its own
 *   #: value NAME 14.5 kHz       a value of the find above it, compared to the last digit that is printed
 *   #: concludes "..." REF       this capability of this part
 *   #: hazard "NAME" REF ...     this hazard, with these parts its own
 *
 * What is found must be the same set as what is listed: nothing is missed, and nothing is found that is not there. The
 * values expected are the published ones, never what the program printed. */
#include "tests/teardown.h"

#include "base/file.h"
#include "base/lex.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>

static const char FOLDER[] = "tests/circuits";
enum { CIRCUITS_MOST = 200, CIRCUIT_BYTES_MOST = 1024 * 1024 };

typedef struct Expected {
    ReasonSort sort;
    Text name;
    LIST(Text) refs;
    const ReasonClaim *claim; /* that was found for it */
} Expected;

typedef struct Checking {
    Teardown t;
    Text file;
    LIST(Expected) expected;
    Out wrong; /* empty when all is well */
} Checking;

static bool same_parts(const Checking *checking, const ReasonClaim *claim, const Expected *expected) {
    uint32_t held = 0;
    for (uint32_t i = 0; i < expected->refs.count; i++)
        for (uint32_t k = 0; k < claim->own_count; k++)
            held += text_same(checking->t.bench->parts.at[claim->about[k]].ref, expected->refs.at[i]);
    return held == expected->refs.count && held == claim->own_count;
}

static const ReasonClaim *find_claim(const Checking *checking, const Expected *expected) {
    const Reasoning *reasoning = checking->t.reasoning;
    bool hazard = expected->sort == REASON_HAZARD;
    uint32_t count = hazard ? reasoning->hazards.count : reasoning->claims.count;
    for (uint32_t i = 0; i < count; i++) {
        const ReasonClaim *claim = hazard ? &reasoning->hazards.at[i] : &reasoning->claims.at[i];
        bool named = claim->sort == expected->sort && text_same(claim->name, expected->name);
        if (named && same_parts(checking, claim, expected)) return claim;
    }
    return NULL;
}

/* expectation = ( "finds" | "concludes" | "hazard" ) "name" { REF } */
static void expected_claim(Checking *checking, ReasonSort sort, Lexer *lexer) {
    Arena *arena = checking->t.arena;
    Expected *expected = list_add(arena, &checking->expected);
    *expected = (Expected){.sort = sort, .name = lex_string(arena, lex_take(lexer))};
    while (!lex_at_end(lexer)) list_push(arena, &expected->refs, lex_take(lexer).text);
    expected->claim = find_claim(checking, expected);
    if (expected->claim != NULL) return;
    out_fmt(&checking->wrong, "\n  missing: %.*s", TEXT_ARG(expected->name));
    for (uint32_t i = 0; i < expected->refs.count; i++) out_fmt(&checking->wrong, " %.*s", TEXT_ARG(expected->refs.at[i]));
}

/* value = "value" NAME quantity : equal when rounded to the digits as printed */
static void expected_value(Checking *checking, Lexer *lexer) {
    const Expected *of = checking->expected.count == 0 ? NULL : &checking->expected.at[checking->expected.count - 1];
    Text name = lex_take(lexer).text, written = {0};
    Quantity printed;
    if (of == NULL || of->claim == NULL) return;
    if (!lex_take_quantity(lexer, &printed, &written))
        fail_msg("%.*s: unclear value of %.*s", TEXT_ARG(checking->file), TEXT_ARG(name));
    for (uint32_t i = 0; i < of->claim->value_count; i++) {
        Quantity value = of->claim->values[i].value;
        if (!text_same(of->claim->values[i].name, name)) continue;
        bool rounds_to_it = fabs(value.value - printed.value) <= printed.last / 2 * (1 + 1e-9);
        if (unit_same(value.unit, printed.unit) && rounds_to_it) return;
        out_fmt(&checking->wrong, "\n  %.*s of %.*s is ", TEXT_ARG(name), TEXT_ARG(of->name));
        quantity_print(&checking->wrong, value);
        out_fmt(&checking->wrong, " (%.8g), published is %.*s", value.value, TEXT_ARG(written));
        return;
    }
    out_fmt(&checking->wrong, "\n  %.*s does not derive %.*s", TEXT_ARG(of->name), TEXT_ARG(name));
}

static void read_expectation(Checking *checking, Text line) {
    Lexer lexer;
    lex_start_at(&lexer, line, 2);
    Token word = lex_take(&lexer);
    if (text_is(word.text, "finds"))
        expected_claim(checking, REASON_IDIOM, &lexer);
    else if (text_is(word.text, "concludes"))
        expected_claim(checking, REASON_CAPABILITY, &lexer);
    else if (text_is(word.text, "hazard"))
        expected_claim(checking, REASON_HAZARD, &lexer);
    else if (text_is(word.text, "value"))
        expected_value(checking, &lexer);
    else
        fail_msg("%.*s: unknown expectation %.*s", TEXT_ARG(checking->file), TEXT_ARG(line));
}

static void nothing_else(Checking *checking, const ReasonClaim *claims, uint32_t count) {
    for (uint32_t i = 0; i < count; i++) {
        bool expected = claims[i].sort == REASON_PART || claims[i].sort == REASON_STATED;
        for (uint32_t k = 0; k < checking->expected.count; k++) expected |= checking->expected.at[k].claim == &claims[i];
        if (expected) continue;
        out_fmt(&checking->wrong, "\n  not there: %.*s", TEXT_ARG(claims[i].name));
        for (uint32_t k = 0; k < claims[i].own_count; k++)
            out_fmt(&checking->wrong, " %.*s", TEXT_ARG(checking->t.bench->parts.at[claims[i].about[k]].ref));
    }
}

static void is_read_as_published(void **state) {
    const char *path = *state;
    Arena *arena = arena_new();
    Text content;
    assert_true(file_read(arena, path, CIRCUIT_BYTES_MOST, &content));
    Checking checking = {.t = teardown_of(text_cstring(arena, content), NULL), .file = text_of(path)};
    checking.wrong = out_new(checking.t.arena);
    diags_print(&checking.wrong, &checking.t.notebook->problems);
    for (uint32_t i = 0; i < checking.t.bench->conflicts.count; i++)
        out_fmt(&checking.wrong, "\n  contradiction: %.*s", TEXT_ARG(checking.t.bench->conflicts.at[i].says));
    assert_true(text_starts(content, "#"));
    while (content.len > 0) {
        size_t end = text_find(content, TEXT("\n"));
        Text line = text_sub(content, 0, end);
        content = text_sub(content, end == SIZE_MAX ? content.len : end + 1, content.len);
        if (text_starts(line, "#:")) read_expectation(&checking, line);
    }
    assert_true(checking.expected.count > 0);
    nothing_else(&checking, checking.t.reasoning->claims.at, checking.t.reasoning->claims.count);
    nothing_else(&checking, checking.t.reasoning->hazards.at, checking.t.reasoning->hazards.count);
    Text wrong = out_text(&checking.wrong);
    if (wrong.len > 0) fail_msg("%s:%.*s", path, TEXT_ARG(wrong));
    teardown_end(&checking.t);
    arena_free(arena);
}

/* Is the rule in this circuit? A capability's claim bears the conclusion's name; its tally begins with the rule's. */
static bool shows(const Reasoning *reasoning, Text rule) {
    for (uint32_t i = 0; i < reasoning->hazards.count; i++)
        if (text_same(reasoning->hazards.at[i].name, rule)) return true;
    for (uint32_t i = 0; i < reasoning->claims.count; i++) {
        const ReasonClaim *claim = &reasoning->claims.at[i];
        if (text_same(claim->name, rule)) return true;
        for (uint32_t k = 0; k < claim->because_count; k++)
            if (text_same(text_sub(claim->because[k].says, 0, rule.len), rule)) return true;
    }
    return false;
}

static void the_lore_has_no_slips(void **state) {
    (void)state;
    Teardown t = teardown_of("", NULL);
    Out out = out_new(t.arena);
    diags_print(&out, &t.lore->problems);
    if (t.lore->problems.list.count > 0) fail_msg("%.*s", TEXT_ARG(out_text(&out)));
    teardown_end(&t);
}

/* No rule ships that was never seen to fit: each one is found in some circuit here. */
static void every_rule_is_shown(void **state) {
    const struct CMUnitTest *circuits = *state;
    Arena *arena = arena_new();
    Teardown any = teardown_of("", NULL);
    uint32_t count = reason_rule_count(any.rules), missing = 0;
    bool *shown = arena_many(arena, bool, count + 1);
    for (; circuits->test_func == is_read_as_published; circuits++) {
        Text content;
        assert_true(file_read(arena, circuits->initial_state, CIRCUIT_BYTES_MOST, &content));
        Teardown t = teardown_of(text_cstring(arena, content), NULL);
        for (uint32_t r = 0; r < count; r++) shown[r] = shown[r] || shows(t.reasoning, reason_rule_name(any.rules, r));
        teardown_end(&t);
    }
    Out out = out_new(arena);
    for (uint32_t r = 0; r < count; r++) {
        if (shown[r]) continue;
        missing++;
        Text sort = reason_rule_sort(any.rules, r), name = reason_rule_name(any.rules, r);
        out_fmt(&out, "\n  %.*s \"%.*s\"", TEXT_ARG(sort), TEXT_ARG(name));
    }
    if (missing > 0) fail_msg("in no circuit:%.*s", TEXT_ARG(out_text(&out)));
    teardown_end(&any);
    arena_free(arena);
}

static int is_circuit(const struct dirent *item) {
    size_t len = strlen(item->d_name);
    return len > 4 && strcmp(item->d_name + len - 4, ".txt") == 0;
}

int main(void) {
    struct CMUnitTest tests[CIRCUITS_MOST + 2];
    struct dirent **items = NULL;
    size_t count = 0;
    Arena *arena = arena_new();
    int found = scandir(FOLDER, &items, is_circuit, alphasort);
    for (int i = 0; i < found; i++) {
        Text path = text_fmt(arena, "%s/%s", FOLDER, items[i]->d_name);
        if (count < CIRCUITS_MOST)
            tests[count++] = (struct CMUnitTest){.name = text_cstring(arena, text_of(items[i]->d_name)),
                                                 .test_func = is_read_as_published,
                                                 .initial_state = text_cstring(arena, path)};
        free(items[i]);
    }
    free(items);
    if (count < 20) { /* the project promises at least 20: an empty folder must not pass */
        fprintf(stderr, "only %zu circuits in %s\n", count, FOLDER);
        arena_free(arena);
        return 1;
    }
    tests[count] =
        (struct CMUnitTest){.name = "every rule is shown", .test_func = every_rule_is_shown, .initial_state = tests};
    tests[count + 1] = (struct CMUnitTest){.name = "the lore has no slips", .test_func = the_lore_has_no_slips};
    int failed = _cmocka_run_group_tests("published circuits", tests, count + 2, NULL, NULL);
    arena_free(arena);
    return failed;
}
