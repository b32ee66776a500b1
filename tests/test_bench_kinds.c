/* bench: the lore of kinds, and what its loader refuses. */
#include "tests/check.h"

#include "bench/kinds.h"

typedef struct Setting {
    Arena *arena;
    Lore *lore;
    BenchKinds *kinds;
} Setting;

static Setting setting_with(const char *own) {
    Setting s = {.arena = arena_new()};
    s.lore = lore_new(s.arena);
    lore_add_builtin(s.lore);
    if (own != NULL) lore_add_text(s.lore, TEXT("own.lore"), text_of(own));
    s.kinds = bench_kinds_new(s.arena, s.lore);
    return s;
}

static const char *kind_of(const Setting *s, const char *ref) {
    return text_cstring(s->arena, bench_kind_of_ref(s->kinds, text_of(ref))->name);
}

static void built_in_lore_is_sound(void **state) {
    (void)state;
    Setting s = setting_with(NULL);
    Out out = out_new(s.arena);
    diags_print(&out, &s.lore->problems);
    out_char(&out, '\0');
    assert_string_equal(out.at, "");
    assert_true(bench_kind_count(s.kinds) > 80);
    for (uint32_t i = 0; i < bench_kind_count(s.kinds); i++) {
        const BenchKind *kind = bench_kind_at(s.kinds, i);
        assert_int_equal(kind->number, i);
        assert_true(kind->parent == NULL || kind->parent->number < i);
        assert_ptr_equal(bench_kind(s.kinds, kind->name), kind);
    }
    arena_free(s.arena);
}

/* IEEE 315-1975, clause 22 class letters, and IEC 81346-2 (from memory). */
static void letters_tell_the_kind(void **state) {
    (void)state;
    Setting s = setting_with(NULL);
    assert_string_equal(kind_of(&s, "R12"), "resistor");
    assert_string_equal(kind_of(&s, "BT1"), "battery");
    assert_string_equal(kind_of(&s, "LED1"), "led");
    assert_string_equal(kind_of(&s, "L1"), "inductor");
    assert_string_equal(kind_of(&s, "LS1"), "loudspeaker");
    assert_string_equal(kind_of(&s, "NTC1"), "thermistor");
    assert_string_equal(kind_of(&s, "RV1"), "varistor");
    assert_string_equal(kind_of(&s, "T1"), "transformer");
    assert_string_equal(kind_of(&s, "sw2"), "switch");
    assert_string_equal(kind_of(&s, "PUMP"), "part");
    assert_string_equal(kind_of(&s, "7"), "part");
    arena_free(s.arena);
}

static void words_name_kinds(void **state) {
    (void)state;
    Setting s = setting_with(NULL);
    const BenchKind *npn = bench_kind(s.kinds, TEXT("NPN")), *transistor = bench_kind(s.kinds, TEXT("transistor"));
    assert_non_null(npn);
    assert_true(bench_kind_is(npn, transistor));
    assert_true(bench_kind_is(npn, npn));
    assert_false(bench_kind_is(transistor, npn));
    assert_ptr_equal(bench_kind(s.kinds, TEXT("pump")), bench_kind(s.kinds, TEXT("motor")));
    assert_null(bench_kind(s.kinds, TEXT("flux-capacitor")));
    assert_true(bench_is_ground_name(s.kinds, TEXT("gnd")));
    assert_true(bench_is_supply_name(s.kinds, TEXT("VBAT")));
    assert_true(bench_is_pad_name(s.kinds, TEXT("EP")));
    assert_false(bench_is_ground_name(s.kinds, TEXT("VBAT")));
    arena_free(s.arena);
}

/* The usual small-signal pinning of SOT-23: base 1, emitter 2, collector 3; gate 1, source 2, drain 3 (common practice). A
 * child has its parent's pins, spellings, numberings and figures. */
static void a_child_has_what_its_parent_has(void **state) {
    (void)state;
    Setting s = setting_with(NULL);
    const BenchKind *npn = bench_kind(s.kinds, TEXT("npn")), *nmos = bench_kind(s.kinds, TEXT("nmos"));
    assert_int_equal(npn->pin_count, 3);
    assert_int_equal(bench_kind_pin_numbered(npn, TEXT("SOT-23"), TEXT("3")),
                     bench_kind_pin(s.kinds, npn, TEXT("collector")));
    assert_int_equal(bench_kind_pin_numbered(nmos, TEXT("sot23"), TEXT("2")), bench_kind_pin(s.kinds, nmos, TEXT("S")));
    assert_int_equal(bench_kind_pin_numbered(npn, TEXT("SOT-999"), TEXT("3")), -1);
    assert_near(bench_kind_property(npn, TEXT("vbe"))->value.high, 0.75);
    assert_near(bench_kind_property(bench_kind(s.kinds, TEXT("darlington-npn")), TEXT("vbe"))->value.low, 1.2);
    assert_near(bench_kind_property(bench_kind(s.kinds, TEXT("led-red")), TEXT("vf"))->value.high, 2.2);
    assert_null(bench_kind_property(npn, TEXT("vz")));
    const BenchKind *elco = bench_kind(s.kinds, TEXT("elco"));
    assert_int_equal(bench_kind_pin(s.kinds, elco, TEXT("+")), 0);
    assert_true(unit_same(elco->unit, UNIT_FARAD));
    assert_near(elco->tolerance, 0.2);
    assert_int_equal(elco->mate[0], 0);
    assert_int_equal(bench_kind(s.kinds, TEXT("resistor"))->mate[0], 1);
    Unit unit;
    assert_true(bench_property_unit(s.kinds, TEXT("vf"), &unit));
    assert_true(unit_same(unit, UNIT_VOLT));
    arena_free(s.arena);
}

