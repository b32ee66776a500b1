/* The symbols as a table. Two-ended ones lie: their first pin west, the second east, 10 mm apart; a quarter turn clockwise
 * puts the first on top. Transistors stand: the path that is switched runs from north to south through the origin, what
 * controls it comes from the west. Shapes are those of IEC 60617 (parts 4 to 6) and IEEE 315, from memory, fitted to the
 * grid. */
#include "draw/symbol.h"

#include <string.h>

#define W SYMBOL_WEST
#define N SYMBOL_NORTH
#define E SYMBOL_EAST
#define S SYMBOL_SOUTH
#define LYING(lead) 2, {{-2, 0, W, lead}, {2, 0, E, lead}}
#define STANDING(gate, lead) {-2, 0, W, gate}, {0, -2, N, lead}, {0, 2, S, lead}

#define BOX "M-3-1.1H3V1.1H-3Z"
#define ZIGZAG "M-3 0l.5-1.2 1 2.4 1-2.4 1 2.4 1-2.4 1 2.4 .5-1.2"
#define DIODE "M-1.8-2V2L1.8 0ZM-1.8 0H1.8"
#define BAR "M1.8-2V2"
#define LIGHT_OUT "M-.6-2.4L.6-4M-.3-3.8L.6-4 .5-3.1M1.2-2.4L2.4-4M1.5-3.8L2.4-4 2.3-3.1"
#define LIGHT_IN "M.4-4L-.8-2.4M.1-2.6L-.8-2.4-.7-3.3M2.2-4L1-2.4M1.9-2.6L1-2.4 1.1-3.3"
#define BIPOLAR "M-4.5 0a3.3 3.3 0 1 1 6.6 0a3.3 3.3 0 1 1-6.6 0M-2.5-2.2V2.2M-2.5-1L0-2.8M-2.5 1L0 2.8"
#define FET "M-3-2V2M-2.2-2.4V-1.4M-2.2-.5V.5M-2.2 1.4V2.4M-2.2-1.9H0M-2.2 1.9H0M-2.2 0H0"
#define HUMP "a.75.75 0 0 1 1.5 0"
#define CIRCLE(r) "M-" r " 0a" r " " r " 0 1 1 " r " " r "a" r " " r " 0 0 1-" r "-" r
#define AMPLIFIER "M-5-5V5L5 0Z"

