/* Plots: ticks at round numbers, currents that add up, a battery that empties, readings where the meter put them. */
#include "draw/plot_inside.h"
#include "sums/life.h"
#include "tests/sums_fixture.h"

#include <math.h>
#include <stdlib.h>

/* The digits of a round number are 1, 2 or 5, and noughts. */
static bool is_round(double step) {
    double first = step / pow(10, floor(log10(step) + 1e-9));
    return fabs(first - 1) < 1e-6 || fabs(first - 2) < 1e-6 || fabs(first - 5) < 1e-6;
}

static void ticks_stand_at_round_numbers_and_cover_all(void **state) {
    (void)state;
    uint32_t random = 7;
    for (int i = 0; i < 2000; i++) {
        Arena *arena = arena_new();
        random = random * 1664525u + 1013904223u;
        double low = pow(10, (random >> 8) % 1200 / 100.0 - 7) * (random % 3 == 0 ? -1 : 1),
               high = low + pow(10, (random >> 4) % 800 / 100.0 - 7);
        PlotAxis axis = plot_linear(low, high, UNIT_AMPERE, 0, 100);
        Text unit;
        PlotTicks ticks = plot_ticks(arena, &axis, &unit);
        assert_true(axis.low <= low + 1e-9 * fabs(low) && axis.high >= high - 1e-9 * fabs(high));
        assert_true(ticks.count >= 2 && ticks.count <= 12);
        assert_true(is_round(axis.step));
        assert_true(unit.len > 0);
        for (uint32_t k = 0; k < ticks.count; k++) {
            double steps = ticks.at[k].amount / axis.step;
            assert_true(fabs(steps - round(steps)) < 1e-6);
            assert_true(ticks.at[k].label.len > 0);
        }
        arena_free(arena);
    }
}

static void a_logarithmic_axis_has_powers_of_ten_with_units(void **state) {
    (void)state;
    Arena *arena = arena_new();
    PlotAxis axis = plot_log(38e-6, 0.64, UNIT_AMPERE, 0, 100);
    Text unit;
    PlotTicks ticks = plot_ticks(arena, &axis, &unit);
    assert_true(text_is(ticks.at[0].label, "10 \xC2\xB5"
                                           "A"));
    assert_true(text_is(ticks.at[ticks.count - 1].label, "1 A"));
    assert_int_equal(unit.len, 0);                       /* each label says its own */
    assert_true(fabs(plot_at(&axis, 1e-3) - 40) < 1e-9); /* two decades of five */
    assert_true(plot_at(&axis, 0) == 0 && plot_at(&axis, 1e9) == 100);
    arena_free(arena);
}

static void time_is_told_in_what_people_count(void **state) {
    (void)state;
    Arena *arena = arena_new();
    Text unit;
    const struct {
        double seconds;
        const char *unit;
    } cases[] = {{10, "s"}, {1200, "min"}, {36000, "h"}, {30 * 86400.0, "days"}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        PlotAxis axis = plot_linear(0, cases[i].seconds, UNIT_SECOND, 0, 100);
        plot_ticks(arena, &axis, &unit);
        assert_true(text_is(unit, cases[i].unit));
    }
    arena_free(arena);
}

#define TORCH                                                                                                              \
    "part BT1 battery 2 x LR6\npart SW1 switch\npart R1 10k\npart R2 22\npart D1 led-red\npart Q1 npn\npart R3 1k\npart "  \
    "U1 SOP-8\n"                                                                                                           \
    "net VCC BT1.+ SW1.1\nnet VDD SW1.2 R1.1 D1.A U1.1\nnet GND BT1.- R1.2 Q1.E U1.8\njoin D1.K R2.1\njoin R2.2 Q1.C\n"    \
    "join U1.5 R3.1\njoin R3.2 Q1.B\nmode dark\nmode lit\ndrive U1.5 low in dark\ndrive U1.5 high in lit\n"

/* Kirchhoff's current law at the supply. */
static void what_the_parts_draw_is_what_the_battery_gives(void **state) {
    (void)state;
    Summed s = summed_of(TORCH);
    PlotDraws draws = plot_draws(s.t.arena, s.sums);
    const char *const modes[] = {"dark", "lit"};
    for (uint32_t m = 0; m < 2; m++) {
        double given = amperes_of(&s, modes[m], "BT1")->typical;
        assert_true(given > 0 && fabs(draws.total[m] - given) < 1e-6 + 1e-3 * given);
    }
    bool lamp = false;
    for (uint32_t i = 0; i < draws.list.count; i++) {
        assert_false(text_is(draws.list.at[i].name, "SW1")); /* it only passes the current on */
        lamp |= text_is(draws.list.at[i].name, "D1 R2");     /* one current, one name */
    }
    assert_true(lamp);
    summed_end(&s);
}

