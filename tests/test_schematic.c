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

/* ---- the usual forms, as every textbook draws them ---- */

static const SchematicSymbol *symbol_called(const Schematic *schematic, const char *ref) {
    for (uint32_t s = 0; s < schematic->sheets.count; s++)
        for (uint32_t i = 0; i < schematic->sheets.at[s].symbols.count; i++)
            if (text_is(schematic->sheets.at[s].symbols.at[i].ref, ref)) return &schematic->sheets.at[s].symbols.at[i];
    fail_msg("%s is not drawn", ref);
    return NULL;
}

static SchematicAt pin_called(const Teardown *t, const Schematic *schematic, const char *ref, const char *label) {
    const SchematicSymbol *symbol = symbol_called(schematic, ref);
    for (uint32_t p = 0; p < symbol->pin_count; p++)
        if (symbol->pins[p].pin != BENCH_NONE && text_is(t->bench->pins.at[symbol->pins[p].pin].label, label)) return symbol->pins[p].at;
    fail_msg("%s.%s is not drawn", ref, label);
    return (SchematicAt){0, 0};
}

/* Horowitz and Hill, The Art of Electronics, section 2.2.1, from memory: the load hangs between supply and collector, the base
 * resistor comes from the left, the emitter is on ground. */
static void a_low_side_switch_looks_like_one(void **state) {
    (void)state;
    Teardown t = teardown_of("part U1 SOP-8\npart Q1 npn\npart R1 1k\npart R2 10k\npart M1 motor\npart D1 diode\n"
                             "net VCC U1.1 M1.1 D1.K\nnet GND U1.8 Q1.E R2.2\n"
                             "join U1.5 R1.1\njoin R1.2 Q1.B R2.1\njoin Q1.C M1.2 D1.A\n",
                             NULL);
    Schematic *schematic = draw(&t);
    check_drawing(&t, schematic, "low-side switch");
    const SchematicSymbol *q = symbol_called(schematic, "Q1"), *m = symbol_called(schematic, "M1"), *r1 = symbol_called(schematic, "R1");
    const SchematicSymbol *r2 = symbol_called(schematic, "R2"), *d = symbol_called(schematic, "D1"), *u = symbol_called(schematic, "U1");
    assert_int_equal(m->at.x, q->at.x);                                             /* the load right above */
    assert_true(m->body.bottom < q->body.top);
    assert_true(u->body.right < r1->body.left && r1->body.right < q->body.left);    /* the chip, its resistor, the base */
    assert_int_equal(pin_called(&t, schematic, "R1", "2").y, pin_called(&t, schematic, "Q1", "B").y); /* straight */
    assert_true(pin_called(&t, schematic, "Q1", "C").y < pin_called(&t, schematic, "Q1", "E").y);
    assert_true(r2->at.x < q->at.x && r2->body.top >= pin_called(&t, schematic, "Q1", "B").y * SYMBOL_GRID); /* pull-down beside */
    assert_true(d->at.x > q->at.x && pin_called(&t, schematic, "D1", "K").y < pin_called(&t, schematic, "D1", "A").y);
    assert_true(text_is(m->claim, "low-side-switch-bipolar:Q1") || q->claim.len > 0);
    teardown_end(&t);
}

/* Every textbook: input from the left, output to the right, the feedback resistor above. */
static void an_inverting_amplifier_has_its_feedback_above(void **state) {
    (void)state;
    Teardown t = teardown_of("part U1 opamp\npart R1 10k\npart R2 100k\npart J1 connector\nnet GND U1.in+ J1.2\njoin J1.1 R1.1\n"
                             "join R1.2 R2.1 U1.in-\njoin R2.2 U1.out J1.3\n",
                             NULL);
    Schematic *schematic = draw(&t);
    check_drawing(&t, schematic, "inverting amplifier");
    const SchematicSymbol *u = symbol_called(schematic, "U1"), *r1 = symbol_called(schematic, "R1"), *r2 = symbol_called(schematic, "R2");
    assert_true(r1->body.right < u->body.left);
    assert_true(r2->body.bottom < u->body.top);
    assert_true(symbol_called(schematic, "J1.1")->at.x < r1->at.x);
    assert_true(symbol_called(schematic, "J1.3")->at.x > u->at.x);
    assert_true(pin_called(&t, schematic, "U1", "in-").y < pin_called(&t, schematic, "U1", "in+").y);
    teardown_end(&t);
}

