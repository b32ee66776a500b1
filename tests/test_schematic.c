/* Schematics: whatever the circuit, the drawing read back from its SVG has the bench's nets, nothing lies over anything else,
 * supplies are above grounds; and the usual circuits have their usual form. */
#include "tests/schematic_read.h"
#include "tests/teardown.h"

#include "base/file.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>

enum { FILES_MOST = 200, BYTES_MOST = 1024 * 1024, RANDOM_CIRCUITS = 200 };

static Schematic *draw(const Teardown *t) {
    SchematicAsked asked = {.reasoning = t->reasoning};
    return schematic_draw(t->arena, &asked);
}

/* ---- as joined as the bench says ---- */

/* The other leg of a button: drawn as the pin that it is joined to inside. */
static bool drawn_by_another(const Bench *bench, uint32_t pin) {
    const BenchPin *of = &bench->pins.at[pin];
    const BenchPart *part = &bench->parts.at[of->part];
    for (uint32_t i = 0; i < part->pin_count; i++) {
        const BenchPin *other = &bench->pins.at[part->pins[i]];
        if (part->pins[i] != pin && other->position == of->position && of->position >= 0 && other->net == of->net) return true;
    }
    return false;
}

static Text escaped(Arena *arena, Text text) {
    Out out = out_new(arena);
    out_markup(&out, text);
    return out_text(&out);
}

static const ReadPin *find_pin(const Teardown *t, const ReadBack *back, uint32_t pin) {
    const BenchPin *of = &t->bench->pins.at[pin];
    Text ref = escaped(t->arena, t->bench->parts.at[of->part].ref), label = escaped(t->arena, of->label);
    for (uint32_t i = 0; i < back->pins.count; i++)
        if (text_same(back->pins.at[i].ref, ref) && text_same(back->pins.at[i].label, label)) return &back->pins.at[i];
    return NULL;
}

static void check_nets(const Teardown *t, const ReadBack *back, Out *wrong) {
    const Bench *bench = t->bench;
    uint32_t *joined = arena_many(t->arena, uint32_t, bench->nets.count);
    for (uint32_t n = 0; n < bench->nets.count; n++) {
        joined[n] = BENCH_NONE;
        for (uint32_t i = 0; i < bench->nets.at[n].pin_count; i++) {
            uint32_t pin = bench->nets.at[n].pins[i];
            const ReadPin *read = find_pin(t, back, pin);
            Text name = bench_pin_name(t->arena, bench, pin);
            if (read == NULL) {
                if (!drawn_by_another(bench, pin)) out_fmt(wrong, "\n  %.*s is not drawn", TEXT_ARG(name));
                continue;
            }
            if (joined[n] == BENCH_NONE) joined[n] = read->joined;
            if (joined[n] != read->joined) out_fmt(wrong, "\n  %.*s is not joined to the rest of %.*s", TEXT_ARG(name), TEXT_ARG(bench->nets.at[n].name));
        }
        for (uint32_t m = 0; m < n; m++)
            if (joined[n] != BENCH_NONE && joined[m] == joined[n])
                out_fmt(wrong, "\n  %.*s and %.*s are joined", TEXT_ARG(bench->nets.at[m].name), TEXT_ARG(bench->nets.at[n].name));
    }
}

static bool is_rail(const SchematicSheet *sheet, uint32_t net, SchematicLabelSort sort) {
    for (uint32_t k = 0; k < sheet->labels.count; k++)
        if (sheet->labels.at[k].net == net && sheet->labels.at[k].sort == sort) return true;
    return false;
}

/* Only two pins look up and down: a current runs between them. */
static bool upright(const SchematicSymbol *symbol) {
    uint32_t count = 0;
    for (uint32_t p = 0; p < symbol->pin_count; p++) count += symbol->pins[p].side % 2 == SYMBOL_NORTH % 2;
    return count == 2 || symbol->symbol == NULL;
}

