/* report: the page. Checked against HTML Living Standard, sections 13.1.2 (elements, void elements), 3.2.6 (ids) and 13.1.4
 * (character references): what the page uses of them, from memory. */
#include "tests/report_fixture.h"

#include "report/html.h"

static Text page(Teardown *t) {
    Out out = out_new(t->arena);
    Diags problems = diags_new(t->arena);
    report_html(&out, t->reasoning, NULL, false, &problems);
    return out_text(&out);
}

static Text show_page(Teardown *t) {
    Out out = out_new(t->arena);
    Diags problems = diags_new(t->arena);
    report_show(&out, t->reasoning, NULL, false, &problems);
    return out_text(&out);
}

static bool holds(Text text, const char *part) { return text_find(text, text_of(part)) != SIZE_MAX; }

static Text escaped(Arena *arena, const char *text) {
    Out out = out_new(arena);
    html_escape(&out, text_of(text));
    return out_text(&out);
}

static void text_is_escaped(void **state) {
    (void)state;
    Arena *arena = arena_new();
    assert_true(text_is(escaped(arena, "<a href=\"x\">&'"), "&lt;a href=&quot;x&quot;&gt;&amp;&#39;"));
    assert_true(text_is(escaped(arena, "R1 lets 52 mA in"), "R1 lets 52&nbsp;mA in"));
    assert_true(text_is(escaped(arena, "a\x01\xFF\xE2\x80\xAE"), "a\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD"));
    arena_free(arena);
}

typedef struct Tag {
    Text name, attributes;
    bool closing;
} Tag;

/* The next tag, from its `<` to its `>`; text between holds neither, since both are escaped. */
static bool next_tag(Text *text, Tag *tag) {
    size_t start = text_find(*text, TEXT("<"));
    if (start == SIZE_MAX) return false;
    size_t end = text_find(*text, TEXT(">"));
    assert_true(end != SIZE_MAX && end > start);
    Text inside = text_sub(*text, start + 1, end - start - 1);
    *text = text_sub(*text, end + 1, text->len);
    tag->closing = text_starts(inside, "/");
    if (tag->closing) inside = text_sub(inside, 1, inside.len);
    size_t blank = text_find(inside, TEXT(" "));
    tag->name = text_sub(inside, 0, blank);
    tag->attributes = blank == SIZE_MAX ? TEXT("") : text_sub(inside, blank, inside.len);
    return true;
}

static bool is_void(Text name) { return text_is(name, "meta") || text_is(name, "!DOCTYPE") || text_is(name, "img"); }

/* The page without what stands between `from` and `to`. */
static Text without(Teardown *t, Text html, const char *from, const char *to) {
    size_t start = text_find(html, text_of(from));
    assert_true(start != SIZE_MAX);
    Text rest = text_sub(html, start, html.len);
    size_t length = text_find(rest, text_of(to));
    assert_true(length != SIZE_MAX);
    start += strlen(from);
    return text_fmt(t->arena, "%.*s%.*s", TEXT_ARG(text_sub(html, 0, start)), TEXT_ARG(text_sub(rest, length, rest.len)));
}

static Text without_style(Teardown *t, Text html) {
    return without(t, without(t, html, "<style>", "</style>"), "<script>", "</script>");
}

/* What stands between name=" and the next quote, or an empty text. */
static Text attribute(Text attributes, const char *name) {
    size_t at = text_find(attributes, text_of(name));
    if (at == SIZE_MAX) return TEXT("");
    Text value = text_sub(attributes, at + strlen(name), attributes.len);
    return text_sub(value, 0, text_find(value, TEXT("\"")));
}

static void check_nesting(Text html) {
    Text stack[64];
    size_t depth = 0;
    Tag tag;
    assert_true(text_starts(html, "<!DOCTYPE html>\n"));
    while (next_tag(&html, &tag)) {
        if (is_void(tag.name) || text_ends(tag.attributes, "/")) continue;
        if (tag.closing) {
            assert_true(depth > 0);
            if (!text_same(stack[--depth], tag.name))
                fail_msg("%.*s is closed by %.*s", TEXT_ARG(stack[depth]), TEXT_ARG(tag.name));
            continue;
        }
        bool in_paragraph = depth > 0 && text_is(stack[depth - 1], "p");
        bool block =
            text_is(tag.name, "p") || text_is(tag.name, "ul") || text_is(tag.name, "div") || text_is(tag.name, "details");
        assert_false(in_paragraph && block); /* a paragraph would end there */
        assert_true(depth < 64);
        stack[depth++] = tag.name;
    }
    assert_int_equal(depth, 0);
}

static void elements_nest_and_close(void **state) {
    (void)state;
    Teardown t = teardown_of(FIXTURE_NOTES, FIXTURE_LORE);
    check_nesting(without_style(&t, page(&t)));
    check_nesting(without_style(&t, show_page(&t)));
    teardown_end(&t);
}

static void ids_are_unique_and_links_lead_somewhere(void **state) {
    (void)state;
    Teardown t = teardown_of(FIXTURE_NOTES, FIXTURE_LORE);
    Text html = without_style(&t, page(&t)), rest = html;
    Names *ids = names_new(t.arena);
    uint32_t links = 0;
    Tag tag;
    while (next_tag(&rest, &tag)) {
        Text id = attribute(tag.attributes, " id=\"");
        if (id.len > 0 && names_find(ids, id) != NAME_NONE) fail_msg("twice: id %.*s", TEXT_ARG(id));
        if (id.len > 0) names_add(ids, id);
    }
    for (rest = html; next_tag(&rest, &tag);) {
        Text link = attribute(tag.attributes, " href=\"");
        if (link.len == 0) continue;
        if (text_starts(link, "data:")) continue;
        links++;
        assert_true(text_starts(link, "#"));
        if (names_find(ids, text_sub(link, 1, link.len)) == NAME_NONE) fail_msg("nowhere: %.*s", TEXT_ARG(link));
    }
    assert_true(links > 20);
    teardown_end(&t);
}

