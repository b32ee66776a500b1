/* The SVG writer: elements, escaping, short numbers, widths of text. */
#include "draw/svg.h"
#include "tests/check.h"

#include <math.h>

static void is(Text text, const char *expected) {
    if (!text_is(text, expected)) fail_msg("%.*s\nexpected: %s", TEXT_ARG(text), expected);
}

static Text number(Arena *arena, double value) {
    Out out = out_new(arena);
    svg_number(&out, value);
    return out_text(&out);
}

static void numbers_are_short(void **state) {
    (void)state;
    Arena *arena = arena_new();
    is(number(arena, 0), "0");
    is(number(arena, -12), "-12");
    is(number(arena, 0.5), "0.5");
    is(number(arena, -0.25), "-0.25");
    is(number(arena, 3.0004), "3");
    is(number(arena, 0.001), "0.001");
    is(number(arena, -0.0001), "0");
    is(number(arena, NAN), "0");
    is(number(arena, 1e300), "0");
    arena_free(arena);
}

static void text_from_outside_stays_text(void **state) {
    (void)state;
    Arena *arena = arena_new();
    Out out = out_new(arena);
    svg_text(&out, (SvgMark){.class = "value", .ref = TEXT("R\"1")}, (SvgPoint){1, 2}, 1.8, SVG_END, TEXT("<script>&'"));
    is(out_text(&out), "<text class=\"value\" data-ref=\"R&quot;1\" x=\"1\" y=\"2\" font-size=\"1.8\" text-anchor=\"end\">"
                                "&lt;script&gt;&amp;&#39;</text>\n");
    arena_free(arena);
}

static void a_page_says_what_it_shows(void **state) {
    (void)state;
    Arena *arena = arena_new();
    Out out = out_new(arena);
    svg_open(&out, &(SvgPage){.left = -1, .width = 20, .height = 10, .id = TEXT("s1"), .title = TEXT("A & B"), .desc = TEXT("two")});
    svg_close(&out);
    is(out_text(&out),
                "<svg xmlns=\"http://www.w3.org/2000/svg\" id=\"s1\" width=\"20mm\" height=\"10mm\" viewBox=\"-1 0 20 10\" role=\"img\" "
                "aria-labelledby=\"s1-title s1-desc\">\n<title id=\"s1-title\">A &amp; B</title>\n<desc id=\"s1-desc\">two</desc>\n</svg>\n");
    arena_free(arena);
}

/* Adobe Core 14 AFM, from memory: digits of Helvetica are 0.556 em; DejaVu Sans 0.636 em, from memory. */
static void a_width_holds_for_narrow_and_wide_fonts(void **state) {
    (void)state;
    double ten = svg_text_width(TEXT("0123456789"), 1);
    assert_true(ten >= 6.36);
    assert_true(ten < 6.36 * 1.1);
    assert_true(svg_text_width(TEXT("\xce\xa9"), 1) > 0.5); /* one Ω, not two letters */
    assert_true(svg_text_width(TEXT("\xce\xa9"), 1) < 1.1);
    assert_true(svg_text_width(TEXT(""), 1) < 1e-9);
}

static void a_line_is_cut_between_characters(void **state) {
    (void)state;
    Arena *arena = arena_new();
    is(svg_clip(arena, TEXT("short"), 2, 30), "short");
    Text cut = svg_clip(arena, TEXT("\xce\xa9\xce\xa9\xce\xa9\xce\xa9\xce\xa9\xce\xa9\xce\xa9\xce\xa9"), 2, 10);
    assert_true(svg_text_width(cut, 2) <= 10 && text_bad_byte(cut) == cut.len && text_ends(cut, "\xE2\x80\xA6"));
    Text word = text_fmt(arena, "%0100000d", 0);
    assert_true(svg_text_width(svg_clip(arena, word, 2, 30), 2) <= 30);
    arena_free(arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(numbers_are_short),
        cmocka_unit_test(text_from_outside_stays_text),
        cmocka_unit_test(a_page_says_what_it_shows),
        cmocka_unit_test(a_width_holds_for_narrow_and_wide_fonts),
        cmocka_unit_test(a_line_is_cut_between_characters),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
