/* mark: what a marking may mean. The tables are checked against the standards named beside each check; no standard's text
 * was at hand, so all of them are from memory, but for what one code says of another (EIA-96 by the rule of IEC 60063). */
#include "tests/marks_fixture.h"

#include <stdio.h>

static MarkReadings read_in(const char *marking, const char *kind, const char *package, int year) {
    return mark_read(arena, marks, text_of(marking), (MarkContext){text_of(kind), text_of(package), year});
}

/* The likeliest reading of one kind. */
static const MarkReading *as(const char *kind, const char *marking) {
    MarkReadings readings = read_in(marking, kind, NULL, 0);
    if (readings.count == 0) fail_msg("%s has no reading as %s", marking, kind);
    assert_true(text_is(readings.at[0].kind, kind));
    return &readings.at[0];
}

static double value_as(const char *kind, const char *marking) {
    const MarkReading *reading = as(kind, marking);
    assert_true(reading->has_value);
    return reading->value.value;
}

static double tolerance_of(const MarkReading *reading) { return reading->value.high / reading->value.value - 1; }

static void assert_field(const MarkReading *reading, const char *name, const char *value) {
    for (uint32_t i = 0; i < reading->field_count; i++)
        if (text_is(reading->fields[i].name, name)) {
            if (!text_is(reading->fields[i].value, value))
                fail_msg("%s is %.*s, expected %s", name, TEXT_ARG(reading->fields[i].value), value);
            return;
        }
    fail_msg("no field %s in: %.*s", name, TEXT_ARG(reading->says));
}

static void assert_said(const char *kind, const char *marking, const char *says) {
    const MarkReading *reading = as(kind, marking);
    if (!text_is(reading->says, says)) fail_msg("%s: %.*s, expected %s", marking, TEXT_ARG(reading->says), says);
}

static void assert_none(const char *kind, const char *marking) {
    MarkReadings readings = read_in(marking, kind, NULL, 0);
    if (readings.count > 0) fail_msg("%s as %s: %.*s", marking, kind, TEXT_ARG(readings.at[0].says));
}

static bool has(MarkReadings readings, const char *says) {
    for (uint32_t i = 0; i < readings.count; i++)
        if (text_is(readings.at[i].says, says)) return true;
    return false;
}

/* IEC 60063: E6 is every second value of E12, E12 of E24; E48 of E96, E96 of E192. */
static void each_series_is_half_of_the_next(void **state) {
    (void)state;
    static const unsigned halves[][2] = {{3, 6}, {6, 12}, {12, 24}, {48, 96}, {96, 192}};
    for (size_t k = 0; k < 5; k++)
        for (unsigned i = 0; i < halves[k][0]; i++)
            assert_int_equal(mark_series(halves[k][0], i), mark_series(halves[k][1], 2 * i));
    static const unsigned e6[] = {10, 15, 22, 33, 47, 68}, e12[] = {10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82};
    for (unsigned i = 0; i < 6; i++) assert_int_equal(mark_series(6, i), e6[i]);
    for (unsigned i = 0; i < 12; i++) assert_int_equal(mark_series(12, i), e12[i]);
    assert_int_equal(mark_series(48, 1), 105);
    assert_int_equal(mark_series(96, 95), 976);
    assert_int_equal(mark_series(192, 185), 920); /* the one value off the rule */
    assert_int_equal(mark_series(192, 191), 988);
    assert_int_equal(mark_series(7, 0), 0);
    assert_int_equal(mark_series(24, 24), 0);
}

static void values_are_found_in_their_series(void **state) {
    (void)state;
    assert_true(mark_in_series(4700, 6));
    assert_true(mark_in_series(0.47, 24));
    assert_true(mark_in_series(1e-7, 3));
    assert_false(mark_in_series(4800, 24));
    assert_true(mark_in_series(4990, 96));
    assert_false(mark_in_series(4990, 24));
    assert_near(mark_nearest_in_series(4800, 12), 4700);
    assert_near(mark_nearest_in_series(9.6, 12), 10);
    assert_near(mark_nearest_in_series(9950, 96), 10000);
}