static void a_meter_weighs_more_than_an_eye(void **state) {
    (void)state;
    Setting s = setting_with(NULL);
    assert_true(bench_source_weight(s.kinds, NOTE_BY_METER) > bench_source_weight(s.kinds, NOTE_BY_EYE));
    assert_near(bench_source_weight(s.kinds, NOTE_BY_UNSAID), bench_source_weight(s.kinds, NOTE_BY_EYE));
    arena_free(s.arena);
    s = setting_with("weight eye 7 dB \"my own bench\"\nkind gadget is part\n  letters SW\n");
    assert_int_equal(s.lore->problems.list.count, 0);
    assert_near(bench_source_weight(s.kinds, NOTE_BY_UNSAID), 7);
    assert_string_equal(kind_of(&s, "SW1"), "gadget");
    arena_free(s.arena);
}

/* The only problem of the own lore: its line and column, and a word of its message. */
static void refused(const char *own, uint32_t line, uint32_t column, const char *message) {
    Setting s = setting_with(own);
    assert_int_equal(s.lore->problems.list.count, 1);
    const Diag *diag = &s.lore->problems.list.at[0];
    if (diag->place.line != line || diag->place.column != column || text_find(diag->message, text_of(message)) == SIZE_MAX)
        fail_msg("%u:%u %.*s", diag->place.line, diag->place.column, TEXT_ARG(diag->message));
    assert_true(diag->expected.len > 0);
    arena_free(s.arena);
}

static void what_is_wrong_is_refused_with_its_place(void **state) {
    (void)state;
    refused("kind gizmo is gadget\n", 1, 15, "no kind above here is called `gadget`");
    refused("kind gizmo\n", 1, 11, "parent is missing");
    refused("kind resistor is part\n", 1, 6, "there is a kind `resistor` already");
    refused("kind gizmo is part\n  pins A B\n  spelled C c\n", 3, 11, "no pin `C`");
    refused("kind gizmo is part\n  pins A A\n", 2, 10, "twice");
    refused("kind gizmo is part\n  pins A B\n  spelled A B\n", 3, 13, "another pin");
    refused("kind gizmo is part\n  pins A B\n  numbered SOT-23 1\n", 3, 20, "a name is missing");
    refused("kind gizmo is part\n  pins A B C\n  either A B\n  either B C\n", 4, 12, "one other");
    refused("kind gizmo is part\n  tolerance 5 V\n", 2, 13, "no tolerance");
    refused("kind gizmo is part\n  property vf 3 A \"guess\"\n", 2, 15, "no figure");
    refused("kind gizmo is part\n  property vff 3 V \"guess\"\n", 2, 12, "no `property` entry declares `vff`");
    refused("kind gizmo is part\n  property vf 3 V\n", 2, 18, "source is missing");
    refused("kind gizmo is part\n  value kohm\n", 2, 9, "no unit without prefix");
    refused("kind gizmo is part\n  also npn\n", 2, 8, "means another kind already");
    refused("kind gizmo is part\n  letters ZQ\nkind gismo is part\n  letters ZQ\n", 4, 11, "mean another kind already");
    refused("kind gizmo is part\n  letters Z9\n", 2, 11, "not made of letters");
    refused("kind gizmo is part\n  pinns A B\n", 2, 0, "no line `pinns`");
    refused("property vf V \"again\"\n", 1, 10, "declared already");
    refused("weight smell 3 dB \"why\"\n", 1, 8, "nothing has a weight as `smell`");
    refused("weight eye 3 \"why\"\n", 1, 12, "weight is missing");
    refused("rails\n  neutral N\n", 2, 0, "never `neutral`");
    refused("kind gizmo is part\n  pins 1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16 17\n", 2, 47, "at most 16");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(built_in_lore_is_sound),
        cmocka_unit_test(letters_tell_the_kind),
        cmocka_unit_test(words_name_kinds),
        cmocka_unit_test(a_child_has_what_its_parent_has),
        cmocka_unit_test(a_meter_weighs_more_than_an_eye),
        cmocka_unit_test(what_is_wrong_is_refused_with_its_place),
    };
    return cmocka_run_group_tests_name("bench kinds", tests, NULL, NULL);
}