/* A page that fetches anything could tell someone that it was read; what runs is the one script that the policy names. */
static void check_fetches_nothing(Teardown *t, Text html) {
    Text markup = without_style(t, html);
    const char *const never[] = {"<link", "<iframe", "<object", "url(", "@import", "javascript:", " on", "<base", "<form"};
    Tag tag;
    uint32_t scripts = 0;
    for (Text rest = markup; next_tag(&rest, &tag);) {
        Text whole = text_fmt(t->arena, "<%.*s%.*s>", TEXT_ARG(tag.name), TEXT_ARG(tag.attributes));
        for (size_t i = 0; i < sizeof never / sizeof *never; i++)
            if (holds(whole, never[i])) fail_msg("%s in %.*s", never[i], TEXT_ARG(whole));
        Text source = attribute(tag.attributes, " src=\""), link = attribute(tag.attributes, " href=\"");
        if (source.len > 0) assert_true(text_starts(source, "data:image/jpeg;base64,"));
        if (link.len > 0) assert_true(text_starts(link, "#") || text_starts(link, "data:"));
        scripts += !tag.closing && text_is(tag.name, "script");
    }
    assert_int_equal(scripts, 1);
    assert_false(holds(html, "url("));
    assert_false(holds(html, "@import"));
    assert_true(holds(html, "default-src 'none'"));
    assert_true(holds(html, "script-src 'sha256-"));
    assert_false(holds(html, "script-src 'unsafe"));
    assert_true(holds(html, "&lt;script&gt;alert(1)"));
}

static void nothing_is_fetched(void **state) {
    (void)state;
    Teardown t = teardown_of(FIXTURE_NOTES, FIXTURE_LORE);
    check_fetches_nothing(&t, page(&t));
    check_fetches_nothing(&t, show_page(&t));
    teardown_end(&t);
}

static void every_claim_has_its_evidence_under_it(void **state) {
    (void)state;
    Teardown t = teardown_of(FIXTURE_NOTES, FIXTURE_LORE);
    Text html = page(&t);
    for (uint32_t i = 0; i < t.reasoning->claims.count; i++) {
        const ReasonClaim *claim = &t.reasoning->claims.at[i];
        Out opening = out_new(t.arena);
        out_lit(&opening, "<details class=\"claim\" id=\"");
        html_anchor(&opening, "claim-", claim->id);
        size_t at = text_find(html, out_text(&opening));
        if (at == SIZE_MAX) fail_msg("%.*s is not told", TEXT_ARG(claim->id));
        Text inside = text_sub(html, at, html.len);
        inside = text_sub(inside, 0, text_find(inside, TEXT("</details>")));
        for (uint32_t k = 0; k < claim->because_count; k++)
            assert_true(text_find(inside, escaped(t.arena, text_cstring(t.arena, claim->because[k].says))) != SIZE_MAX);
        assert_true(holds(inside, "in all, which is"));
    }
    teardown_end(&t);
}

/* An audience is told of a hazard before it sees a screw; the speaker's sheet has a row a screen. */
static void the_show_tells_hazards_first_and_has_a_cue_for_each_screen(void **state) {
    (void)state;
    Teardown t = teardown_of(FIXTURE_NOTES, FIXTURE_LORE);
    Text html = show_page(&t);
    size_t hazard = text_find(html, TEXT("class=\"screen hazard")), step = text_find(html, TEXT("class=\"screen step"));
    assert_true(hazard != SIZE_MAX && step != SIZE_MAX && hazard < step);
    uint32_t screens = 0, cues = 0;
    Tag tag;
    for (Text rest = without_style(&t, html); next_tag(&rest, &tag);) {
        screens += text_is(tag.name, "section") && !tag.closing;
        cues += text_is(tag.name, "tr") && !tag.closing;
    }
    assert_int_equal(cues, screens + 1); /* and the head of the table */
    assert_true(holds(html, "Take the cells out first."));
    teardown_end(&t);
}

static void hazards_stand_before_the_steps(void **state) {
    (void)state;
    Teardown t = teardown_of(FIXTURE_NOTES, FIXTURE_LORE);
    Text html = page(&t);
    assert_true(text_find(html, TEXT("id=\"hazards\"")) < text_find(html, TEXT("id=\"steps\"")));
    assert_true(text_find(html, TEXT("id=\"steps\"")) < text_find(html, TEXT("id=\"how\"")));
    assert_true(text_find(html, TEXT("<li value=\"1\">Battery door")) <
                text_find(html, TEXT("<li value=\"2\">Lift the board")));
    teardown_end(&t);
}

static void the_same_notes_give_the_same_bytes(void **state) {
    (void)state;
    Teardown one = teardown_of(FIXTURE_NOTES, FIXTURE_LORE), two = teardown_of(FIXTURE_NOTES, FIXTURE_LORE);
    assert_true(text_same(page(&one), page(&two)));
    teardown_end(&one);
    teardown_end(&two);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(text_is_escaped),
        cmocka_unit_test(elements_nest_and_close),
        cmocka_unit_test(ids_are_unique_and_links_lead_somewhere),
        cmocka_unit_test(nothing_is_fetched),
        cmocka_unit_test(every_claim_has_its_evidence_under_it),
        cmocka_unit_test(hazards_stand_before_the_steps),
        cmocka_unit_test(the_show_tells_hazards_first_and_has_a_cue_for_each_screen),
        cmocka_unit_test(the_same_notes_give_the_same_bytes),
    };
    return cmocka_run_group_tests_name("report_html", tests, NULL, NULL);
}