static Text drawn(Summed *s, bool (*draw)(Out *, const PlotAsked *)) {
    Out out = out_new(s->t.arena);
    assert_true(draw(&out, &(PlotAsked){.sums = s->sums, .id = TEXT("plot")}));
    return out_text(&out);
}

#define assert_says(svg, words) assert_true(text_find((svg), TEXT(words)) != SIZE_MAX)
#define assert_silent(svg, words) assert_true(text_find((svg), TEXT(words)) == SIZE_MAX)

static void modes_far_apart_are_drawn_on_a_logarithmic_scale(void **state) {
    (void)state;
    Summed far = summed_of(TORCH);
    assert_says(drawn(&far, draw_currents), "logarithmic");
    assert_says(drawn(&far, draw_currents), "share of each part, %");
    summed_end(&far);
    Summed near =
        summed_of("part V1 source 5 V\npart R1 100\npart R2 50\nnet VCC V1.+ R1.1 R2.1\nnet GND V1.- R1.2 R2.2\n");
    Text svg = drawn(&near, draw_currents);
    assert_silent(svg, "logarithmic");
    assert_says(svg, "from the supply, mA");
    assert_says(svg, "R2: 100 mA, 67 %"); /* Ohm's law: 5 V over 50 ohm beside 5 V over 100 ohm */
    assert_says(svg, "R1: 50.0 mA, 33 %");
    summed_end(&near);
}

static void nothing_is_drawn_of_what_is_not_known(void **state) {
    (void)state;
    Summed s = summed_of("part R1 100\njoin R1.1 R1.2\n");
    Out out = out_new(s.t.arena);
    PlotAsked asked = {.sums = s.sums, .id = TEXT("plot")}, none = {.id = TEXT("plot")};
    assert_false(draw_currents(&out, &asked) || draw_battery(&out, &asked, 0) || draw_ranges(&out, &asked));
    assert_false(draw_currents(&out, &none) || draw_battery(&out, &none, 0) || draw_ranges(&out, &none));
    assert_int_equal(out.len, 0);
    summed_end(&s);
}

static void a_battery_falls_until_it_ends(void **state) {
    (void)state;
    Summed s = summed_of(TORCH "duty lit 1 h per 1 days\n");
    assert_int_equal(s.sums->batteries.count, 1);
    const SumsBattery *battery = &s.sums->batteries.at[0];
    assert_true(battery->count >= 2 && battery->count <= LIFE_STEPS);
    for (uint32_t i = 0; i < battery->count; i++) {
        assert_true(battery->at[i].loaded <= battery->at[i].rest && battery->at[i].loaded >= battery->end);
        if (i > 0)
            assert_true(battery->at[i].seconds > battery->at[i - 1].seconds &&
                        battery->at[i].rest <= battery->at[i - 1].rest);
    }
    assert_true(battery->at[battery->count - 1].seconds < battery->seconds);
    assert_true(fabs(battery->end - 1.6) < 1e-9); /* two cells, 0.8 V each: IEC 60086-2 toy test, from memory */
    Out out = out_new(s.t.arena);
    assert_true(draw_battery(&out, &(PlotAsked){.sums = s.sums, .id = TEXT("plot")}, 0));
    assert_says(out_text(&out), "used up: 1.60 V under load");
    assert_false(draw_battery(&out, &(PlotAsked){.sums = s.sums, .id = TEXT("plot")}, 1));
    summed_end(&s);
}

static void a_reading_that_differs_is_marked_by_word_and_colour(void **state) {
    (void)state;
    Summed s =
        summed_of("part V1 source 5 V\npart R1 100\npart R2 100\nnet VCC V1.+ R1.1\nnet MID R1.2 R2.1\nnet GND V1.- R2.2\n"
                  "read v(MID) = 2.50 V by meter\nread i(V1) = 40 mA by meter\n");
    Text svg = drawn(&s, draw_ranges);
    assert_says(svg, "off: 40 mA"); /* 5 V over 200 ohm are 25 mA */
    assert_says(svg, ">2.50 V</text>");
    assert_silent(svg, "off: 2.50 V");
    summed_end(&s);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ticks_stand_at_round_numbers_and_cover_all),
        cmocka_unit_test(a_logarithmic_axis_has_powers_of_ten_with_units),
        cmocka_unit_test(time_is_told_in_what_people_count),
        cmocka_unit_test(what_the_parts_draw_is_what_the_battery_gives),
        cmocka_unit_test(modes_far_apart_are_drawn_on_a_logarithmic_scale),
        cmocka_unit_test(nothing_is_drawn_of_what_is_not_known),
        cmocka_unit_test(a_battery_falls_until_it_ends),
        cmocka_unit_test(a_reading_that_differs_is_marked_by_word_and_colour),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