static void check_rails(const Schematic *schematic, Out *wrong) {
    for (uint32_t s = 0; s < schematic->sheets.count; s++) {
        const SchematicSheet *sheet = &schematic->sheets.at[s];
        for (uint32_t i = 0; i < sheet->labels.count; i++) {
            const SchematicLabel *label = &sheet->labels.at[i];
            double y = label->at.y * SYMBOL_GRID;
            if (label->sort == SCHEMATIC_SUPPLY && !(label->box.bottom <= y)) out_fmt(wrong, "\n  supply %.*s hangs down", TEXT_ARG(label->text));
            if (label->sort == SCHEMATIC_GROUND && !(label->box.top >= y)) out_fmt(wrong, "\n  a ground stands up");
        }
        for (uint32_t i = 0; i < sheet->symbols.count; i++) {
            const SchematicSymbol *symbol = &sheet->symbols.at[i];
            for (uint32_t p = 0; p < symbol->pin_count; p++)
                for (uint32_t q = 0; q < symbol->pin_count; q++)
                    if (symbol->pins[p].side == SYMBOL_SOUTH && symbol->pins[q].side == SYMBOL_NORTH && symbol->pins[p].at.x == symbol->pins[q].at.x &&
                        is_rail(sheet, symbol->pins[p].net, SCHEMATIC_SUPPLY) && is_rail(sheet, symbol->pins[q].net, SCHEMATIC_GROUND) && upright(symbol))
                        out_fmt(wrong, "\n  %.*s has its supply below its ground", TEXT_ARG(symbol->ref));
        }
    }
}

/* All that must hold for any drawing. */
static void check_drawing(const Teardown *t, const Schematic *schematic, const char *what) {
    Text *sheets = arena_many(t->arena, Text, schematic->sheets.count);
    for (uint32_t s = 0; s < schematic->sheets.count; s++) {
        Out out = out_new(t->arena);
        schematic_svg(&out, schematic, s, TEXT("s"));
        sheets[s] = out_text(&out);
    }
    ReadBack back = schematic_read(t->arena, sheets, schematic->sheets.count);
    Out wrong = back.wrong;
    check_nets(t, &back, &wrong);
    check_rails(schematic, &wrong);
    out_add(&wrong, schematic_overlaps(t->arena, schematic));
    for (uint32_t s = 0; s < schematic->sheets.count; s++)
        if (schematic->sheets.at[s].undrawn > 0) out_fmt(&wrong, "\n  %u joints are not drawn", schematic->sheets.at[s].undrawn);
    if (wrong.len > 0) fail_msg("%s:%.*s", what, TEXT_ARG(out_text(&wrong)));
}

static void check_notes(const char *notes, const char *what) {
    Teardown t = teardown_of(notes, NULL);
    check_drawing(&t, draw(&t), what);
    teardown_end(&t);
}

static void check_file(const char *path) {
    Arena *arena = arena_new();
    Text notes;
    if (!file_read(arena, path, BYTES_MOST, &notes)) fail_msg("%s can't be read", path);
    check_notes(text_cstring(arena, notes), path);
    arena_free(arena);
}

static void every_circuit_of_the_tests_is_drawn_as_its_nets_are(void **state) {
    (void)state;
    DIR *folder = opendir("tests/circuits");
    assert_non_null(folder);
    int files = 0;
    for (struct dirent *entry; (entry = readdir(folder)) != NULL && files < FILES_MOST;) {
        char path[512];
        if (!text_ends(text_of(entry->d_name), ".txt")) continue;
        snprintf(path, sizeof path, "tests/circuits/%s", entry->d_name);
        check_file(path);
        files++;
    }
    closedir(folder);
    assert_true(files > 50);
}

static void the_demo_is_drawn_as_its_nets_are(void **state) {
    (void)state;
    check_file("demo/dispenser/notes.txt");
}

/* ---- circuits that nobody would build ---- */

/* A generator of numbers that is the same everywhere: Numerical Recipes' quick one (Press et al., from memory). */
static uint32_t next_random(uint32_t *state, uint32_t below) {
    *state = *state * 1664525u + 1013904223u;
    return (*state >> 8) % below;
}

typedef struct Wild { /* a part that a random circuit may have */
    const char *letters, *words;
    const char *pins[8];
} Wild;