/* IEC 60062, clause 5. */
static void resistor_digits(void **state) {
    (void)state;
    assert_near(value_as("resistor", "103"), 10e3);
    assert_near(value_as("resistor", "472"), 4700);
    assert_near(value_as("resistor", "100"), 10);
    assert_near(value_as("resistor", "1002"), 10e3);
    assert_near(value_as("resistor", "4993"), 499e3);
    assert_near(value_as("resistor", "0"), 0);
    assert_near(value_as("resistor", "000"), 0);
    assert_said("resistor", "472", "resistor of 4.7 kΩ");
    assert_near(tolerance_of(as("resistor", "472J")), 0.05);
    assert_none("resistor", "479");
    assert_none("resistor", "12345");
}

/* IEC 60062, clause 4 and the table of tolerance letters. */
static void resistor_letters(void **state) {
    (void)state;
    assert_near(value_as("resistor", "4R7"), 4.7);
    assert_near(value_as("resistor", "R47"), 0.47);
    assert_near(value_as("resistor", "4k7"), 4700);
    assert_near(value_as("resistor", "1M5"), 1.5e6);
    assert_near(value_as("resistor", "10K"), 10e3);
    assert_near(value_as("resistor", "R010"), 0.010);
    assert_near(value_as("resistor", "0R"), 0);
    assert_near(value_as("resistor", "5W0R22J"), 0.22);
    assert_near(tolerance_of(as("resistor", "5W0R22J")), 0.05);
    static const struct {
        const char *marking;
        double tolerance;
    } letters[] = {{"4K70B", 0.001}, {"4K70C", 0.0025}, {"4K70D", 0.005}, {"4K70F", 0.01},
                   {"4K7G", 0.02},   {"4K7J", 0.05},    {"4K7K", 0.1},    {"4K7M", 0.2}};
    for (size_t i = 0; i < sizeof letters / sizeof letters[0]; i++) {
        double is = tolerance_of(as("resistor", letters[i].marking));
        if (fabs(is - letters[i].tolerance) > 1e-9) fail_msg("%s: %g", letters[i].marking, is);
    }
}

/* EIA-96 against the rule of IEC 60063: code n is the n-th value of 10^(i/96) rounded to three figures. */
static void every_eia_96_code(void **state) {
    (void)state;
    static const char letters[] = "ZYRXSABHCDEF";
    static const double factors[] = {1e-3, 1e-2, 1e-2, 0.1, 0.1, 1, 10, 10, 100, 1e3, 1e4, 1e5};
    for (int code = 1; code <= 96; code++)
        for (size_t k = 0; letters[k] != '\0'; k++) {
            char marking[16];
            snprintf(marking, sizeof marking, "%02d%c", code, letters[k]);
            const MarkReadings readings = read_in(marking, "resistor", "0603", 0);
            double expected = round(100 * pow(10, (code - 1) / 96.0)) * factors[k];
            bool found = false;
            for (uint32_t i = 0; i < readings.count; i++)
                found |= fabs(readings.at[i].value.value / expected - 1) < 1e-9 &&
                         fabs(tolerance_of(&readings.at[i]) - 0.01) < 1e-9;
            if (!found) fail_msg("%s is not %g ohm", marking, expected);
        }
    assert_said("resistor", "01C", "resistor of 10.0 kΩ ±1 %");
    assert_none("resistor", "97A");
    assert_none("resistor", "00A");
}

/* IEC 60062, clause 3. */
static void colour_bands(void **state) {
    (void)state;
    assert_said("resistor", "brown black red gold", "resistor of 1.0 kΩ ±5 %");
    assert_said("resistor", "bn bk rd au", "resistor of 1.0 kΩ ±5 %");
    assert_said("resistor", "Brown,Black,Red,Gold", "resistor of 1.0 kΩ ±5 %");
    assert_near(value_as("resistor", "yellow violet gold gold"), 4.7);
    assert_near(value_as("resistor", "red red silver gold"), 0.22);
    assert_near(tolerance_of(as("resistor", "brown black orange")), 0.2);
    assert_said("resistor", "yellow violet black red brown", "resistor of 47.0 kΩ ±1 %");
    const MarkReading *six = as("resistor", "red red black brown brown red");
    assert_near(six->value.value, 2200);
    assert_field(six, "temperature coefficient", "±50 ppm/K");
    assert_near(value_as("resistor", "black"), 0);
    assert_none("resistor", "brown black");
    assert_none("resistor", "gold silver gold silver");
    assert_none("resistor", "brown mauve red gold");
}