/* Common practice: supplies come in at the top of a chip, grounds leave at its bottom, whatever their numbers. */
static void a_chip_has_its_supply_on_top_and_its_ground_below(void **state) {
    (void)state;
    Teardown t = teardown_of("part U1 SOP-8\npart C1 100nF\npart R1 1k\npart D1 led\nnet VCC U1.3 C1.1\nnet GND U1.6 C1.2 D1.K\n"
                             "join U1.1 R1.1\njoin R1.2 D1.A\njoin U1.2 U1.7\n",
                             NULL);
    Schematic *schematic = draw(&t);
    check_drawing(&t, schematic, "chip");
    const SchematicSymbol *u = symbol_called(schematic, "U1");
    assert_true(pin_called(&t, schematic, "U1", "3").y * SYMBOL_GRID < u->body.top);
    assert_true(pin_called(&t, schematic, "U1", "6").y * SYMBOL_GRID > u->body.bottom);
    teardown_end(&t);
}

/* Two halves one above the other, the tap between them. */
static uint32_t times(Text text, const char *what) {
    uint32_t count = 0;
    for (size_t at; (at = text_find(text, text_of(what))) != SIZE_MAX; count++) text = text_sub(text, at + 1, text.len);
    return count;
}

/* One place on paper for each figure, whichever mode is chosen. */
static void figures_of_all_modes_share_their_places(void **state) {
    (void)state;
    Teardown t = teardown_of("part U1 SOP-8\npart Q1 npn\npart R1 1k\npart M1 motor\nnet VCC U1.1 M1.1\nnet GND U1.8 Q1.E\n"
                             "join U1.5 R1.1\njoin R1.2 Q1.B\njoin Q1.C M1.2\n",
                             NULL);
    enum { MODES = 3 };
    uint32_t nets = t.bench->nets.count, parts = t.bench->parts.count, base = bench_net(t.bench, TEXT("Q1.B")), motor = bench_part(t.bench, TEXT("M1"));
    Text *volts = arena_many(t.arena, Text, MODES * nets), *amps = arena_many(t.arena, Text, MODES * parts);
    for (uint32_t m = 0; m < MODES; m++) {
        for (uint32_t n = 0; n < nets; n++) volts[m * nets + n] = text_fmt(t.arena, "%u.%u V", m, n);
        for (uint32_t p = 0; p < parts; p++) amps[m * parts + p] = m == 1 ? TEXT("1.234 mA") : TEXT("0 A");
    }
    volts[0 * nets + base] = TEXT(""); /* not known in this one */
    SchematicAsked asked = {.reasoning = t.reasoning, .volts = volts, .amps = amps, .modes = MODES};
    Schematic *schematic = schematic_draw(t.arena, &asked);
    check_drawing(&t, schematic, "figures");
    assert_int_equal(schematic->untold, 0);
    Out out = out_new(t.arena);
    schematic_svg(&out, schematic, 0, TEXT("s"));
    for (uint32_t m = 0; m < MODES; m++) {
        assert_int_equal(times(out_text(&out), text_cstring(t.arena, text_fmt(t.arena, ">%u.%u V<", m, base))), m == 0 ? 0 : 1);
        assert_int_equal(times(out_text(&out), text_cstring(t.arena, text_fmt(t.arena, "\"amps m-%u\"", m))), parts);
    }
    assert_true(motor != BENCH_NONE);
    teardown_end(&t);
}

/* A part of a circuit alone: what it is joined to beyond has a name. */
static void what_is_left_out_leaves_names_behind(void **state) {
    (void)state;
    Teardown t = teardown_of("part U1 SOP-8\npart Q1 npn\npart R1 1k\npart M1 motor\nnet VCC U1.1 M1.1\nnet GND U1.8 Q1.E\n"
                             "join U1.5 R1.1\njoin R1.2 Q1.B\njoin Q1.C M1.2\n",
                             NULL);
    bool *only = arena_many(t.arena, bool, t.bench->parts.count);
    only[bench_part(t.bench, TEXT("Q1"))] = only[bench_part(t.bench, TEXT("R1"))] = true;
    SchematicAsked asked = {.reasoning = t.reasoning, .only = only};
    Schematic *schematic = schematic_draw(t.arena, &asked);
    assert_int_equal(schematic->sheets.count, 1);
    assert_int_equal(schematic->sheets.at[0].symbols.count, 2);
    uint32_t flags = 0, grounds = 0;
    for (uint32_t i = 0; i < schematic->sheets.at[0].labels.count; i++) {
        const SchematicLabel *label = &schematic->sheets.at[0].labels.at[i];
        flags += label->sort == SCHEMATIC_FLAG && (text_is(label->text, "U1.5") || text_is(label->text, "Q1.C") || text_is(label->text, "M1.2"));
        grounds += label->sort == SCHEMATIC_GROUND;
    }
    assert_int_equal(flags, 2);
    assert_int_equal(grounds, 1);
    teardown_end(&t);
}