static const Wild WILD[] = {
    {"R", "10k", {"1", "2"}},          {"R", "470", {"1", "2"}},           {"C", "100nF", {"1", "2"}},
    {"C", "10uF electrolytic", {"+", "-"}}, {"L", "47uH", {"1", "2"}},     {"D", "diode", {"A", "K"}},
    {"D", "led-red", {"A", "K"}},      {"D", "zener 5.1 V", {"A", "K"}},   {"Q", "npn", {"B", "C", "E"}},
    {"Q", "pnp", {"B", "C", "E"}},     {"Q", "nmos", {"G", "D", "S"}},     {"Q", "pmos", {"G", "D", "S"}},
    {"M", "motor", {"1", "2"}},        {"SW", "switch", {"1", "2"}},       {"SW", "button", {"1", "2"}},
    {"BT", "battery 3 x LR6", {"+", "-"}}, {"Y", "crystal 16 MHz", {"1", "2"}}, {"J", "connector", {"1", "2", "3"}},
    {"U", "opamp", {"out", "in+", "in-", "V+", "V-"}}, {"K", "relay", {"A1", "A2", "COM", "NO", "NC"}},
    {"VR", "potentiometer 10k", {"1", "W", "3"}}, {"TR", "transformer", {"P1", "P2", "S1", "S2"}},
    {"U", "SOP-8", {"1", "2", "3", "4", "5", "6", "7", "8"}}, {"OK", "opto", {"A", "K", "C", "E"}},
    {"U", "timer DIP-8", {"1", "2", "3", "4", "5", "6", "7", "8"}}, {"BR", "bridge", {"~1", "~2", "+", "-"}},
    {"U", "regulator", {"in", "out", "gnd"}}, {"TP", "testpoint", {"1"}}, {"LS", "loudspeaker 8 ohm", {"1", "2"}},
};

static Text random_circuit(Arena *arena, uint32_t seed) {
    uint32_t state = seed * 2654435761u + 1, parts = 3 + next_random(&state, 30), nets = 2 + parts + next_random(&state, parts);
    Out out = out_new(arena), *net = arena_many(arena, Out, nets);
    for (uint32_t n = 0; n < nets; n++) {
        net[n] = out_new(arena);
        if (n < 2)
            out_add(&net[n], n == 0 ? TEXT("net GND") : TEXT("net VCC"));
        else
            out_add(&net[n], TEXT("join"));
    }
    for (uint32_t i = 0; i < parts; i++) {
        const Wild *wild = &WILD[next_random(&state, sizeof WILD / sizeof *WILD)];
        out_fmt(&out, "part %s%u %s\n", wild->letters, i + 1, wild->words);
        for (uint32_t p = 0; p < 8 && wild->pins[p] != NULL; p++) {
            uint32_t rail = next_random(&state, 100), to = rail < 18 ? 0 : rail < 32 ? 1 : next_random(&state, nets);
            if (rail < 95) out_fmt(&net[to], " %s%u.%s", wild->letters, i + 1, wild->pins[p]);
        }
    }
    for (uint32_t n = 0; n < nets; n++) {
        if (n >= 2 && text_find(text_sub(out_text(&net[n]), 5, net[n].len), TEXT(" ")) == SIZE_MAX) continue; /* a join wants two */
        out_add(&out, out_text(&net[n]));
        out_char(&out, '\n');
    }
    return out_text(&out);
}

static void random_circuits_are_drawn_as_their_nets_are(void **state) {
    (void)state;
    for (uint32_t seed = 1; seed <= RANDOM_CIRCUITS; seed++) {
        Arena *arena = arena_new();
        char what[64];
        snprintf(what, sizeof what, "random circuit %u", seed);
        check_notes(text_cstring(arena, random_circuit(arena, seed)), what);
        arena_free(arena);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_circuit_of_the_tests_is_drawn_as_its_nets_are),
        cmocka_unit_test(the_demo_is_drawn_as_its_nets_are),
        cmocka_unit_test(random_circuits_are_drawn_as_their_nets_are),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
