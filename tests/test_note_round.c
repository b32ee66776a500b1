/* note: what is printed reads as the same note, over random notes made from the grammar. */
#include "tests/check.h"

#include "note/note.h"

/* xorshift64 (G. Marsaglia, 2003): the same notes in every run. */
typedef struct Chance {
    uint64_t state;
    Out *out;
} Chance;

static unsigned below(Chance *c, unsigned most) {
    c->state ^= c->state << 13;
    c->state ^= c->state >> 7;
    c->state ^= c->state << 17;
    return (unsigned)(c->state >> 33) % most;
}

static void pick(Chance *c, const char *const *choices, size_t count) {
    out_add(c->out, text_of(choices[below(c, (unsigned)count)]));
}

#define PICK(c, ...)                                                                                                       \
    pick((c), (const char *const[]){__VA_ARGS__}, sizeof((const char *const[]){__VA_ARGS__}) / sizeof(char *))

static void gap(Chance *c) { PICK(c, " ", " ", " ", "  ", "\t"); }

static void terminal(Chance *c) {
    PICK(c, "U1.8", "R17.1", "BT1.+", "BT1.-", "Q1.B", "VBAT", "3.3V", "+5V", "U3.PA0.1", "GND", "D2.A", "µC1.4");
    gap(c);
}

static void string(Chance *c) {
    PICK(c, "\"plain\"", "\"a \\\"quoted\\\" word\"", "\"back\\\\slash\"", "\"# no comment\"", "\"6 V, wet\"", "\"µΩ±°\"",
         "\"by eye\"");
    gap(c);
}

static void number(Chance *c) {
    out_fmt(c->out, "%s%u", below(c, 6) == 0 ? "-" : "", below(c, 3) == 0 ? below(c, 400000) : below(c, 300));
    if (below(c, 2) == 0) out_fmt(c->out, ".%0*u", 1 + (int)below(c, 6), below(c, 10));
}

static void point(Chance *c) {
    number(c);
    PICK(c, ",", ", ", " ,");
    number(c);
    gap(c);
}

static void file(Chance *c) {
    PICK(c, "door.jpg", "\"a door.jpg\"", "\"#1.png\"", "\"a,b.webp\"", "sub/x.jpeg", "\"q\\\"q.jpg\"");
    gap(c);
}

static void quantity(Chance *c) {
    PICK(c, "6.21 V", "4k7", "10k ±5%", "10k 5%", "3..5 V", "-40..85 degC", "470uF", "16V", "±5%", "100", "2200 uF",
         "0.1 inch", "R47");
    gap(c);
}

/* Each qualifier at most once in a note: `left` has a bit for each that may still come. */
static void qualifiers(Chance *c, unsigned *left) {
    while (below(c, 3) == 0) {
        unsigned which = below(c, 7);
        if (!(*left >> which & 1)) continue;
        *left &= ~(1u << which);
        switch (which) {
        case 0:
            PICK(c, "by eye ", "by  meter ", "by scope ", "by datasheet ", "by label ", "by guess ");
            break;
        case 1:
            out_fmt(c->out, "sure %u.%u%s ", below(c, 100), below(c, 100), below(c, 2) == 0 ? "%" : " %");
            break;
        case 2:
            PICK(c, "in idle ", "in pumping ");
            break;
        case 3:
            PICK(c, "on A ", "on MAIN ", "on A bottom ", "on 2 top ", "on top ", "on plated bottom ");
            break;
        case 4:
            out_lit(c->out, "at "), point(c);
            break;
        case 5:
            out_lit(c->out, "photo "), file(c);
            break;
        default:
            string(c);
        }
    }
}

enum { BOARD_LEFT = 1 << 3, PLACE_LEFT = 1 << 4 };

static void part(Chance *c, unsigned *left) {
    PICK(c, "R1 ", "C22 ", "U3 ", "BT1 ", "Q1 ", "MK2 ");
    unsigned clauses = 7;
    for (unsigned i = below(c, 7); i > 0; i--) {
        switch (below(c, 6)) {
        case 0:
            PICK(c, "0805 ", "18650 ", "SOP-8 ", "npn ", "6F22 ", "1N4148 ", "LM358 ", "4 x LR03 ", "555 ", "motor ");
            break;
        case 1:
            quantity(c);
            break;
        case 2:
            if (clauses & 1) out_lit(c->out, "turn "), out_fmt(c->out, "%u.%u ", below(c, 360), below(c, 10));
            clauses &= ~1u;
            break;
        case 3:
            if (clauses & 2) out_lit(c->out, "marked "), string(c);
            clauses &= ~2u;
            break;
        case 4:
            if ((clauses & 4) && (*left & PLACE_LEFT)) {
                out_lit(c->out, "pin 1 at "), point(c), out_lit(c->out, "pin 8 at "), point(c);
                clauses &= ~4u, *left &= ~(unsigned)PLACE_LEFT;
            }
            break;
        default:
            qualifiers(c, left);
        }
    }
}