static void colours_from_both_ends(void **state) {
    (void)state;
    MarkReadings gold = read_in("gold red black brown", "resistor", NULL, 0); /* gold can't come first */
    assert_int_equal(gold.count, 1);
    assert_near(gold.at[0].value.value, 1000);
    MarkReadings both = read_in("brown black black red brown", "resistor", NULL, 0);
    assert_int_equal(both.count, 2);
    assert_true(has(both, "resistor of 10.0 kΩ ±1 %") && has(both, "resistor of 120 Ω ±1 %"));
    /* 4.7 kΩ is usual, 1.1 GΩ is not: that decides against the order given. */
    MarkReadings turned = read_in("brown brown black violet yellow", "resistor", NULL, 0);
    assert_near(turned.at[0].value.value, 4700);
}

/* IEC 60062 and EIA-198: digits in picofarads, 8 and 9 as fractions, tolerance letters, rated voltage. */
static void capacitor_digits(void **state) {
    (void)state;
    assert_said("capacitor", "104", "capacitor of 100 nF");
    assert_near(value_as("capacitor", "220"), 22e-12);
    assert_near(value_as("capacitor", "479"), 4.7e-12);
    assert_near(value_as("capacitor", "478"), 0.47e-12);
    assert_said("capacitor", "104K", "capacitor of 100 nF ±10 %");
    assert_said("capacitor", "1H104K", "capacitor of 100 nF ±10 %, 50 V");
    assert_said("capacitor", "2A104J", "capacitor of 100 nF ±5 %, 100 V");
    assert_said("capacitor", "104J100", "capacitor of 100 nF ±5 %, 100 V");
    assert_said("capacitor", "474J 63V", "capacitor of 470 nF ±5 %, 63 V");
    assert_said("capacitor", "104Z 50V Y5V", "capacitor of 100 nF -20/+80 %, 50 V, Y5V");
    assert_near(value_as("capacitor", "4R7"), 4.7e-12);
    assert_near(tolerance_of(as("capacitor", "4R7C")), 0.25 / 4.7);
    assert_near(value_as("capacitor", "100n"), 100e-9);
    assert_near(value_as("capacitor", "2n2"), 2.2e-9);
    assert_near(value_as("capacitor", "u47"), 0.47e-6);
    assert_near(value_as("capacitor", "µ47"), 0.47e-6);
    assert_near(value_as("capacitor", ".047K"), 0.047e-6);
    assert_said("capacitor", "470uF 25V", "capacitor of 470 µF, 25 V");
    assert_near(read_in("100 16V", NULL, "electrolytic", 0).at[0].value.value, 100e-6);
    assert_near(read_in("47", NULL, "disc", 0).at[0].value.value, 47e-12);
    assert_near(value_as("capacitor", "1H"), 50);
    assert_near(value_as("capacitor", "0J"), 6.3);
    assert_near(value_as("capacitor", "1E"), 25);
    assert_near(value_as("capacitor", "2A"), 100);
    assert_near(value_as("capacitor", "1C"), 16);
}

/* EIA-535BAAC letters; EIA-198 letter and digit. */
static void tantalum_and_small_chips(void **state) {
    (void)state;
    MarkReadings readings = read_in("106C", NULL, "TANT-A", 0);
    assert_true(text_is(readings.at[0].says, "capacitor of 10 µF, 16 V"));
    assert_field(&readings.at[0], "caution",
                 "the bar marks the positive end, the other way round from an aluminium electrolytic");
    assert_true(text_is(read_in("107 6V", NULL, "tantalum", 0).at[0].says, "capacitor of 100 µF, 6 V"));
    assert_true(has(read_in("A2", "capacitor", "0603", 0), "capacitor of 100 pF"));
    assert_true(has(read_in("S3", "capacitor", "0603", 0), "capacitor of 4.7 nF"));
}

