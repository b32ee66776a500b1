/* Battery life: how near the model is to published discharges of generic cells, and what it costs to ask it of a product of 30
 * parts and three modes, each solved anew as the charge is stepped down. The reference is the same teardown without a battery
 * that the lore knows. */
#include "bench/measure.h"
#include "sums/life.h"
#include "sums/sums.h"

#include <math.h>

/* Hours at a constant current down to the end: data sheets of generic cells, from memory; as in tests/test_life.c. */
static const struct {
    const char *cell;
    double amperes, hours;
} PUBLISHED[] = {{"LR6", 0.05, 52},   {"LR6", 0.1, 25},    {"LR6", 0.25, 8},   {"LR6", 0.5, 2.9},
                 {"LR03", 0.05, 21.5}, {"LR03", 0.1, 9.8}, {"LR20", 0.25, 50}, {"CR2032", 0.00019, 1180}};
enum { PUBLISHED_COUNT = sizeof PUBLISHED / sizeof PUBLISHED[0], BRANCHES = 14, ROUNDS = 9, LIVES = 2000 };
static const double BAR_OFF = 0.15, BAR_SECONDS = 0.010;

static LifeDraw constant(void *context, uint32_t mode, double volts, double ohms, double *amperes) {
    (void)mode, (void)volts, (void)ohms;
    *amperes = *(const double *)context;
    return LIFE_DRAWS;
}

static Life life_at(Arena *arena, const Marks *marks, const char *name, double amperes) {
    MarkCell cell;
    MarkDischarge discharge;
    double always = 1;
    if (!mark_cell(arena, marks, text_of(name), &cell) || !mark_discharge(marks, &cell, (Quantity){0}, &discharge)) return (Life){0};
    return life_of(&(LifeAsked){&discharge, 1, 1, &always, constant, &amperes});
}

static bool published(Arena *arena, const Marks *marks) {
    char value[64], reference[64];
    double worst = 0, before = measure_seconds();
    const char *of = "";
    for (int i = 0; i < PUBLISHED_COUNT; i++) {
        double off = fabs(life_at(arena, marks, PUBLISHED[i].cell, PUBLISHED[i].amperes).seconds / 3600 / PUBLISHED[i].hours - 1);
        if (off > worst) worst = off, of = PUBLISHED[i].cell;
    }
    for (int i = 0; i < LIVES; i++) life_at(arena, marks, "LR6", 0.001 * (1 + i));
    double each = (measure_seconds() - before) / (LIVES + PUBLISHED_COUNT);
    snprintf(value, sizeof value, "%.0f %% off at worst (%s)", 100 * worst, of);
    snprintf(reference, sizeof reference, "%d published discharges", PUBLISHED_COUNT);
    measure_print("battery life at constant currents", value, "within 15 %", reference, "-", worst <= BAR_OFF);
    snprintf(value, sizeof value, "%.1f us", 1e6 * each);
    measure_print("a battery's life, its draw known", value, "-", "-", "-", true);
    return worst <= BAR_OFF;
}

/* Lights behind resistors, a motor on a transistor, three modes. */
static Text notes_of(Arena *arena, const char *battery) {
    Out out = out_new(arena);
    out_fmt(&out, "part BT1 %s\npart M1 motor\npart Q1 npn SOT-23\npart R99 470\nnet GND BT1.- Q1.E\nnet VBAT BT1.+ M1.1\n", battery);
    out_lit(&out, "join M1.2 Q1.C\njoin R99.2 Q1.B\njoin R99.1 U1.3\npart U1 SOP-8\nnet VBAT U1.VCC\nnet GND U1.GND\n");
    out_lit(&out, "mode idle\nmode turning\nmode lit\ndrive U1.3 high in turning\ndrive U1.3 low\ndrive U1.5 high in lit\n");
    out_lit(&out, "duty turning 2 s per 30 min\nduty lit 1%\n");
    for (int i = 0; i < BRANCHES; i++)
        out_fmt(&out, "part R%d 1k\npart D%d led-red\njoin U1.5 R%d.1\njoin R%d.2 D%d.A\nnet GND D%d.K\n", i + 1, i + 1, i + 1, i + 1, i + 1, i + 1);
    return out_text(&out);
}

/* s of the sums; the best of some. found: whether a life was told. */
static double sums_seconds(const char *battery, bool *found) {
    Arena *arena = arena_new();
    Lore *lore = lore_new(arena);
    lore_add_builtin(lore);
    BenchKinds *kinds = bench_kinds_new(arena, lore);
    Marks *marks = marks_new(arena, lore);
    ReasonRules *rules = reason_rules_new(arena, lore, kinds);
    SumsModels *models = sums_models_new(arena, lore, kinds);
    Notebook *book = note_read(arena, TEXT("notes.txt"), notes_of(arena, battery));
    Bench *bench = bench_build(arena, book, (BenchKnows){.kinds = kinds, .marks = marks});
    double best = INFINITY;
    for (int i = 0; i < ROUNDS; i++) {
        Reasoning *reasoning = reason_about(arena, bench, rules);
        double before = measure_seconds();
        sums_about(arena, reasoning, models, (SumsEffort){0});
        best = fmin(best, measure_seconds() - before);
        *found = reason_claim(reasoning, TEXT("battery-life:BT1")) != NULL;
    }
    arena_free(arena);
    return best;
}

static bool in_a_product(void) {
    bool with, without;
    double all = sums_seconds("battery 3 x LR6", &with), rest = sums_seconds("battery 4.5 V", &without), life = all - rest;
    char value[64], reference[64];
    bool met = with && !without && life < BAR_SECONDS;
    snprintf(value, sizeof value, "%.2f ms", 1e3 * life);
    snprintf(reference, sizeof reference, "its other sums: %.2f ms", 1e3 * rest);
    measure_print("battery life, 30 parts and 3 modes", value, "under 10 ms", reference, "-", met);
    return met;
}

int main(void) {
    Arena *arena = arena_new();
    Lore *lore = lore_new(arena);
    lore_add_builtin(lore);
    bool met = published(arena, marks_new(arena, lore));
    met = in_a_product() && met;
    arena_free(arena);
    return met ? 0 : 1;
}
