/* sums: a mistake supposed as a small change of the circuit as noted is the same circuit as one wired anew with it. */
#include "sums/mistakes.h"
#include "tests/sums_fixture.h"

/* A pump behind a transistor, a light behind another, a divider, a follower, two modes; one reading in each is far off, so
 * that every sort of mistake is worth supposing. */
static const char PUMP[] = "part BT1 battery 4 x LR6\npart SW1 switch\npart M1 motor\npart Q1 npn\npart Q2 nmos\npart D1 "
                           "diode\npart D2 led-red\npart D3 zener 3.3 V\npart R1 1k\n"
                           "part R2 10k\npart R3 330 ohm\npart R4 100k\npart R5 47k by guess\npart R6 2k2\npart R7 6.8 "
                           "ohm\npart U1 SOP-8\npart C1 100nF\npart Q3 pnp\npart R8 4k7\npart R9 10k\n"
                           "net GND BT1.- Q1.E R2.2 D2.K U1.4 R5.2 D3.A C1.2 Q2.S R9.2\nnet VBAT BT1.+ SW1.1\nnet VDD "
                           "SW1.2 M1.1 D1.K U1.8 R3.1 R4.1 R6.1 R7.1 Q3.E\n"
                           "join M1.2 D1.A Q1.C\njoin U1.5 R1.1\njoin R1.2 Q1.B R2.1\njoin R3.2 Q2.D\njoin U1.6 Q2.G\njoin "
                           "R7.2 D2.A\njoin R4.2 R5.1 U1.3 C1.1\n"
                           "join R6.2 D3.K\njoin U1.2 R8.1\njoin R8.2 Q3.B\njoin Q3.C R9.1\n"
                           "mode idle\nmode pumping\nmode blinking\ndrive U1.5 low in idle\ndrive U1.5 high in "
                           "pumping\ndrive U1.6 1 kHz 30% in blinking\ndrive U1.2 low in pumping\n"
                           "read v(R4.2) = 0.3 V in idle by meter\nread v(Q1.B) = 2.9 V in pumping by meter\nread i(BT1) = "
                           "4 mA in blinking by meter\nread v(VDD) = 6.1 V in idle by meter\n"
                           "read r(M1) = 4 ohm\n";

static bool wild(double a, double b) { return !(fabs(a - b) <= 1e-6 * fmax(fabs(a), fabs(b)) + 1e-6); }

/* How many nets were compared. */
static uint32_t compare(const Sums *sums, Solved *one, Solved *other, const Change *change) {
    uint32_t compared = 0;
    for (uint32_t n = 0; n < sums->bench->nets.count; n++) {
        double a, b;
        Figure figure = {FIGURE_VOLTS, n, BENCH_NONE};
        if (!solved_figure(one, figure, &a, NULL) || !solved_figure(other, figure, &b, NULL)) continue;
        if (solved_ohms(other, n) > 1e8) continue; /* it floats: what stray leaks make of it depends on their number */
        if (wild(a, b))
            fail_msg("mistake %d of part %u, pin %u: %.*s is at %.9g V, wired anew %.9g V", change->mistake, change->part,
                     change->pin, TEXT_ARG(sums->bench->nets.at[n].name), a, b);
        compared++;
    }
    for (uint32_t p = 0; p < sums->bench->parts.count; p++) {
        double a, b;
        Figure figure = {FIGURE_CURRENT, p, BENCH_NONE};
        if (!solved_figure(one, figure, &a, NULL) || !solved_figure(other, figure, &b, NULL)) continue;
        if (!(fabs(a - b) <= 1e-5 * fmax(fabs(a), fabs(b)) + 1e-9))
            fail_msg("mistake %d of part %u: %.*s has %.9g A, wired anew %.9g A", change->mistake, change->part,
                     TEXT_ARG(sums->bench->parts.at[p].ref), a, b);
    }
    return compared;
}

static void small_changes_are_the_circuit_wired_anew(void **state) {
    (void)state;
    Summed s = summed_of(PUMP);
    Arena *arena = s.t.arena;
    const Sums *sums = s.sums;
    Ids *ids = wire_ids(arena, sums);
    Solved *noted = arena_many(arena, Solved, sums->modes.count);
    for (uint32_t m = 0; m < sums->modes.count; m++)
        noted[m] = solve_mode(arena, sums, ids, m, NULL, false), assert_true(noted[m].fine);
    Fit *fit = fit_new(arena, sums, ids, noted);
    ChangeList list = {0};
    mistakes_list(arena, fit, noted, (SumsEffort){.hypotheses = 4000, .every = true}, &list);
    uint32_t compared = 0, sorts[MISTAKE_COUNT] = {0};
    for (uint32_t m = 0; m < sums->modes.count; m++) assert_true(fit_move(&noted[m], fit->t)), solved_mark(&noted[m]);
    for (uint32_t i = 0; i < list.count; i++) {
        const Change *change = &list.at[i];
        for (uint32_t m = 0; change->wires && m < sums->modes.count; m++) {
            if (change->mode != BENCH_NONE && change->mode != m) continue;
            Arena *scratch = arena_new();
            Supposed supposed = suppose(scratch, &noted[m], ids, change);
            Solved anew = solve_mode(scratch, sums, ids, m, change, false);
            bool fine = fit_move(&supposed.is, fit->t);
            assert_int_equal(fit_move(&anew, fit->t), fine);
            if (fine) compared += compare(sums, &supposed.is, &anew, change), sorts[change->mistake]++;
            supposed_end(&supposed);
            solved_free(&anew);
            arena_free(scratch);
        }
    }
    assert_true(compared > 1000);
    static const Mistake made[] = {MISTAKE_BAND,  MISTAKE_POWER,  MISTAKE_GUESS,    MISTAKE_JOINT,
                                   MISTAKE_SHORT, MISTAKE_TURNED, MISTAKE_POLARITY, MISTAKE_FAMILY,
                                   MISTAKE_FLAT,  MISTAKE_LOAD,   MISTAKE_DRIVE,    MISTAKE_SWITCH};
    for (size_t i = 0; i < sizeof made / sizeof *made; i++)
        if (sorts[made[i]] == 0) fail_msg("no mistake of sort %d was made", made[i]);
    for (uint32_t m = 0; m < sums->modes.count; m++) { /* and the circuit as noted is as it was */
        Solved anew = solve_mode(arena, sums, ids, m, NULL, false);
        assert_true(fit_move(&anew, fit->t));
        compare(sums, &noted[m], &anew, &(Change){0});
        solved_free(&anew), solved_free(&noted[m]);
    }
    summed_end(&s);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(small_changes_are_the_circuit_wired_anew)};
    return cmocka_run_group_tests_name("suppose", tests, NULL, NULL);
}
