/* base: quantities as people write them, text, names, the lexer. */
#include "tests/check.h"

#include "base/lex.h"
#include "base/names.h"
#include "base/quantity.h"

static Quantity read_quantity(const char *written) {
    Quantity q;
    assert_int_equal(quantity_parse(text_of(written), &q), strlen(written));
    return q;
}

static const char *said(const char *written) {
    static Arena *arena;
    arena_free(arena);
    arena = arena_new();
    Out out = out_new(arena);
    quantity_print(&out, read_quantity(written));
    out_char(&out, '\0');
    return out.at;
}

/* IEC 60062:2016, clause 4, examples of the letter notation (from memory). */
static void letter_notation(void **state) {
    (void)state;
    assert_near(read_quantity("R47").value, 0.47);
    assert_near(read_quantity("4R7").value, 4.7);
    assert_near(read_quantity("4k7").value, 4700);
    assert_near(read_quantity("1M0").value, 1e6);
    assert_near(read_quantity("2u2").value, 2.2e-6);
    assert_near(read_quantity("p33").value, 0.33e-12);
    assert_true(unit_same(read_quantity("4R7").unit, UNIT_OHM));
    assert_true(unit_same(read_quantity("5V1").unit, UNIT_VOLT));
}

static void units_and_prefixes(void **state) {
    (void)state;
    assert_near(read_quantity("6.21 V").value, 6.21);
    assert_near(read_quantity("38 uA").value, 38e-6);
    assert_near(read_quantity("38 µA").value, 38e-6);
    assert_near(read_quantity("4.2 ohm").value, 4.2);
    assert_near(read_quantity("10kHz").value, 1e4);
    assert_near(read_quantity("0.1 inch").value, 0.00254); /* exact: ISO 80000-3 */
    assert_near(read_quantity("50 mil").value, 0.00127);
    assert_near(read_quantity("8 Mbit").value, 8.0 * 1024 * 1024); /* JESD100B.01 */
    assert_near(read_quantity("1000 mAh").value, 3600);
    Quantity q;
    assert_int_equal(quantity_parse(TEXT("in idle"), &q), 0);
    assert_int_equal(quantity_parse(TEXT("38 in idle"), &q), 2);
    assert_int_equal(quantity_parse(TEXT("1e999"), &q), 0);
    assert_true(read_quantity("0.1 V").value == 0.1); /* to the last bit, as strtod reads it */
    assert_true(read_quantity("123456.789").value == 123456.789);
    assert_true(read_quantity("1234567890.12345678901").value == 1234567890.12345678901);
}

static void tolerances_and_ranges(void **state) {
    (void)state;
    Quantity q = read_quantity("10k ±5%");
    assert_near(q.low, 9500);
    assert_near(q.high, 10500);
    q = read_quantity("3..5 V");
    assert_near(q.low, 3);
    assert_near(q.value, 4);
    assert_near(q.high, 5);
    q = read_quantity("-40..85 degC");
    assert_near(q.low, -40);
    assert_true(unit_same(q.unit, UNIT_CELSIUS));
}

static void said_with_the_digits_it_came_with(void **state) {
    (void)state;
    assert_string_equal(said("6.21 V"), "6.21 V");
    assert_string_equal(said("0.000038 A"), "38 µA");
    assert_string_equal(said("10 kohm ±5%"), "10 kΩ");
    assert_string_equal(said("4700 ohm ±20%"), "4.700 kΩ");
    assert_string_equal(said("8 Mbit"), "8 Mbit");
    assert_string_equal(said("2200 uF ±20%"), "2200 µF");
    assert_string_equal(said("0.5 pF"), "0.5 pF");
}

static void probability_is_never_certain(void **state) {
    (void)state;
    assert_near(probability_of_decibans(0), 0.5);
    assert_near(probability_of_decibans(10), 10.0 / 11);
    assert_near(decibans_of_probability(0.5), 0);
    Arena *arena = arena_new();
    Out out = out_new(arena);
    probability_print(&out, 1);
    assert_true(text_is(out_text(&out), "over 99 %"));
    arena_free(arena);
}

static void names_are_numbered_once(void **state) {
    (void)state;
    Arena *arena = arena_new();
    Names *names = names_new(arena);
    for (int round = 0; round < 2; round++)
        for (uint32_t i = 0; i < 1000; i++) assert_int_equal(names_add(names, text_fmt(arena, "n%u", i)), i);
    names_reserve(names, 5000);
    assert_int_equal(names_count(names), 1000);
    assert_int_equal(names_find(names, TEXT("n999")), 999);
    assert_int_equal(names_add(names, TEXT("another")), 1000);
    assert_int_equal(names_find(names, TEXT("n77")), 77);
    assert_int_equal(names_find(names, TEXT("nobody")), NAME_NONE);
    arena_free(arena);
}