static const Symbol SYMBOLS[] = {
    /* kind, pins, left, top, right, bottom, lines, ansi, solid, letter */
    {"resistor", LYING(20), -3, -1.2f, 3, 1.2f, BOX, ZIGZAG, NULL, NULL},
    {"thermistor", LYING(20), -3, -2.2f, 3, 2.2f, BOX "M-3 2.2H-1.8L2.2-2.2", ZIGZAG "M-3 2.2H-1.8L2.2-2.2", NULL, NULL},
    {"varistor", LYING(20), -3, -2.2f, 3, 2.2f, BOX "M-3 2.2H-1.8L2.2-2.2", ZIGZAG "M-3 2.2H-1.8L2.2-2.2", NULL, NULL},
    {"photoresistor", LYING(20), -3, -4, 3, 1.2f, BOX "M-1-4L-2.2-2M-1.3-2.2L-2.2-2-2.1-2.9M1.4-4L.2-2M1.1-2.2L.2-2 .3-2.9",
     ZIGZAG "M-1-4L-2.2-2M-1.3-2.2L-2.2-2-2.1-2.9M1.4-4L.2-2M1.1-2.2L.2-2 .3-2.9", NULL, NULL},
    {"potentiometer", 3, {{-2, 0, W, 20}, {0, -2, N, 25}, {2, 0, E, 20}}, -3, -2.6f, 3, 1.2f, BOX, ZIGZAG,
     "M0-1.1L-.7-2.6H.7Z", NULL},
    {"capacitor", LYING(44), -.6f, -2, .6f, 2, "M-.6-2V2M.6-2V2", "M-.6-2V2M1.2-2Q0 0 1.2 2", NULL, NULL},
    {"electrolytic", LYING(44), -2.4f, -2.3f, 1, 2, "M-.6-2V2M.6-2V2M-2.4-1.6H-1.2M-1.8-2.2V-1",
     "M-.6-2V2M1.2-2Q0 0 1.2 2M-2.4-1.6H-1.2M-1.8-2.2V-1", NULL, NULL},
    {"inductor", LYING(20), -3, -.9f, 3, .3f, "M-3 0" HUMP HUMP HUMP HUMP, NULL, NULL, NULL},
    {"bead", LYING(30), -2, -1, 2, 1, "M-2-1H2V1H-2ZM-1-1V1M0-1V1M1-1V1", NULL, NULL, NULL},
    {"fuse", LYING(20), -3, -1.2f, 3, 1.2f, BOX "M-3 0H3", "M-3 0c0-2.4 3-2.4 3 0s3 2.4 3 0", NULL, NULL},
    {"resettable-fuse", LYING(20), -3, -2.2f, 3, 2.2f, BOX "M-3 0H3M-3 2.2H-1.8L2.2-2.2", NULL, NULL, NULL},
    {"crystal", LYING(32), -1.8f, -2.3f, 1.8f, 2.3f, "M-1.8-2V2M1.8-2V2M-.9-2.3H.9V2.3H-.9Z", NULL, NULL, NULL},
    {"resonator", 3, {{-2, 0, W, 32}, {2, 0, E, 32}, {0, 2, S, 27}}, -1.8f, -2.3f, 1.8f, 2.3f,
     "M-1.8-2V2M1.8-2V2M-.9-2.3H.9V2.3H-.9Z", NULL, NULL, NULL},
    {"jumper", LYING(25), -2.5f, -1.8f, 2.5f, .5f, "M-2.1-.3A2.4 2.4 0 0 1 2.1-.3M-2.5 0a.4.4 0 1 0 .8 0a.4.4 0 1 0-.8 0M1.7 0a.4.4 0 1 0 .8 0a.4.4 0 1 0-.8 0",
     NULL, NULL, NULL},

    {"source", LYING(25), -2.5f, -2.5f, 2.5f, 2.5f, CIRCLE("2.5") "M-1.9 0H-.7M-1.3-.6V.6M1.3-.6V.6", NULL, NULL, NULL},
    {"battery", LYING(35), -3, -2.4f, 1.5f, 2.4f, "M-1.5-2.4V2.4M-.5-1.2V1.2M.5-2.4V2.4M1.5-1.2V1.2M-3-1.6H-1.9M-2.45-2.15V-1.05",
     NULL, NULL, NULL},
    {"coin-cell", LYING(45), -2.2f, -2.4f, .5f, 2.4f, "M-.5-2.4V2.4M.5-1.2V1.2M-2-1.6H-.9M-1.45-2.15V-1.05", NULL, NULL, NULL},
    {"solar-cell", LYING(25), -2.5f, -4.6f, 2.5f, 2.5f,
     CIRCLE("2.5") "M-2.5 0H-.5M-.5-1.5V1.5M.5-.8V.8M.5 0H2.5M-1-4.6L-1.8-3.1M-1.1-3.4L-1.8-3.1-1.7-3.9M1.6-4.6L.8-3.1M1.5-3.4L.8-3.1 .9-3.9",
     NULL, NULL, NULL},

    {"switch", LYING(30), -2, -1.9f, 2.4f, .4f, "M-2 0L1.8-1.8M1.6 0a.4.4 0 1 0 .8 0a.4.4 0 1 0-.8 0", NULL, NULL, NULL},
    {"button", LYING(30), -2, -2.8f, 2.4f, .4f, "M-2 0L1.8-1.8M1.6 0a.4.4 0 1 0 .8 0a.4.4 0 1 0-.8 0M-.1-.9V-2.8M-1.1-2.8H.9", NULL,
     NULL, NULL},
    {"reed", LYING(20), -3, -1.9f, 3, 1.9f, "M-3 0H-1.6L1.4-1.2M1.4 0H3M-1.8-1.9H1.8a1.9 1.9 0 0 1 0 3.8H-1.8a1.9 1.9 0 0 1 0-3.8", NULL,
     NULL, NULL},
    {"changeover-switch", 3, {{2, -1, E, 26}, {-2, 0, W, 28}, {2, 1, E, 26}}, -2.2f, -2.9f, 2.4f, 2.9f,
     "M-2.2 0L1.7-2.2M1.6-2.5a.4.4 0 1 0 .8 0a.4.4 0 1 0-.8 0M1.6 2.5a.4.4 0 1 0 .8 0a.4.4 0 1 0-.8 0", NULL, NULL, NULL},

    {"diode", LYING(32), -1.8f, -2, 1.8f, 2, DIODE BAR, NULL, NULL, NULL},
    {"schottky", LYING(32), -1.8f, -2, 2.6f, 2, DIODE "M2.6-1.4V-2H1.8V2H1V1.4", NULL, NULL, NULL},
    {"zener", LYING(32), -1.8f, -2, 1.8f, 2, DIODE "M1.8-2V2H.9", "M-1.8-2V2L1.8 0ZM-1.8 0H1.8M2.7-2.4L1.8-2V2L.9 2.4", NULL, NULL},
    {"tvs", LYING(32), -1.8f, -2, 1.8f, 2, DIODE "M1.8-2V2H.9", NULL, NULL, NULL},
    {"led", LYING(32), -1.8f, -4.1f, 2.5f, 2, DIODE BAR LIGHT_OUT, NULL, NULL, NULL},
    {"laser", LYING(32), -1.8f, -4.1f, 2.5f, 2, DIODE BAR LIGHT_OUT, NULL, NULL, NULL},
    {"photodiode", LYING(32), -1.8f, -4.1f, 2.5f, 2, DIODE BAR LIGHT_IN, NULL, NULL, NULL},
    {"bridge", 4, {{-3, -1, W, 35}, {-3, 1, W, 35}, {3, -1, E, 35}, {3, 1, E, 35}}, -4, -4, 4, 4,
     "M-4-4H4V4H-4ZM-1.4-1.6V1.6L1.4 0ZM1.4-1.6V1.6M-2.6 0H2.6M2.3-2.5H3.5M2.9-3.1V-1.9M2.3 2.5H3.5M-3.5-2.5q.3-.7.6 0t.6 0M-3.5 2.5q.3-.7.6 0t.6 0",
     NULL, NULL, NULL},
    {"thyristor", 3, {{-2, 1, W, 20}, {0, -2, N, 32}, {0, 2, S, 32}}, -3, -1.8f, 2, 2.5f, "M-2-1.8H2L0 1.8ZM-2 1.8H2M-3 2.5L-.4 1.8", NULL,
     NULL, NULL},
    {"triac", 3, {{-2, 1, W, 20}, {0, 2, S, 32}, {0, -2, N, 32}}, -3.4f, -1.8f, 3.4f, 2.5f,
     "M-3.4-1.8H.2L-1.6 1.8ZM-.2 1.8H3.4L1.6-1.8ZM-3.4 1.8H3.4M-3.4-1.8H3.4M-3 2.5L-2 1.8", NULL, NULL, NULL},

    {"bipolar", 3, {STANDING(25, 22)}, -4.5f, -3.3f, 2.1f, 3.3f, BIPOLAR, NULL, NULL, NULL},
    {"npn", 3, {STANDING(25, 22)}, -4.5f, -3.3f, 2.1f, 3.3f, BIPOLAR, NULL, "M-.4 2.5L-1.8 2.24-1.1 1.26Z", NULL},
    {"pnp", 3, {{-2, 0, W, 25}, {0, 2, S, 22}, {0, -2, N, 22}}, -4.5f, -3.3f, 2.1f, 3.3f, BIPOLAR, NULL,
     "M-2.1-1.29L-.7-1.55-1.4-2.53Z", NULL},
    {"phototransistor", LYING(22), -2.8f, 0, 2.8f, 5.4f,
     "M-2.2 2.5H2.2M-1 2.5L-2.8 0M1 2.5L2.8 0M-1.2 5.4L-.4 3.6M-1 4.1L-.4 3.6-.2 4.4M.6 5.4L1.4 3.6M.8 4.1L1.4 3.6 1.6 4.4", NULL,
     "M2.5.4L2.24 1.8 1.26 1.1Z", NULL},
    {"mosfet", 3, {STANDING(20, 31)}, -3, -2.4f, .4f, 2.4f, FET "V1.9", NULL, NULL, NULL},
    {"nmos", 3, {STANDING(20, 31)}, -3, -2.4f, .4f, 2.4f, FET "V1.9", NULL, "M-2.2 0L-1-.55V.55Z", NULL},
    {"pmos", 3, {{-2, 0, W, 20}, {0, 2, S, 31}, {0, -2, N, 31}}, -3, -2.4f, .4f, 2.4f, FET "V-1.9", NULL, "M-.6 0L-1.8-.55V.55Z", NULL},
    {"jfet", 3, {STANDING(28, 31)}, -3.4f, -2.4f, .4f, 2.4f, "M-2.2-2.4V2.4M-2.2-1.9H0M-2.2 1.9H0", NULL, "M-2.2 0L-3.4-.55V.55Z", NULL},

    {"load", LYING(20), -3, -2, 3, 2, "M-3-2H3V2H-3Z", NULL, NULL, NULL},
    {"motor", LYING(20), -3, -3, 3, 3, CIRCLE("3"), NULL, NULL, "M"},
    {"solenoid", LYING(34), -1.6f, -3, 1.6f, 3, "M-1.6-3H1.6V3H-1.6ZM-1.6 1.4L1.6-1.4", NULL, NULL, NULL},
    {"relay", 5, {{-2, -2, N, 34}, {-2, 2, S, 34}, {2, 2, S, 25}, {3, -2, N, 20}, {1, -2, N, 20}}, -8, -3, 7.5f, 3,
     "M-8-1.6H-2V1.6H-8ZM-6.4 1.6L-3.6-1.6M5 2.5L3-2.2M2.5-3V-2H3.4M7.5-3V-1.4M7.5-1.4L6.9-2.2M-2 0H-1M-.2 0H.6M1.4 0H2.2M3 0H3.8", NULL, NULL, NULL},
    {"loudspeaker", LYING(35), -3, -3.2f, 3, 1, "M-1.5-1H1.5V1H-1.5ZM-1.5-1L-3-3.2H3L1.5-1", NULL, NULL, NULL},
    {"piezo", LYING(25), -2.5f, -2.5f, 2.5f, .2f, "M-2.5 0A2.5 2.5 0 0 1 2.5 0ZM-2.9-2.5H2.9", NULL, NULL, NULL},
    {"microphone", LYING(25), -2.5f, -2.6f, 2.5f, 2.5f, CIRCLE("2.5") "M-2.5-2.6H2.5", NULL, NULL, NULL},
    {"heater", LYING(20), -3, -1.2f, 3, 1.2f, BOX "M-1.5-1.1V1.1M0-1.1V1.1M1.5-1.1V1.1", NULL, NULL, NULL},
    {"lamp", LYING(25), -2.5f, -2.5f, 2.5f, 2.5f, CIRCLE("2.5") "M-1.77-1.77L1.77 1.77M-1.77 1.77L1.77-1.77", NULL, NULL, NULL},
    {"flash-tube", 3, {{-2, 0, W, 20}, {2, 0, E, 20}, {0, 2, S, 36}}, -3, -1.4f, 3, 1.4f,
     "M-1.6-1.4H1.6a1.4 1.4 0 0 1 0 2.8H-1.6a1.4 1.4 0 0 1 0-2.8M-3 0H-1M1 0H3M-1-.7V.7M1-.7V.7", NULL, NULL, NULL},
    {"antenna", 1, {{0, 2, S, 30}}, -2.2f, -2, 2.2f, 2, "M0 2L-2.2-2M0 2L2.2-2M0 2V-2", NULL, NULL, NULL},
    {"testpoint", 1, {{-1, 0, W, 18}}, -.7f, -.7f, .7f, .7f, CIRCLE(".7"), NULL, NULL, NULL},
    {"touch-electrode", 1, {{-1, 0, W, 18}}, -.7f, -2, .7f, 2, "M-.7-2H.7V2H-.7Z", NULL, NULL, NULL},
    {"transformer", 4, {{-2, -2, W, 35}, {-2, 2, W, 35}, {2, -2, E, 35}, {2, 2, E, 35}}, -1.5f, -5, 1.5f, 5,
     "M-1.5-5a1.25 1.25 0 0 1 0 2.5a1.25 1.25 0 0 1 0 2.5a1.25 1.25 0 0 1 0 2.5a1.25 1.25 0 0 1 0 2.5"
     "M1.5-5a1.25 1.25 0 0 0 0 2.5a1.25 1.25 0 0 0 0 2.5a1.25 1.25 0 0 0 0 2.5a1.25 1.25 0 0 0 0 2.5M0-5V5",
     NULL, NULL, NULL},
    {"tapped-coil", 3, {{-2, 0, W, 20}, {0, 2, S, 50}, {2, 0, E, 20}}, -3, -.9f, 3, .3f, "M-3 0" HUMP HUMP HUMP HUMP, NULL, NULL, NULL},

    {"comparing", 5, {{3, 0, E, 25}, {-3, 1, W, 25}, {-3, -1, W, 25}, {0, -3, N, 50}, {0, 3, S, 50}}, -5, -5, 5, 5,
     AMPLIFIER "M-4.2-2.5H-2.8M-4.2 2.5H-2.8M-3.5 1.8V3.2", NULL, NULL, NULL},
    {"inverter", LYING(20), -3, -2.5f, 3, 2.5f, "M-3-2.5H2V2.5H-3ZM2 0a.5.5 0 1 0 1 0a.5.5 0 1 0-1 0M-.5-1V1M-.5-1L-1-.6",
     "M-3-2.5V2.5L2 0ZM2 0a.5.5 0 1 0 1 0a.5.5 0 1 0-1 0", NULL, NULL},
    {"schmitt-inverter", LYING(20), -3, -2.5f, 3, 2.5f, "M-3-2.5H2V2.5H-3ZM2 0a.5.5 0 1 0 1 0a.5.5 0 1 0-1 0M-2 .8H0V-.8M-1 .8V-.8H1",
     "M-3-2.5V2.5L2 0ZM2 0a.5.5 0 1 0 1 0a.5.5 0 1 0-1 0M-2.4.6H-1V-.6M-1.7.6V-.6H-.3", NULL, NULL},
    {"shunt-reference", 3, {{0, -2, N, 32}, {0, 2, S, 32}, {-2, 0, W, 40}}, -2, -2.6f, 2, 1.8f,
     "M-2 1.8H2L0-1.8ZM0 1.8V-1.8M-2-1V-1.8H2V-2.6", NULL, NULL, NULL},
    {"opto", 4, {{-3, -1, W, 35}, {-3, 1, W, 35}, {3, -1, E, 35}, {3, 1, E, 35}}, -4, -4, 4, 4,
     "M-4-4H4V4H-4ZM-4-2.5H-2.2V-1M-2.2.8V2.5H-4M-3.2-1H-1.2L-2.2.8ZM-3.2.8H-1.2M-.6-.6H.5M0-1L.5-.6 0-.2M-.6.4H.5M0 0L.5.4 0 .8"
     "M1.2-1.6V1.6M1.2-.6L2.7-1.7V-2.5H4M1.2.6L2.7 1.7V2.5H4",
     NULL, "M2.7 1.7L1.5 1.5 2.1.65Z", NULL},
};