/* EIA-198: class 1 is figure, multiplier, tolerance; class 2 is lowest and highest temperature and change. */
static void dielectrics(void **state) {
    (void)state;
    assert_said("capacitor", "C0G", "class 1 ceramic, 0 ±30 ppm/K");
    assert_said("capacitor", "NP0", "class 1 ceramic, 0 ±30 ppm/K");
    assert_said("capacitor", "U2J", "class 1 ceramic, -750 ±120 ppm/K");
    assert_said("capacitor", "N750", "class 1 ceramic, -750 ±120 ppm/K");
    assert_said("capacitor", "S2H", "class 1 ceramic, -330 ±60 ppm/K");
    assert_said("capacitor", "X7R", "class 2 ceramic, ±15 % within -55..125 °C");
    assert_said("capacitor", "X5R", "class 2 ceramic, ±15 % within -55..85 °C");
    assert_said("capacitor", "Y5V", "class 2 ceramic, -82/+22 % within -30..85 °C");
    assert_said("capacitor", "Z5U", "class 2 ceramic, -56/+22 % within 10..85 °C");
    assert_said("capacitor", "X8R", "class 2 ceramic, ±15 % within -55..150 °C");
    assert_true(as("capacitor", "X2")->says.len > 0); /* IEC 60384-14 */
    assert_none("capacitor", "X1R");
    assert_none("capacitor", "W7R");
}

static void inductors(void **state) {
    (void)state;
    assert_near(value_as("inductor", "101"), 100e-6);
    assert_near(value_as("inductor", "4R7"), 4.7e-6);
    assert_near(value_as("inductor", "R10"), 0.1e-6);
    assert_near(value_as("inductor", "4N7"), 4.7e-9);
    assert_near(value_as("inductor", "47N"), 47e-9);
    assert_said("inductor", "471K", "inductor of 470 µH ±10 %");
    assert_said("inductor", "brown black brown silver", "inductor of 100 µH ±10 %");
}

/* ISO 8601: a year has 53 weeks when it begins on a Thursday, or is a leap year that begins on a Wednesday. */
static void weeks_of_years(void **state) {
    (void)state;
    static const int long_years[] = {1970, 1976, 1981, 1987, 1992, 1998, 2004, 2009, 2015, 2020, 2026, 2032};
    size_t next = 0;
    for (int year = 1970; year <= 2036; year++) {
        bool is_long = next < 12 && year == long_years[next];
        next += is_long;
        assert_int_equal(mark_weeks_of(year), is_long ? 53 : 52);
    }
    int year, month, day;
    mark_week_starts(2023, 34, &year, &month, &day);
    assert_true(year == 2023 && month == 8 && day == 21);
    mark_week_starts(2025, 1, &year, &month, &day);
    assert_true(year == 2024 && month == 12 && day == 30);
    mark_week_starts(2026, 53, &year, &month, &day);
    assert_true(year == 2026 && month == 12 && day == 28);
}

/* IEC 60062, date codes; year-week codes are common practice. */
static void dates(void **state) {
    (void)state;
    assert_said("date", "2334", "made in week 34 of 2023, which begins on 2023-08-21");
    assert_said("date", "9952", "made in week 52 of 1999, which begins on 1999-12-27");
    assert_said("date", "2053", "made in week 53 of 2020, which begins on 2020-12-28");
    assert_int_equal(read_in("2153", "date", NULL, 2026).count, 0); /* 2021 has 52 weeks; week 21 of 2053 lies ahead */
    assert_none("date", "0000");
    assert_none("date", "9999");
    assert_true(read_in("9999", "date", NULL, 0).refused.len > 0);
    MarkReadings letters = read_in("R9", "date", NULL, 2026);
    assert_int_equal(letters.count, 3);
    assert_true(text_is(letters.at[0].says, "made in September 2023"));
    assert_true(has(letters, "made in September 2003"));
    assert_said("date", "NO", "made in October 2021");
    MarkReadings decade = read_in("334", "date", NULL, 2026);
    assert_true(has(decade, "made in week 34 of 2023, which begins on 2023-08-21"));
    assert_true(has(decade, "made in week 34 of 2013, which begins on 2013-08-19"));
}

static void assert_cell(const char *designation, double volts, const char *size, const char *chemistry) {
    MarkCell cell;
    if (!mark_cell(arena, marks, text_of(designation), &cell)) fail_msg("%s is no cell", designation);
    assert_near(cell.volts.value, volts);
    if (!text_is(cell.size, size)) fail_msg("%s: %.*s", designation, TEXT_ARG(cell.size));
    if (!text_starts(cell.chemistry, chemistry)) fail_msg("%s: %.*s", designation, TEXT_ARG(cell.chemistry));
}