static void nearest_spelling(void **state) {
    (void)state;
    static const Text words[] = {TEXT_INIT("join"), TEXT_INIT("apart"), TEXT_INIT("product")};
    assert_true(text_is(text_nearest(TEXT("jion"), words, 3), "join"));
    assert_true(text_is(text_nearest(TEXT("prodcut"), words, 3), "product"));
    assert_int_equal(text_nearest(TEXT("zebra"), words, 3).len, 0);
}

/* RFC 3629, section 4: overlong forms, surrogates and values above U+10FFFF are not UTF-8. */
static void utf8_is_checked(void **state) {
    (void)state;
    assert_int_equal(text_bad_byte(TEXT("µΩ±")), 6);
    assert_int_equal(text_bad_byte(TEXT("a\xC0\x80")), 1);
    assert_int_equal(text_bad_byte(TEXT("ab\xED\xA0\x80")), 2);
    assert_int_equal(text_bad_byte(TEXT("\xF4\x90\x80\x80")), 0);
    assert_int_equal(text_bad_byte((Text){"a\0b", 3}), 1);
    assert_int_equal(text_bad_byte(TEXT("a\xE2\x82")), 1);
}

static void words_strings_signs(void **state) {
    (void)state;
    Lexer lexer;
    lex_start(&lexer, TEXT("read diode(Q1.B,Q1.E) = 0.68 V \"a # b\" # end"));
    const char *expected[] = {"read", "diode", "(", "Q1.B", ",", "Q1.E", ")", "="};
    for (int i = 0; i < 8; i++) assert_true(text_is(lex_take(&lexer).text, expected[i]));
    Quantity q;
    assert_true(lex_take_quantity(&lexer, &q, NULL));
    assert_near(q.value, 0.68);
    assert_true(text_is(lex_take(&lexer).text, "a # b"));
    assert_true(lex_at_end(&lexer));
    lex_start(&lexer, TEXT("10k ±5%\"remark\""));
    assert_true(lex_take_quantity(&lexer, &q, NULL)); /* a quote ends a quantity as it ends a word */
    assert_int_equal(lex_peek(&lexer).kind, LEX_STRING);
    lex_start(&lexer, TEXT("\"open"));
    assert_int_equal(lex_peek(&lexer).kind, LEX_OPEN_STRING);
}

/* XML 1.0, section 2.4 (what must be a reference) and 2.2 (which characters there are). */
static void markup_is_written_as_references(void **state) {
    (void)state;
    Arena *arena = arena_new();
    Out out = out_new(arena);
    out_markup(&out, TEXT("\xE2\x80\xAE\xE2\x81\xA6\xD8\x9C\xE2\x80\xA6")); /* turned, isolated, an Arabic mark; an ellipsis stays */
    assert_true(text_is(out_text(&out), "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\xE2\x80\xA6"));
    out = out_new(arena);
    out_markup(&out, TEXT("a<b> & \"c\" 'd'\x01\n\xC2\xB5"));
    assert_true(text_is(out_text(&out), "a&lt;b&gt; &amp; &quot;c&quot; &#39;d&#39;  \xC2\xB5"));
    arena_free(arena);
}

/* RFC 4648, section 10. */
static void bytes_become_base64(void **state) {
    (void)state;
    static const char *const vectors[][2] = {{"", ""}, {"f", "Zg=="}, {"fo", "Zm8="}, {"foo", "Zm9v"}, {"foobar", "Zm9vYmFy"}};
    Arena *arena = arena_new();
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        Out out = out_new(arena);
        out_base64(&out, text_of(vectors[i][0]));
        assert_true(text_is(out_text(&out), vectors[i][1]));
    }
    arena_free(arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(markup_is_written_as_references),
        cmocka_unit_test(bytes_become_base64),
        cmocka_unit_test(letter_notation),
        cmocka_unit_test(units_and_prefixes),
        cmocka_unit_test(tolerances_and_ranges),
        cmocka_unit_test(said_with_the_digits_it_came_with),
        cmocka_unit_test(probability_is_never_certain),
        cmocka_unit_test(names_are_numbered_once),
        cmocka_unit_test(nearest_spelling),
        cmocka_unit_test(utf8_is_checked),
        cmocka_unit_test(words_strings_signs),
    };
    return cmocka_run_group_tests_name("base", tests, NULL, NULL);
}
