/* What follows from a circuit, as `unpick sums` and `unpick look` tell it: each sort of figure by a small teardown of its
 * own, with a formula and its source. What is expected is worked out by hand beside each; teardowns are invented. */
#include "report/report.h"
#include "tests/teardown.h"

typedef struct Told {
    const char *notes, *claim, *value;
    double low, high;
    const char *words; /* in what is told; NULL: any */
} Told;

#define SOCKET "part J1 dc-jack\nnet GND J1.-\nnet VCC J1.+\n"
#define CELLS "part BT1 battery 2 x LR6\nnet GND BT1.-\nnet VCC BT1.+\n"

static const Told TOLD[] = {
    /* 2.8 Ah of two alkaline cells at 17 mA: 165 h (test_follow has it worked out) */
    {CELLS "part R1 150 1%\njoin VCC R1.1\njoin R1.2 GND\n", "battery-life:BT1", "life", 150 * 3600, 185 * 3600,
     "lasts about"},
    /* 2.7 V is the least for an ATMEGA8 (data sheet, from memory): two alkaline cells reach it with some two thirds left */
    {CELLS "part U1 DIP-28 marked \"ATMEGA8\"\nnet VCC U1.VCC\nnet GND U1.GND\npart R1 10k\njoin VCC R1.1\njoin R1.2 GND\n",
     "stops-first:BT1", "charge-left", 0.5, 0.75, "stops first"},
    {CELLS "part U1 DIP-28 marked \"ATMEGA8\"\nnet VCC U1.VCC\nnet GND U1.GND\npart R1 10k\njoin VCC R1.1\njoin R1.2 GND\n",
     "brown-out:U1", "margin", 0.4, 0.6, "a margin of"},
    /* a motor that stands is its winding: some 3.2 V over 4 ohm, two cells' own ohms (0.3 or so) and its brushes' */
    {CELLS "part M1 motor\nread r(M1) = 4 ohm\njoin VCC M1.1\njoin M1.2 GND\n", "motor-start:M1", "start-current", 0.6,
     0.85, "as it starts"},
    /* (12 V - 5 V) x 100 mA = 0.7 W in a TO-220 without a heat sink, some 60 K/W: 42 K above a room */
    {"rated 12 V\n" SOCKET
     "part U1 TO-220 marked \"LM7805\"\nnet GND U1.GND\njoin VCC U1.IN\npart R1 50 1%\njoin U1.OUT R1.1\njoin R1.2 GND\n",
     "heat:U1", "junction", 55, 85, "to heat"},
    {"rated 12 V\n" SOCKET
     "part U1 TO-220 marked \"LM7805\"\nnet GND U1.GND\njoin VCC U1.IN\npart R1 50 1%\njoin U1.OUT R1.1\njoin R1.2 GND\n",
     "heat:U1", "case", 50, 85, NULL},
    /* 9 V over 100 ohm is 0.81 W, where 0805 bears 0.125 W */
    {"rated 9 V\n" SOCKET "part R1 0805 100 1%\njoin VCC R1.1\njoin R1.2 GND\n", "heat:R1", "share-of-rating", 6.2, 6.8,
     "rated for"},
    /* 25 V on a capacitor for 16 V */
    {"rated 25 V\n" SOCKET "part C1 electrolytic 100uF 16V\npart R1 1k\njoin VCC C1.+ R1.1\njoin C1.- R1.2 GND\n",
     "rating:C1", "voltage", 24.9, 25.1, "that it is made for"},
    /* a chip's pin into 47 ohm on 5 V: some 60 mA, where 4 to 25 mA are made for */
    {"rated 5 V\n" SOCKET
     "part U1 SOP-8\njoin VCC U1.8\njoin GND U1.4 R1.2\npart R1 47 1%\njoin U1.5 R1.1\nmode lit\ndrive U1.5 high in lit\n",
     "pin-current:U1", "pin-current", 40e-3, 80e-3, "such pins are made for"},
    /* (5 V - 2 V) / 150 ohm */
    {"rated 5 V\n" SOCKET "part R1 150 1%\npart D1 led-red\nnet GND D1.K\njoin VCC R1.1\njoin R1.2 D1.A\n",
     "led-current:D1", "current", 18e-3, 22e-3, "gets"},
    /* 50 mA by 4.3 mA into its base */
    {"rated 5 V\n" SOCKET "part Q1 npn TO-92 marked \"2N3904\"\npart R2 100 1%\npart R1 1k\nnet GND Q1.E\njoin VCC R1.1 "
                          "R2.1\njoin R1.2 Q1.B\njoin R2.2 Q1.C\n",
     "saturation:Q1", "forced-gain", 10.5, 12.5, "well saturated"},
    /* 5 V less some 3.6 V over 10 ohm */
    {"rated 5 V\npart J1 dc-jack\npart BT1 battery 3 x HR6\npart R1 10\nnet GND J1.- BT1.-\njoin J1.+ R1.1\njoin R1.2 "
     "BT1.+\npress J1\n",
     "charging:BT1", "charge-current", 0.05, 0.2, "flow into"},
    /* 100 uF at 25 V: 31.25 mJ */
    {"rated 25 V\n" SOCKET "part C1 electrolytic 100uF 50V\npart R1 1k\njoin VCC C1.+ R1.1\njoin C1.- R1.2 GND\n",
     "stored-energy:C1", "energy", 31.2e-3, 31.3e-3, "hurts nobody"},
    /* R C = 10 kohm x 100 nF */
    {"part U1 microcontroller\npart R1 10k\npart C1 100nF\nnet VCC R1.1 U1.7\nnet GND C1.2 U1.8\njoin U1.1 R1.2 C1.1\n",
     "reset-rc:R1", "reset-time", 0.9e-3, 1.1e-3, NULL},
    /* 1.44 / ((3.9k + 2 x 3k) 10 nF) = 14.5 kHz (555 data sheet, from memory) */
    {"part U1 DIP-8 timer marked \"NE555\"\npart R1 3.9k\npart R2 3k\npart C1 10nF\nnet VCC U1.8 U1.4 R1.1\nnet GND U1.1 "
     "C1.2\njoin U1.7 R1.2 R2.1\n"
     "join U1.6 U1.2 R2.2 C1.1\n",
     "555-astable:U1", "frequency", 14.4e3, 14.7e3, "swings by itself"},
    /* 1 / (0.8 x 10k x 10 nF) = 12.5 kHz (74HC14 data sheet, from memory) */
    {"part U1 schmitt-inverter\npart R1 10k\npart C1 10nF\nnet GND C1.2\njoin U1.out R1.1\njoin U1.in R1.2 C1.1\n",
     "schmitt-inverter-oscillator:U1", "frequency", 12.4e3, 12.6e3, NULL},
    /* 1 V over 7.7 ohm: 0.13 W, by 76 to 88 dB at 1 W and 1 m 73 to 85 dB at half a metre */
    {"product \"Talking bear (invented)\" toy\nrated 1 V\n" SOCKET
     "part LS1 speaker 8 ohm\nread r(LS1) = 7.5 ohm\npart R1 0.2 1%\nnet GND LS1.2\njoin VCC R1.1\n"
     "join R1.2 LS1.1\n",
     "loudness:LS1", "level-at-50-cm", 72.5, 85.8, "an estimate"},
    /* 12 : 60 and 10 : 48 make 24 */
    {"part M1 motor\ngear M1 12:60 10:48\n", "gear-speed:M1", "ratio", 1 / 24.1, 1 / 23.9, NULL},
    /* 8 x 1024^2 bit at 8 kHz and 8 bit */
    {"part U3 flash\nmemory U3 8 Mbit at 8 kHz 8 bit\n", "recording:U3", "time", 131, 131.1, NULL},
};