/* IEC 60086-1 (letters), -2 (sizes), IEC 61951-2, IEC 61960-3. */
static void cells(void **state) {
    (void)state;
    assert_cell("LR6", 1.5, "14.5 mm x 50.5 mm", "alkaline");
    assert_cell("LR03", 1.5, "10.5 mm x 44.5 mm", "alkaline");
    assert_cell("R20", 1.5, "34.2 mm x 61.5 mm", "zinc-carbon");
    assert_cell("FR6", 1.5, "14.5 mm x 50.5 mm", "lithium iron disulfide");
    assert_cell("HR6", 1.2, "14.5 mm x 50.5 mm", "nickel-metal hydride");
    assert_cell("CR2032", 3.0, "20 mm x 3.2 mm", "lithium manganese dioxide");
    assert_cell("cr2450", 3.0, "24.5 mm x 5 mm", "lithium manganese dioxide");
    assert_cell("BR1225", 3.0, "12.5 mm x 2.5 mm", "lithium carbon monofluoride");
    assert_cell("CR17345", 3.0, "17 mm x 34.5 mm", "lithium manganese dioxide");
    assert_cell("CR123A", 3.0, "17 mm x 34.5 mm", "lithium manganese dioxide");
    assert_cell("SR44", 1.55, "11.6 mm x 5.4 mm", "silver oxide");
    assert_cell("LR44", 1.5, "11.6 mm x 5.4 mm", "alkaline");
    assert_cell("AG13", 1.5, "11.6 mm x 5.4 mm", "alkaline");
    assert_cell("PR41", 1.4, "7.9 mm x 3.6 mm", "zinc-air");
    assert_cell("6F22", 9.0, "48.5 mm x 26.5 mm x 17.5 mm", "zinc-carbon");
    assert_cell("6LR61", 9.0, "48.5 mm x 26.5 mm x 17.5 mm", "alkaline");
    assert_cell("4LR44", 6.0, "13 mm x 25.2 mm", "alkaline");
    assert_cell("2CR5", 6.0, "45 mm x 34 mm x 17 mm", "lithium manganese dioxide");
    assert_cell("ICR18650", 3.6, "18 mm x 65 mm", "lithium-ion");
    assert_cell("IFR26650", 3.2, "26 mm x 65 mm", "lithium-ion, iron phosphate");
    assert_cell("INR21700", 3.6, "21 mm x 70 mm", "lithium-ion");
    assert_cell("ICP9/35/48", 3.6, "9 mm x 35 mm x 48 mm", "lithium-ion");
    assert_cell("ER14505", 3.6, "14 mm x 50.5 mm", "lithium thionyl chloride");
    assert_cell("AAA", 1.5, "10.5 mm x 44.5 mm", "not said");
    assert_cell("18650", 3.6, "18 mm x 65 mm", "lithium-ion");
}

static void cells_say_what_is_dangerous(void **state) {
    (void)state;
    MarkCell cell;
    assert_true(mark_cell(arena, marks, TEXT("CR2032"), &cell) && cell.lithium && cell.button && !cell.rechargeable);
    assert_true(mark_cell(arena, marks, TEXT("18650"), &cell) && cell.lithium && !cell.button && cell.rechargeable);
    assert_true(mark_cell(arena, marks, TEXT("LR44"), &cell) && !cell.lithium && cell.button);
    assert_true(mark_cell(arena, marks, TEXT("AA"), &cell) && !cell.lithium && cell.volts.low < 1.21);
    static const char *const none[] = {"", "QR6", "R470", "2032R", "LR", "CR20322032", "0R6", "LM358"};
    for (size_t i = 0; i < sizeof none / sizeof none[0]; i++)
        if (mark_cell(arena, marks, text_of(none[i]), &cell)) fail_msg("%s was taken for a cell", none[i]);
}

/* IEC 60529. */
static void ip_codes(void **state) {
    (void)state;
    assert_said("ip", "IP44", "nothing of 1 mm gets in, nor a wire; splashing water from all sides");
    assert_said("ip", "IP67", "dust-tight; under water for a while (1 m, 30 min)");
    assert_said("ip", "IPX4", "solids not stated; splashing water from all sides");
    assert_field(as("ip", "IP20C"), "additional letter", "no access with a tool of 2.5 mm");
    assert_field(as("ip", "IP23S"), "supplementary letter", "tested for water while standing still");
    assert_field(as("ip", "IP23CM"), "supplementary letter", "tested for water while moving");
    assert_true(as("ip", "IP69K")->assumed.len > 0);
    static const char *const bad[] = {"IP78", "IP7X", "IPXX", "IP4", "IP44Z", "IP44AB", "IP4A"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) assert_none("ip", bad[i]);
    assert_true(read_in("IP78", NULL, NULL, 0).refused.len > 0);
}