/* Every textbook of motor control: an H, the load its bar, each half with its controls outside. */
static void a_bridge_is_an_h(void **state) {
    (void)state;
    Teardown t = teardown_of("part Q1 pmos\npart Q2 pmos\npart Q3 nmos\npart Q4 nmos\npart M1 motor\npart J1 connector\n"
                             "net VCC Q1.S Q2.S\nnet GND Q3.S Q4.S\njoin Q1.D Q3.D M1.1\njoin Q2.D Q4.D M1.2\n"
                             "join Q1.G Q3.G J1.1\njoin Q2.G Q4.G J1.2\n",
                             NULL);
    Schematic *schematic = draw(&t);
    check_drawing(&t, schematic, "bridge");
    const SchematicSymbol *q1 = symbol_called(schematic, "Q1"), *q2 = symbol_called(schematic, "Q2"), *q3 = symbol_called(schematic, "Q3");
    const SchematicSymbol *q4 = symbol_called(schematic, "Q4"), *m = symbol_called(schematic, "M1");
    assert_true(q1->at.x == q3->at.x && q2->at.x == q4->at.x);
    assert_true(q1->body.bottom < q3->body.top && q2->body.bottom < q4->body.top);
    assert_true(q1->body.right < m->body.left && m->body.right < q2->body.left);
    assert_true(symbol_called(schematic, "J1.1")->at.x < q1->at.x && symbol_called(schematic, "J1.2")->at.x > q2->at.x);
    assert_int_equal(pin_called(&t, schematic, "M1", "1").y, pin_called(&t, schematic, "M1", "2").y);
    teardown_end(&t);
}

/* Halves that are driven crosswise share their controls: those stay on the left, joined as noted. */
static void a_bridge_of_crossed_controls_is_drawn_too(void **state) {
    (void)state;
    check_notes("part Q1 pnp\npart Q2 pnp\npart Q3 npn\npart Q4 npn\npart M1 motor\npart R1 1k\npart R2 1k\npart J1 connector\n"
                "net VCC Q1.E Q2.E\nnet GND Q3.E Q4.E\njoin Q1.C Q3.C M1.1\njoin Q2.C Q4.C M1.2\n"
                "join J1.1 R1.1\njoin R1.2 Q1.B Q4.B\njoin J1.2 R2.1\njoin R2.2 Q2.B Q3.B\n",
                "crossed bridge");
}

/* Charlieplexed lamps (the usual name for it): lines one above the other, between any two a lamp each way. */
static void lamps_between_lines_stand_each_way(void **state) {
    (void)state;
    Teardown t = teardown_of("part U1 SOP-8\npart R1 100\npart R2 100\npart R3 100\npart D1 led-red\npart D2 led-red\npart D3 led-red\n"
                             "part D4 led-red\njoin U1.2 R1.1\njoin U1.3 R2.1\njoin U1.4 R3.1\n"
                             "join R1.2 D1.A D2.K\njoin R2.2 D1.K D2.A D3.A D4.K\njoin R3.2 D3.K D4.A\n",
                             NULL);
    Schematic *schematic = draw(&t);
    check_drawing(&t, schematic, "lamps");
    for (int i = 0; i < 4; i++) {
        char ref[3] = {'D', (char)('1' + i), '\0'};
        SchematicAt a = pin_called(&t, schematic, ref, "A"), k = pin_called(&t, schematic, ref, "K");
        assert_int_equal(a.x, k.x);
        assert_true((a.y < k.y) == (i % 2 == 0));
    }
    assert_int_equal(symbol_called(schematic, "D1")->at.x, symbol_called(schematic, "D3")->at.x);
    assert_int_equal(symbol_called(schematic, "D2")->at.x, symbol_called(schematic, "D4")->at.x);
    teardown_end(&t);
}