static void terminals(Chance *c, unsigned *left, unsigned least) {
    for (unsigned i = least + below(c, 12); i > 0; i--) {
        if (below(c, 4) == 0)
            point(c);
        else
            terminal(c);
        qualifiers(c, left);
    }
}

static void reading(Chance *c, unsigned *left) {
    PICK(c, "v(VBAT) = 6.21 V", "i(BT1)=38uA", "r(R1) = 4k7", "diode( Q1.B , Q1.E ) = 0.68 V", "duty(U1.2) = 33 %",
         "c(C1) = 100n", "f(U1.1) = 38 kHz ±1%", "temp(U2) = 20..30 degC", "gain(Q1) = 210");
    gap(c);
    qualifiers(c, left);
}

static void drive(Chance *c, unsigned *left) {
    PICK(c, "U1.3 ", "U2.PA0.1 "), qualifiers(c, left);
    if (below(c, 2) == 0) {
        PICK(c, "high ", "low ", "open ", "3.0 V ", "-5..5 V ", "3V3 ", "2.5 V ±2% ");
        return;
    }
    PICK(c, "38 kHz ", "1Hz ±5% ", "455 kHz+-2% "), qualifiers(c, left);
    PICK(c, "", "50% ", "33.3 % ", "0% ", "10..20 % ", "5% 10% ");
}

static void duty(Chance *c, unsigned *left) {
    PICK(c, "pumping ", "idle "), qualifiers(c, left);
    if (below(c, 3) == 0) {
        PICK(c, "95% ", "0.1 % ", "1..2 % ");
        return;
    }
    PICK(c, "2 s ", "1..3 s ", "0.6ms ±10% "), qualifiers(c, left);
    out_lit(c->out, "per "), qualifiers(c, left), PICK(c, "30 min ", "day ", "2 days ", "h ", "8 h 5% ");
}

static void memory(Chance *c, unsigned *left) {
    PICK(c, "U3 ", "IC1 "), qualifiers(c, left), PICK(c, "8 Mbit ", "1MB ", "512 kbyte ±1% "), qualifiers(c, left);
    if (below(c, 4) == 0) return;
    PICK(c, "at 8 kHz ", "at 16 kbit/s ", "at 22.05 kHz 8 bit "), qualifiers(c, left);
}

static void board(Chance *c, unsigned *left) {
    PICK(c, "A ", "MAIN ");
    if (below(c, 2) == 0) PICK(c, "46.5 x 21.0 mm ", "2x1inch ", "18 mm × 20 mm ", "3x4cm ");
    qualifiers(c, left);
    if (below(c, 2) == 0) PICK(c, "1 layer ", "2 layers ", "12 layer ");
    if (below(c, 2) == 0) PICK(c, "FR4 ", "paper-phenolic ", "x ", "layers ");
}

/* The board of a verb of the copper: first, or by its qualifier later, or not at all. */
static void where(Chance *c, unsigned *left) {
    if (below(c, 3) == 0) return;
    PICK(c, "A ", "A bottom ", "top ", "MAIN top ");
    *left &= ~(unsigned)BOARD_LEFT;
}