static const Symbol AMPLIFIER_PLUS_ON_TOP = {
    "comparing", 5, {{3, 0, E, 25}, {-3, -1, W, 25}, {-3, 1, W, 25}, {0, -3, N, 50}, {0, 3, S, 50}}, -5, -5, 5, 5,
    AMPLIFIER "M-4.2-2.5H-2.8M-4.2 2.5H-2.8M-3.5-3.2V-1.8", NULL, NULL, NULL};

static const Symbol TERMINAL = {"connector", 1, {{-1, 0, W, 18}}, -.7f, -.7f, .7f, .7f, CIRCLE(".7"), NULL, NULL, NULL};

const Symbol *symbol_of(const BenchKind *kind) {
    for (; kind != NULL; kind = kind->parent)
        for (size_t i = 0; i < sizeof SYMBOLS / sizeof *SYMBOLS; i++)
            if (text_is(kind->name, SYMBOLS[i].kind)) return &SYMBOLS[i];
    return NULL;
}

const Symbol *symbol_other_way(const Symbol *symbol) {
    return symbol != NULL && strcmp(symbol->kind, AMPLIFIER_PLUS_ON_TOP.kind) == 0 ? &AMPLIFIER_PLUS_ON_TOP : symbol;
}

const Symbol *symbol_terminal(void) { return &TERMINAL; }