static void a_negative_supply_is_no_ground(void **state) {
    (void)state;
    static const char *const names[] = {"V-", "VEE", "-12V"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        Teardown t = teardown_of("", NULL);
        Text notes = text_fmt(t.arena, "part U1 opamp\npart C1 100nF\npart C2 100nF\npart J1 connector\nnet GND U1.in+ C1.2 C2.2 J1.1\n"
                                       "net VCC U1.V+ C1.1\nnet %s U1.V- C2.1\njoin U1.in- U1.out\n", names[i]);
        Teardown made = teardown_of(text_cstring(t.arena, notes), NULL);
        Schematic *schematic = draw(&made);
        check_drawing(&made, schematic, names[i]);
        uint32_t negative = 0, ground = 0;
        for (uint32_t k = 0; k < schematic->sheets.at[0].labels.count; k++) {
            const SchematicLabel *label = &schematic->sheets.at[0].labels.at[k];
            negative += label->negative && text_is(label->text, names[i]);
            ground += label->sort == SCHEMATIC_GROUND && !label->negative && label->text.len == 0;
        }
        assert_int_equal(negative, 2);
        assert_int_equal(ground, 4);
        assert_true(pin_called(&made, schematic, "C2", "2").y < pin_called(&made, schematic, "C2", "1").y); /* ground is the higher */
        teardown_end(&made);
        teardown_end(&t);
    }
}

static void a_divider_stands(void **state) {
    (void)state;
    Teardown t = teardown_of("part R1 10k\npart R2 10k\npart J1 connector\nnet VCC R1.1 J1.1 J1.4\nnet GND R2.2 J1.3\njoin R1.2 R2.1 J1.2\n", NULL);
    Schematic *schematic = draw(&t);
    check_drawing(&t, schematic, "divider");
    const SchematicSymbol *upper = symbol_called(schematic, "R1"), *lower = symbol_called(schematic, "R2");
    assert_int_equal(upper->at.x, lower->at.x);
    assert_true(upper->body.bottom < lower->body.top);
    teardown_end(&t);
}

static Text svg_of(const Teardown *t, bool ansi, const Text *volts, const Text *amps) {
    SchematicAsked asked = {.reasoning = t->reasoning, .ansi = ansi, .volts = volts, .amps = amps};
    Schematic *schematic = schematic_draw(t->arena, &asked);
    Out out = out_new(t->arena);
    for (uint32_t s = 0; s < schematic->sheets.count; s++) schematic_svg(&out, schematic, s, TEXT("s"));
    return out_text(&out);
}

static bool holds(Text text, const char *part) { return text_find(text, text_of(part)) != SIZE_MAX; }

static void the_same_notes_give_the_same_drawing(void **state) {
    (void)state;
    Arena *arena = arena_new();
    char *notes = text_cstring(arena, random_circuit(arena, 77));
    Teardown one = teardown_of(notes, NULL), other = teardown_of(notes, NULL);
    assert_true(text_same(svg_of(&one, false, NULL, NULL), svg_of(&other, false, NULL, NULL)));
    teardown_end(&one);
    teardown_end(&other);
    arena_free(arena);
}

/* IEC 60617-04-01-01 draws a resistor as a rectangle, IEEE 315 section 2.1 as a zigzag; both from memory. */
static void either_style_has_its_own_resistor(void **state) {
    (void)state;
    Teardown t = teardown_of("part R1 10k\npart R2 10k\njoin R1.1 R2.1\n", NULL);
    Text iec = svg_of(&t, false, NULL, NULL), ansi = svg_of(&t, true, NULL, NULL);
    assert_true(holds(iec, "d=\"M-3-1.1H3V1.1H-3Z\"") && !holds(iec, "M-3 0l.5-1.2"));
    assert_true(holds(ansi, "M-3 0l.5-1.2") && !holds(ansi, "d=\"M-3-1.1H3V1.1H-3Z\""));
    teardown_end(&t);
}