static bool holds(Text text, const char *words) { return text_find(text, text_of(words)) != SIZE_MAX; }

static void tell(const Told *told) {
    Teardown t = teardown_of(told->notes, NULL);
    const Sums *sums = sums_about(t.arena, t.reasoning, sums_models_new(t.arena, t.lore, t.kinds), (SumsEffort){0});
    const ReasonClaim *claim = claim_with_id(&t, told->claim);
    double value = value_in(claim, told->value).value;
    if (!(value >= told->low && value <= told->high))
        fail_msg("%s: %s is %g, expected %g to %g", told->claim, told->value, value, told->low, told->high);
    for (uint32_t i = 0; i < claim->value_count; i++)
        assert_true(claim->values[i].formula.len > 0 && claim->values[i].source.len > 0);
    Out one = out_new(t.arena), other = out_new(t.arena);
    report_sums(&one, sums, (ReportStyle){.columns = 10000});
    report_look(&other, t.reasoning, (ReportStyle){.columns = 10000});
    if (!holds(out_text(&one), told->claim))
        fail_msg("`unpick sums` does not tell %s:\n%.*s", told->claim, TEXT_ARG(out_text(&one)));
    if (!holds(out_text(&other), told->claim)) fail_msg("`unpick look` does not tell %s", told->claim);
    if (told->words != NULL) assert_true(holds(claim->says, told->words));
    teardown_end(&t);
}

static void each_sort_of_figure_is_told(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof TOLD / sizeof *TOLD; i++) tell(&TOLD[i]);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(each_sort_of_figure_is_told)};
    return cmocka_run_group_tests_name("what follows, told", tests, NULL, NULL);
}