/* IEC 60417, IEC 61140; the crossed bin is of EN 50419. */
static void signs(void **state) {
    (void)state;
    static const struct {
        const char *words, *standard;
    } of[] = {{"class II", "IEC 60417-5172"},
              {"double square", "IEC 60417-5172"},
              {"5172", "IEC 60417-5172"},
              {"IEC 60417-5019", "IEC 60417-5019"},
              {"5032", "IEC 60417-5032"},
              {"DC", "IEC 60417-5031"},
              {"centre positive", "IEC 60417-5926"},
              {"indoor use only", "IEC 60417-5957"},
              {"class III", "IEC 60417-5180"},
              {"crossed bin", "EN 50419"}};
    for (size_t i = 0; i < sizeof of / sizeof of[0]; i++)
        if (!text_starts(as("sign", of[i].words)->standard, of[i].standard)) fail_msg("%s", of[i].words);
    assert_none("sign", "4242");
}

/* ASTM B258, table 1: gauge, diameter in mm and area in mm2 as published, to the digits given. */
static void wire_gauges(void **state) {
    (void)state;
    static const struct {
        const char *marking;
        double mm, mm2;
    } table[] = {{"AWG 4/0", 11.684, 107.2}, {"AWG 0", 8.251, 53.5},    {"AWG 10", 2.588, 5.26}, {"AWG 12", 2.053, 3.31},
                 {"14 AWG", 1.628, 2.08},    {"AWG18", 1.024, 0.823},   {"AWG20", 0.812, 0.518}, {"AWG22", 0.644, 0.326},
                 {"AWG24", 0.511, 0.205},    {"AWG26", 0.405, 0.129},   {"AWG28", 0.321, 0.081}, {"AWG30", 0.255, 0.0509},
                 {"AWG36", 0.127, 0.0127},   {"AWG40", 0.0799, 0.00501}};
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        double mm = value_as("wire", table[i].marking) * 1e3, mm2 = mm * mm * 3.14159265 / 4;
        if (fabs(mm - table[i].mm) > 0.00051 || fabs(mm2 / table[i].mm2 - 1) > 0.006)
            fail_msg("%s: %g mm", table[i].marking, mm);
    }
    assert_field(as("wire", "AWG 24"), "resistance", "84.22 mΩ/m"); /* published: 84.2 */
    assert_none("wire", "AWG 99");
}

/* Common practice; JEDEC JESD100B.01 for the prefixes. */
static void memory_densities(void **state) {
    (void)state;
    const double kbit = 1024, mbit = 1024 * 1024;
    assert_near(value_as("memory", "25Q64"), 64 * mbit);
    assert_near(value_as("memory", "XX25Q128JVSQ"), 128 * mbit);
    assert_near(value_as("memory", "25D80"), 8 * mbit);
    assert_near(value_as("memory", "25L6406E"), 64 * mbit);
    assert_near(value_as("memory", "25L12833"), 128 * mbit);
    assert_near(value_as("memory", "25VF016"), 16 * mbit);
    assert_near(value_as("memory", "25Q40"), 4 * mbit);
    assert_near(value_as("memory", "25LC256"), 256 * kbit);
    assert_near(value_as("memory", "24C256"), 256 * kbit);
    assert_near(value_as("memory", "AT24C02"), 2 * kbit);
    assert_near(value_as("memory", "24M01"), mbit);
    assert_near(value_as("memory", "93C46"), kbit);
    assert_near(value_as("memory", "27C512"), 512 * kbit);
    assert_said("memory", "25Q64", "serial flash (SPI) of 64 Mbit (8 MiB)");
    assert_none("memory", "25Q63");
}

/* JEP106: bank by the number of 7Fh, odd parity; the flash's capacity byte is common practice. */
static void maker_ids(void **state) {
    (void)state;
    const MarkReading *reading = as("maker", "EF 40 17");
    assert_field(reading, "bank", "1");
    assert_field(reading, "number", "111 (EFh)");
    assert_near(reading->value.value, 64.0 * 1024 * 1024);
    assert_field(as("maker", "7F 7F 9D 60 16"), "bank", "3");
    assert_near(value_as("maker", "0xC2 0x20 0x18"), 128.0 * 1024 * 1024);
    assert_near(value_as("maker", "EF4016"), 32.0 * 1024 * 1024);
    assert_none("maker", "EE 40 17"); /* even parity */
    assert_none("maker", "FF FF FF"); /* no chip answered: eight ones */
    assert_none("maker", "00 00 00");
    assert_true(read_in("FF FF FF", NULL, NULL, 0).refused.len > 0);
}