static void volts_and_amperes_are_written_when_asked_for(void **state) {
    (void)state;
    Teardown t = teardown_of("part R1 10k\npart R2 10k\npart R3 1k\nnet VCC R1.1 R3.1 R3.2\nnet GND R2.2\njoin R1.2 R2.1\n", NULL);
    Text *volts = arena_many(t.arena, Text, t.bench->nets.count), *amps = arena_many(t.arena, Text, t.bench->parts.count);
    for (uint32_t n = 0; n < t.bench->nets.count; n++) volts[n] = text_fmt(t.arena, "%u.5 V", n);
    for (uint32_t p = 0; p < t.bench->parts.count; p++) amps[p] = text_fmt(t.arena, "%u.5 mA", p);
    Text with = svg_of(&t, false, volts, amps), without = svg_of(&t, false, NULL, NULL);
    for (uint32_t p = 0; p < t.bench->parts.count; p++) assert_true(holds(with, text_cstring(t.arena, amps[p])));
    assert_true(holds(with, "class=\"volts\""));
    assert_false(holds(without, "class=\"volts\"") || holds(without, "class=\"amps\""));
    SchematicAsked asked = {.reasoning = t.reasoning, .volts = volts, .amps = amps};
    check_drawing(&t, schematic_draw(t.arena, &asked), "with figures");
    teardown_end(&t);
}

/* Markup, quotes, marks that turn the direction of writing, a very long word. */
static void hostile_text_stays_text(void **state) {
    (void)state;
    Teardown t = teardown_of("part U1 SOP-8 marked \"<script>alert(1)</script>\" \"]]>&amp;\xe2\x80\xae --><svg onload=x>\"\n"
                             "part R1 10k \"' onmouseover='x\"\npart R2 10k\n"
                             "net AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA U1.1 R1.1 R2.1\n"
                             "net AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAB U1.2 R1.2 R2.2\n",
                             NULL);
    Text svg = svg_of(&t, false, NULL, NULL);
    assert_false(holds(svg, "<script") || holds(svg, "<svg onload") || holds(svg, "' onmouseover"));
    assert_true(holds(svg, "&lt;script&gt;"));
    check_drawing(&t, draw(&t), "hostile text");
    teardown_end(&t);
}

/* One chip of a thousand pins, a thousand parts on one net, a chain of a thousand: drawn, and soon. */
static void large_and_odd_circuits_are_drawn_too(void **state) {
    (void)state;
    enum { MANY = 1000 };
    Arena *arena = arena_new();
    Out chip = out_new(arena), net = out_new(arena), chain = out_new(arena);
    out_lit(&chip, "part U1 chip\n");
    out_lit(&net, "join");
    for (unsigned i = 1; i <= MANY; i++) {
        out_fmt(&chip, "part R%u 1k\njoin U1.%u R%u.1\n", i, i, i);
        out_fmt(&net, " R%u.1", i);
        out_fmt(&chain, "part R%u 1k\njoin R%u.2 R%u.1\n", i, i, i + 1);
    }
    out_char(&net, '\n');
    check_notes(text_cstring(arena, out_text(&chip)), "a chip of a thousand pins");
    check_notes(text_cstring(arena, out_text(&net)), "a thousand parts on one net");
    check_notes(text_cstring(arena, out_text(&chain)), "a chain of a thousand");
    arena_free(arena);
}

static void nothing_is_drawn_of_nothing(void **state) {
    (void)state;
    Teardown t = teardown_of("", NULL);
    assert_int_equal(draw(&t)->sheets.count, 0);
    teardown_end(&t);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_circuit_of_the_tests_is_drawn_as_its_nets_are),
        cmocka_unit_test(the_demo_is_drawn_as_its_nets_are),
        cmocka_unit_test(random_circuits_are_drawn_as_their_nets_are),
        cmocka_unit_test(a_low_side_switch_looks_like_one),
        cmocka_unit_test(an_inverting_amplifier_has_its_feedback_above),
        cmocka_unit_test(a_chip_has_its_supply_on_top_and_its_ground_below),
        cmocka_unit_test(figures_of_all_modes_share_their_places),
        cmocka_unit_test(what_is_left_out_leaves_names_behind),
        cmocka_unit_test(a_bridge_is_an_h),
        cmocka_unit_test(a_bridge_of_crossed_controls_is_drawn_too),
        cmocka_unit_test(lamps_between_lines_stand_each_way),
        cmocka_unit_test(a_negative_supply_is_no_ground),
        cmocka_unit_test(a_divider_stands),
        cmocka_unit_test(the_same_notes_give_the_same_drawing),
        cmocka_unit_test(either_style_has_its_own_resistor),
        cmocka_unit_test(volts_and_amperes_are_written_when_asked_for),
        cmocka_unit_test(hostile_text_stays_text),
        cmocka_unit_test(large_and_odd_circuits_are_drawn_too),
        cmocka_unit_test(nothing_is_drawn_of_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
