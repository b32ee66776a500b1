/* mark: what cells give. Published figures are those of generic cells' data sheets, from memory; makes differ by more than
 * the tolerances here. */
#include "tests/marks_fixture.h"

static MarkDischarge discharge_of(const char *name, Quantity stated) {
    MarkCell cell;
    MarkDischarge discharge;
    if (!mark_cell(arena, marks, text_of(name), &cell) || !mark_discharge(marks, &cell, stated, &discharge))
        fail_msg("%s is not known", name);
    return discharge;
}

static const Quantity UNSAID = {0};

static void assert_mah(const char *name, double milliamperes, double expected, double tolerance) {
    MarkDischarge discharge = discharge_of(name, UNSAID);
    double mah = mark_charge_at(&discharge, milliamperes / 1000) / 3.6;
    if (!(fabs(mah - expected) <= tolerance * expected))
        fail_msg("%s at %g mA gives %.0f mAh, not %.0f", name, milliamperes, mah, expected);
}

/* Currents that the lore does not name. */
static void charge_between_the_named_loads_is_as_published(void **state) {
    (void)state;
    assert_mah("LR6", 50, 2650, 0.08);
    assert_mah("LR6", 150, 2300, 0.08);
    assert_mah("LR03", 50, 1080, 0.08);
    assert_mah("LR20", 50, 16500, 0.08);
    assert_mah("R6", 50, 780, 0.12);
    assert_mah("6LR61", 50, 520, 0.08);
    assert_mah("CR2032", 0.5, 215, 0.05);
}

static void less_is_got_out_the_faster(void **state) {
    (void)state;
    static const char *const names[] = {"LR03", "LR6", "LR14", "LR20", "6LR61", "R03", "R6", "R20", "6F22", "HR6", "CR2032",
                                        "CR2025", "ICR18650", "FR6", "SR44", "LR44"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        MarkDischarge discharge = discharge_of(names[i], UNSAID);
        double before = INFINITY;
        for (double amperes = 1e-6; amperes < 20; amperes *= 1.5) {
            double charge = mark_charge_at(&discharge, amperes);
            assert_true(charge > 0 && charge <= before);
            before = charge;
        }
        assert_true(discharge.low < 1 && discharge.high > 1);
    }
}

/* IEC 60086-1, table of electrochemical systems: maximum open-circuit voltage L 1.68 V, zinc-carbon 1.73 V, C 3.7 V, F 1.83 V,
 * S 1.63 V; IEC 61960: lithium-ion is charged to 4.2 V. From memory. */
static void a_fresh_cell_stays_below_the_standards_open_circuit_voltage(void **state) {
    (void)state;
    static const struct {
        const char *name;
        double most, nominal;
    } cells[] = {{"LR6", 1.68, 1.5}, {"R6", 1.73, 1.5},  {"CR2032", 3.7, 3.0},  {"FR6", 1.83, 1.5},
                 {"SR44", 1.63, 1.55}, {"ICR18650", 4.2, 3.6}, {"IFR18650", 3.65, 3.2}, {"HR6", 1.5, 1.2}};
    for (size_t i = 0; i < sizeof cells / sizeof cells[0]; i++) {
        MarkDischarge d = discharge_of(cells[i].name, UNSAID);
        assert_true(mark_open_volts(&d, 1) <= cells[i].most + 1e-9);
        assert_true(mark_open_volts(&d, 1) >= cells[i].nominal && mark_open_volts(&d, 0) <= cells[i].nominal);
        assert_true(d.chemistry->end <= mark_open_volts(&d, 0));
        assert_true(mark_inner_ohms(&d, 0) > mark_inner_ohms(&d, 1));
    }
    MarkDischarge nine = discharge_of("6LR61", UNSAID); /* six cells */
    assert_near(mark_open_volts(&nine, 1), 9.6);
    assert_near(mark_open_volts(&nine, 2), 9.6);
    assert_near(mark_open_volts(&nine, -1), 6.3);
}

/* IEC 61960-3 and IEC 61951-2: the rated capacity is what it gives in five hours. From memory. */
static void a_stated_charge_is_given_in_five_hours(void **state) {
    (void)state;
    Quantity stated = quantity_exact(2.2 * 3600, UNIT_COULOMB);
    MarkDischarge cell = discharge_of("18650", stated), pouch = discharge_of("ICP5/34/50", stated);
    assert_near(mark_charge_at(&cell, 0.44) / 0.44, 5 * 3600);
    assert_near(mark_charge_at(&pouch, 0.44) / 0.44, 5 * 3600);
    assert_true(mark_charge_at(&cell, 2.2) < 0.97 * stated.value);
    assert_near(cell.low, 0.9);
    MarkCell unknown;
    MarkDischarge none;
    assert_true(mark_cell(arena, marks, TEXT("ICP5/34/50"), &unknown));
    assert_false(mark_discharge(marks, &unknown, UNSAID, &none));
}

/* The trade's AA says the size only; most that are sold are alkaline. */
static void a_trade_name_is_taken_as_alkaline_and_says_so(void **state) {
    (void)state;
    MarkDischarge aa = discharge_of("AA", UNSAID), lr6 = discharge_of("LR6", UNSAID);
    assert_true(aa.assumed && !lr6.assumed);
    assert_near(mark_charge_at(&aa, 0.1), mark_charge_at(&lr6, 0.1));
    assert_true(text_is(discharge_of("AG13", UNSAID).chemistry->name, "alkaline"));
    assert_true(text_is(discharge_of("9V", UNSAID).chemistry->name, "alkaline"));
}

/* IEC 60115-8, rated dissipation at 70 degC of chip resistors; JESD51 figures of data sheets. From memory. */
static void a_package_says_what_heat_it_bears(void **state) {
    (void)state;
    assert_near(mark_package(marks, TEXT("0805"))->rated, 0.125);
    assert_near(mark_package(marks, TEXT("1206"))->rated, 0.25);
    const MarkPackage *sot = mark_package(marks, TEXT("SOT-23")), *to220 = mark_package(marks, TEXT("TO-220"));
    assert_true(sot->heat > 300 && sot->heat < 420);
    assert_true(to220->heat > 50 && to220->heat < 75 && to220->heat_case < 6);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(charge_between_the_named_loads_is_as_published, set_up, tear_down),
        cmocka_unit_test_setup_teardown(less_is_got_out_the_faster, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_fresh_cell_stays_below_the_standards_open_circuit_voltage, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_stated_charge_is_given_in_five_hours, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_trade_name_is_taken_as_alkaline_and_says_so, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_package_says_what_heat_it_bears, set_up, tear_down),
    };
    return cmocka_run_group_tests_name("what cells give", tests, NULL, NULL);
}