static void the_context_narrows(void **state) {
    (void)state;
    assert_true(text_is(read_in("01C", NULL, "0603", 0).at[0].standard, "EIA-96 (1 % chip resistors); from memory"));
    MarkReadings sot = read_in("102", NULL, "SOT-23", 0);
    for (uint32_t i = 0; i < sot.count; i++) assert_true(text_is(sot.at[i].kind, "date"));
    assert_true(text_is(read_in("104", NULL, "disc", 0).at[0].kind, "capacitor"));
    assert_true(text_is(read_in("104", NULL, "0805", 0).at[0].kind, "resistor"));
    assert_int_equal(read_in("103", "transistor", NULL, 0).count, read_in("103", "date", NULL, 0).count);
    assert_int_equal(read_in("4k7", "motor", NULL, 0).count, 0);
}

static void likeliest_first_and_none_twice(void **state) {
    (void)state;
    static const char *const markings[] = {"103", "4R7", "100K", "2334", "R10", "1H", "27A", "brown black black red brown"};
    for (size_t m = 0; m < sizeof markings / sizeof markings[0]; m++) {
        MarkReadings readings = read_in(markings[m], NULL, NULL, 0);
        double sum = 0;
        assert_true(readings.count > 0);
        for (uint32_t i = 0; i < readings.count; i++) {
            sum += mark_share(readings, i);
            assert_true(readings.at[i].standard.len > 0);
            if (i > 0) assert_true(readings.at[i - 1].decibans >= readings.at[i].decibans);
            for (uint32_t k = 0; k < i; k++)
                assert_false(text_same(readings.at[i].says, readings.at[k].says) &&
                             text_same(readings.at[i].kind, readings.at[k].kind));
        }
        assert_near(sum, 1);
    }
}

/* A megabyte, control bytes, bad UTF-8: nothing is read, and quickly. */
static void hostile_markings_have_no_reading(void **state) {
    (void)state;
    size_t len = 1 << 20;
    char *big = arena_take(arena, len);
    memset(big, '1', len);
    assert_int_equal(mark_read(arena, marks, (Text){big, len}, (MarkContext){0}).count, 0);
    assert_int_equal(mark_read(arena, marks, (Text){"10\0", 3}, (MarkContext){0}).count, 0);
    assert_int_equal(read_in("10\x01"
                             "3",
                             NULL, NULL, 0)
                         .count,
                     0);
    assert_int_equal(read_in("10\xC0\x80", NULL, NULL, 0).count, 0);
    assert_int_equal(read_in("", NULL, NULL, 0).count, 0);
    assert_int_equal(read_in("   ", NULL, NULL, 0).count, 0);
    assert_null(mark_package(marks, (Text){big, len}));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_series_is_half_of_the_next),
        cmocka_unit_test(values_are_found_in_their_series),
        cmocka_unit_test(resistor_digits),
        cmocka_unit_test(resistor_letters),
        cmocka_unit_test(every_eia_96_code),
        cmocka_unit_test(colour_bands),
        cmocka_unit_test(colours_from_both_ends),
        cmocka_unit_test(capacitor_digits),
        cmocka_unit_test(tantalum_and_small_chips),
        cmocka_unit_test(dielectrics),
        cmocka_unit_test(inductors),
        cmocka_unit_test(weeks_of_years),
        cmocka_unit_test(dates),
        cmocka_unit_test(cells),
        cmocka_unit_test(cells_say_what_is_dangerous),
        cmocka_unit_test(ip_codes),
        cmocka_unit_test(signs),
        cmocka_unit_test(wire_gauges),
        cmocka_unit_test(memory_densities),
        cmocka_unit_test(maker_ids),
        cmocka_unit_test(the_context_narrows),
        cmocka_unit_test(likeliest_first_and_none_twice),
        cmocka_unit_test(hostile_markings_have_no_reading),
    };
    return cmocka_run_group_tests_name("mark", tests, set_up, tear_down);
}