static void statement(Chance *c) {
    unsigned left = 127;
    static const char *const verbs[NOTE_VERB_COUNT] = {"product", "bought", "rated", "step",  "board",
                                                       "photo",   "part",   "join",  "apart", "net",
                                                       "cut",     "bridge", "hidden", "hole", "copper",
                                                       "bare",    "mode",   "drive",  "press", "stall",
                                                       "duty",    "gear",   "memory", "read",  "claim",
                                                       "ask",     "mark",   "licence", "strike"};
    NoteVerb verb = (NoteVerb)below(c, NOTE_VERB_COUNT);
    out_fmt(c->out, "%s ", verbs[verb]);
    switch (verb) {
    case NOTE_PRODUCT:
        string(c), PICK(c, "", "toy ", "mains 10 V ");
        break;
    case NOTE_BOUGHT:
        PICK(c, "2026-09-03 ", "for 7.99 EUR ", "2024-02-29 for 0.5 USD ", "for 12 JPY 1999-12-31 ");
        break;
    case NOTE_RATED:
        quantity(c), qualifiers(c, &left), PICK(c, "IPX4 ", "class-II ", "0805 ", "");
        break;
    case NOTE_STEP:
        out_fmt(c->out, "%u ", 1 + below(c, 99)), string(c), PICK(c, "", "with \"PH1\" ");
        break;
    case NOTE_BOARD:
        board(c, &left);
        break;
    case NOTE_PHOTO:
        PICK(c, "A ", "A top ", "bottom ", ""), file(c), PICK(c, "", "corners 1,2 30,4 31,50.5 -2,48 ");
        break;
    case NOTE_PART:
        part(c, &left);
        break;
    case NOTE_JOIN:
    case NOTE_APART:
        terminals(c, &left, 2);
        break;
    case NOTE_NET:
        PICK(c, "VBAT ", "3.3V ", "GND "), terminals(c, &left, 1);
        break;
    case NOTE_CUT:
    case NOTE_COPPER:
    case NOTE_BARE:
    case NOTE_HOLE:
        where(c, &left), out_lit(c->out, "at "), point(c), left &= ~(unsigned)PLACE_LEFT, qualifiers(c, &left);
        if (verb == NOTE_HOLE) PICK(c, "", "0.8 mm ", "3.2 ", "40 mil plated ", "plated ", "bare 1..2 mm "), qualifiers(c, &left);
        break;
    case NOTE_BRIDGE:
        where(c, &left), point(c), qualifiers(c, &left), point(c);
        break;
    case NOTE_HIDDEN:
        where(c, &left);
        for (unsigned i = 3 + below(c, 5); i > 0; i--) point(c), qualifiers(c, &left);
        break;
    case NOTE_MODE:
        PICK(c, "idle ", "pumping ");
        break;
    case NOTE_DRIVE:
        drive(c, &left);
        break;
    case NOTE_PRESS:
    case NOTE_STALL:
        for (unsigned i = 1 + below(c, 4); i > 0; i--) PICK(c, "SW2 ", "M1 ", "K1 "), qualifiers(c, &left);
        break;
    case NOTE_DUTY:
        duty(c, &left);
        break;
    case NOTE_GEAR:
        PICK(c, "M1 ", "M12 "), qualifiers(c, &left), PICK(c, "12:60 ", "8.5 : 31 "), qualifiers(c, &left);
        PICK(c, "", "10:48 ", "1 :0.05 9:9 ");
        break;
    case NOTE_MEMORY:
        memory(c, &left);
        break;
    case NOTE_READ:
        reading(c, &left);
        break;
    case NOTE_CLAIM:
        terminal(c), string(c);
        break;
    case NOTE_ASK:
    case NOTE_LICENCE:
        string(c);
        break;
    case NOTE_MARK:
        if (below(c, 2) == 0)
            file(c);
        else
            where(c, &left);
        out_lit(c->out, "at "), point(c), left &= ~(unsigned)PLACE_LEFT, qualifiers(c, &left), string(c);
        break;
    default:
        out_fmt(c->out, "%u ", 1 + below(c, 1000));
    }
    qualifiers(c, &left);
    PICK(c, "", "# comment \"open");
}

static void random_notes_round_trip(void **state) {
    (void)state;
    enum { ROUNDS = 20000 };
    Chance chance = {.state = 0x9E3779B97F4A7C15u};
    unsigned read[NOTE_VERB_COUNT] = {0}, refused = 0;
    for (int round = 0; round < ROUNDS; round++) {
        Arena *arena = arena_new();
        Out line = out_new(arena), first = out_new(arena), second = out_new(arena);
        chance.out = &line;
        statement(&chance);
        Diags problems = diags_new(arena);
        Note note, again;
        if (note_parse(arena, TEXT("random"), 1, out_text(&line), &note, &problems)) {
            read[note.verb]++;
            note_print(&first, &note);
            if (!note_parse(arena, TEXT("printed"), 1, out_text(&first), &again, &problems) || !note_same(&note, &again))
                fail_msg("%.*s\nis printed as\n%.*s", TEXT_ARG(out_text(&line)), TEXT_ARG(out_text(&first)));
            note_print(&second, &again);
            assert_true(text_same(out_text(&first), out_text(&second)));
        } else {
            refused++; /* a part with `10 ... V` kept apart, for one */
            assert_int_equal(problems.list.count, 1);
        }
        arena_free(arena);
    }
    for (int verb = 0; verb < NOTE_VERB_COUNT; verb++) assert_true(read[verb] > ROUNDS / NOTE_VERB_COUNT / 2);
    assert_true(refused < ROUNDS / 20);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(random_notes_round_trip)};
    return cmocka_run_group_tests_name("note, round trip", tests, NULL, NULL);
}
