/* Boards as seen from either side, block diagrams; and every drawing of notes that mean mischief or make no sense: it comes
 * back in bounded time and is well-formed. */
#include "draw/blocks.h"
#include "draw/board.h"
#include "draw/plot.h"
#include "draw/schematic.h"
#include "report/report.h"
#include "tests/copper_draw.h"
#include "tests/sums_fixture.h"
#include "tests/well_formed.h"

#include <stdio.h>
#include <stdlib.h>

static bool holds(Text text, const char *part) { return text_find(text, text_of(part)) != SIZE_MAX; }

static uint32_t times(Text text, const char *part) {
    uint32_t count = 0;
    for (size_t at; (at = text_find(text, text_of(part))) != SIZE_MAX; count++) text = text_sub(text, at + 1, text.len);
    return count;
}

static void assert_well_formed(Text svg, const char *what) {
    size_t at = well_formed_fault(svg);
    if (at == SIZE_MAX) return;
    size_t from = at < 60 ? 0 : at - 60;
    fail_msg("%s is not well-formed at %zu: %.*s", what, at, TEXT_ARG(text_sub(svg, from, 120)));
}

static void the_reader_of_svg_knows_right_from_wrong(void **state) {
    (void)state;
    static const char *const wrong[] = {"",
                                        "<svg>",
                                        "<svg></g>",
                                        "<svg><g></svg></g>",
                                        "<svg>a & b</svg>",
                                        "<svg a=b/>",
                                        "<svg a=\"<\"/>",
                                        "<svg a=\"&\"/>",
                                        "<svg/><svg/>",
                                        "<svg>\x01</svg>",
                                        "<svg>\xFF</svg>",
                                        "<svg a=\"x\"b=\"y\"/>",
                                        "a<svg",
                                        "<svg><b<c></svg>"};
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++)
        if (well_formed_fault(text_of(wrong[i])) == SIZE_MAX) fail_msg("taken as right: %s", wrong[i]);
    assert_well_formed(TEXT("<svg a=\"1 &lt; 2\" b=\"\"><g>x &amp; y</g><path d=\"M0 0\"/></svg>\n"), "a good one");
}

/* ---- boards ---- */

static Text board_svg(const Teardown *t, BoardSide side) {
    Out out = out_new(t->arena);
    BoardView view = {t->reasoning, TEXT("A"), side, TEXT(""), TEXT("b"), false};
    if (!draw_board(&out, &view)) return TEXT("");
    assert_well_formed(out_text(&out), "a board");
    return out_text(&out);
}

/* The bottom is seen as it lies when the board is turned over about its upright middle: left and right change places. */
static void a_part_stands_where_it_is_and_mirrored_on_the_other_side(void **state) {
    (void)state;
    Teardown t = teardown_of(
        "board A 40 x 20 mm\npart TP1 testpoint on A at 10,5\npart D1 led on A pin A at 30,8 pin K at 30,10.54\n", NULL);
    Text top = board_svg(&t, BOARD_TOP), bottom = board_svg(&t, BOARD_BOTTOM);
    assert_true(holds(top, "x1=\"10\" y1=\"4.545\" x2=\"10\"")); /* a cross: no package is known */
    assert_true(holds(top, "cx=\"30\" cy=\"10.54\"") && holds(bottom, "cx=\"10\" cy=\"10.54\"")); /* 40 - 30 */
    assert_true(holds(top, "data-ref=\"TP1\"") && holds(top, "<title>D1.K"));
    teardown_end(&t);
}

static void without_a_size_there_is_no_board_to_draw(void **state) {
    (void)state;
    Teardown t = teardown_of("part R1 0805 10k on A at 5,5\n", NULL);
    assert_int_equal(board_svg(&t, BOARD_TOP).len, 0);
    assert_false(draw_board_shows(t.bench, TEXT("A"), BOARD_TOP));
    assert_int_equal(draw_board_nets(t.arena, t.bench, TEXT("A"), BOARD_TOP).count, 0);
    teardown_end(&t);
}

static void callouts_are_numbered_on_their_own_side(void **state) {
    (void)state;
    Teardown t = teardown_of("board A 40 x 20 mm\npart R1 0805 10k on A at 5,5\nmark A top at 12,6 \"the first <b>\"\nmark "
                             "A bottom at 8,4 \"below\"\n"
                             "mark A top at 20,9 \"the second\"\n",
                             NULL);
    Text top = board_svg(&t, BOARD_TOP), bottom = board_svg(&t, BOARD_BOTTOM);
    assert_int_equal(times(top, "class=\"b-callout\""), 2);
    assert_int_equal(times(bottom, "class=\"b-callout\""), 1);
    assert_true(holds(top, "<title>the first &lt;b&gt;</title>") && holds(top, ">2</text>"));
    assert_true(holds(bottom, "cx=\"32\" cy=\"4\"") && !holds(bottom, "the first"));
    teardown_end(&t);
}

/* ---- copper, drawn here ---- */

static Layers drawing;

/* The drawing's nets on the top, as board_trace would give them. */
static bool trace_drawing(Arena *arena, const BoardAsked *asked, BoardCopper *board, Diags *problems) {
    static const double same[9] = {1, 0, 0, 0, 1, 0, 0, 0, 1};
    (void)problems;
    *board = (BoardCopper){.width_mm = asked->width_mm, .height_mm = asked->height_mm};
    BoardFace *face = &board->face[BOARD_TOP];
    memcpy(face->to_top, same, sizeof same), memcpy(face->from_top, same, sizeof same);
    assert_true(copper_trace(arena, &drawing, NULL, 0, &face->copper));
    face->known = true;
    face->unseen = calloc(1, (size_t)drawing.width * drawing.height);
    face->net = arena_many(arena, uint32_t, face->copper.nets.count + 1);
    for (uint32_t i = 1; i <= face->copper.nets.count; i++) {
        face->net[i] = i;
        list_push(arena, &board->nets, ((BoardNet){0}));
    }
    static const double sure[] = {0.01, 0.5, 0.99}; /* that it is joined */
    for (size_t i = 0; i < 3; i++)
        list_push(arena, &board->doubts,
                  ((BoardDoubt){.at = {5 + (double)i, 5}, .side = BOARD_TOP, .p_joined = sure[i], .looks = TEXT("a gap")}));
    return true;
}

static void nets_differ_by_colour_and_by_dash_the_largest_first(void **state) {
    (void)state;
    Arena *paper = arena_new();
    enum { NETS = 9 }; /* more than there are colours */
    Out notes = out_new(paper);
    out_lit(&notes, "board A 30 x 16 mm\nphoto A top a.png\n");
    drawing = draw_layers(paper, 10, 30, 16);
    for (int i = 0; i < NETS; i++) {
        double y = 1.5 + 1.6 * i;
        draw_track(&drawing, 2, y, 24 - 1.5 * i, y, 0.8);
        draw_pad(&drawing, 2, y, 1.0, 0.4);
        out_fmt(&notes, "part TP%d testpoint on A at 2,%.2f\nnet N%d TP%d.1\n", i + 1, y, i + 1, i + 1);
    }
    Teardown t = {.arena = arena_new()};
    t.lore = lore_new(t.arena);
    lore_add_builtin(t.lore);
    t.kinds = bench_kinds_new(t.arena, t.lore), t.marks = marks_new(t.arena, t.lore),
    t.rules = reason_rules_new(t.arena, t.lore, t.kinds);
    t.notebook = note_read(t.arena, TEXT("notes.txt"), out_text(&notes));
    t.bench = bench_build(t.arena, t.notebook,
                          (BenchKnows){.kinds = t.kinds, .marks = t.marks, .folder = ".", .trace = trace_drawing});
    t.reasoning = reason_about(t.arena, t.bench, t.rules);
    BoardViewNets nets = draw_board_nets(t.arena, t.bench, TEXT("A"), BOARD_TOP);
    assert_int_equal(nets.count, NETS);
    for (uint32_t i = 0; i < NETS; i++) /* the longest track is the largest net */
        assert_true(text_is(t.bench->nets.at[nets.net[i]].name, text_cstring(t.arena, text_fmt(t.arena, "N%u", i + 1))));
    Text svg = board_svg(&t, BOARD_TOP);
    assert_true(holds(svg, "id=\"b-net-0\" class=\"b-copper b-c0 b-d0\" data-net=\"N1\""));
    assert_true(holds(svg, "class=\"b-copper b-c0 b-d1\" data-net=\"N8\"")); /* the same colour again, with dashes */
    assert_true(holds(svg, "data-ref=\"TP3\""));
    assert_int_equal(times(svg, "class=\"b-doubt\""), 1); /* what is as good as known is no doubt to a reader */
    assert_true(holds(svg, "joined with 50 %"));
    bench_free(t.bench);
    arena_free(t.arena);
    arena_free(paper);
}

/* ---- blocks ---- */

#define PUMP                                                                                                               \
    "part BT1 battery 4 x LR03\npart SW1 switch\npart U1 SOP-8 marked \"\"\npart Q1 npn\npart R1 1k\npart R2 10k\npart "   \
    "M1 motor\n"                                                                                                           \
    "part D1 diode\npart C1 100uF electrolytic\npart R5 330\npart D2 led-red\n"                                            \
    "net VBAT BT1.+ SW1.1\nnet VDD SW1.2 U1.1 M1.1 D1.K C1.+\nnet GND BT1.- U1.8 Q1.E R2.2 C1.- D2.K\n"                    \
    "join U1.5 R1.1\njoin R1.2 Q1.B R2.1\njoin Q1.C M1.2 D1.A\njoin U1.6 R5.1\njoin R5.2 D2.A\n"

typedef struct Box {
    double x, y, wide, high;
} Box;

static double number_after(Text text, const char *name) {
    size_t at = text_find(text, text_of(name));
    assert_true(at != SIZE_MAX);
    return strtod(text.at + at + strlen(name), NULL);
}

static void a_product_has_its_blocks_and_its_power_feeds_them(void **state) {
    (void)state;
    Teardown t = teardown_of(PUMP, NULL);
    Out out = out_new(t.arena), again = out_new(t.arena);
    Diags problems = diags_new(t.arena);
    BlocksAsked asked = {t.reasoning, NULL, TEXT("k"), false};
    assert_true(draw_blocks(&out, &asked, &problems) && draw_blocks(&again, &asked, &problems));
    Text svg = out_text(&out);
    assert_well_formed(svg, "a block diagram");
    assert_true(text_same(svg, out_text(&again)));
    static const char *const titles[] = {"Power", "Output", "Light"};
    for (size_t i = 0; i < sizeof titles / sizeof *titles; i++)
        assert_true(holds(svg, text_cstring(t.arena, text_fmt(t.arena, ">%s</text>", titles[i]))));
    assert_true(holds(svg, "Power (") && holds(svg, ") feeds Output (")); /* in words, for those who do not see it */
    assert_true(holds(svg, "data-claim=\"low-side-switch-bipolar:Q1\""));
    /* no box lies over another */
    Box box[64];
    uint32_t count = 0;
    for (Text rest = svg; count < 64;) {
        size_t at = text_find(rest, TEXT("<rect"));
        if (at == SIZE_MAX) break;
        rest = text_sub(rest, at + 1, rest.len);
        box[count++] = (Box){number_after(rest, " x=\""), number_after(rest, " y=\""), number_after(rest, " width=\""),
                             number_after(rest, " height=\"")};
    }
    assert_true(count >= 3);
    for (uint32_t a = 0; a < count; a++)
        for (uint32_t b = 0; b < a; b++)
            assert_true(box[a].x + box[a].wide <= box[b].x || box[b].x + box[b].wide <= box[a].x ||
                        box[a].y + box[a].high <= box[b].y || box[b].y + box[b].high <= box[a].y);
    teardown_end(&t);
}

static void fewer_than_two_blocks_are_no_diagram(void **state) {
    (void)state;
    Teardown t = teardown_of("part R1 1k\n", NULL);
    Out out = out_new(t.arena);
    Diags problems = diags_new(t.arena);
    BlocksAsked asked = {t.reasoning, NULL, TEXT("k"), false};
    assert_false(draw_blocks(&out, &asked, &problems));
    assert_int_equal(out.len, 0);
    assert_true(problems.list.count == 1 && holds(problems.list.at[0].message, "fewer than two"));
    teardown_end(&t);
}

/* ---- whatever the notes ---- */

static const char *const TEXTS[] = {"<script>alert(1)</script>",
                                    "&amp;&lt;",
                                    "]]>--><!--",
                                    "\xE2\x80\xAEgnp.exe",
                                    "WWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWW",
                                    "'><svg onload=x>",
                                    "\xE2\x81\xA7rtl\xE2\x81\xA9",
                                    "=1+1",
                                    "\xF0\x9F\x94\x8B",
                                    "a\xCC\x81\xCC\x81\xCC\x81\xCC\x81",
                                    "javascript:x",
                                    "%s%n"};
enum { TEXT_COUNT = sizeof TEXTS / sizeof *TEXTS, ROUNDS = 60 };

static uint32_t next_random(uint32_t *state,
                            uint32_t below) { /* Numerical Recipes' quick one (Press et al., from memory) */
    *state = *state * 1664525u + 1013904223u;
    return (*state >> 8) % below;
}

/* Parts of all sorts, joined by lot, read by lot, placed by lot; every text means mischief. */
static Text mischief(Arena *arena, uint32_t seed) {
    static const char *const parts[] = {"R 1k 2",      "C 100nF 2", "D diode 2",    "D led-red 2", "Q npn 3",
                                        "Q pmos 3",    "M motor 2", "U opamp 5",    "U SOP-8 8",   "BT battery 2 x LR6 2",
                                        "SW switch 2", "L 47uH 2",  "J connector 4"};
    static const char *const pins[][8] = {{"1", "2"}, {"A", "K"}, {"B", "C", "E"}, {"G", "D", "S"}};
    uint32_t random = seed * 2654435761u + 1, count = 2 + next_random(&random, 24), nets = 2 + next_random(&random, count);
    Out out = out_new(arena), *net = arena_many(arena, Out, nets);
    out_fmt(&out, "product \"%s\" household\nboard A %u x %u mm\nstep 1 \"%s\" with \"%s\"\n",
            TEXTS[next_random(&random, TEXT_COUNT)], 1 + next_random(&random, 300), 1 + next_random(&random, 300),
            TEXTS[next_random(&random, TEXT_COUNT)], TEXTS[next_random(&random, TEXT_COUNT)]);
    for (uint32_t n = 0; n < nets; n++) {
        net[n] = out_new(arena);
        out_fmt(&net[n], n == 0 ? "net GND" : n == 1 ? "net V<b>&%u" : "join", seed);
    }
    for (uint32_t i = 0; i < count; i++) {
        char letters[4] = "", words[32] = "";
        unsigned pin_count = 2;
        const char *wild = parts[next_random(&random, sizeof parts / sizeof *parts)];
        size_t space = strcspn(wild, " ");
        snprintf(letters, sizeof letters, "%.*s", (int)space, wild);
        snprintf(words, sizeof words, "%.*s", (int)(strlen(wild) - space - 3), wild + space + 1);
        pin_count = (unsigned)(wild[strlen(wild) - 1] - '0');
        out_fmt(&out, "part %s%u %s on A at %u,%u \"%s\"\n", letters, i, words, next_random(&random, 300),
                next_random(&random, 300), TEXTS[next_random(&random, TEXT_COUNT)]);
        for (unsigned p = 0; p < pin_count; p++) {
            const char *name = letters[0] == 'D'   ? pins[1][p]
                               : letters[0] == 'Q' ? pins[strstr(words, "mos") != NULL ? 3 : 2][p]
                                                   : NULL;
            Out *to = &net[next_random(&random, nets)];
            if (name != NULL)
                out_fmt(to, " %s%u.%s", letters, i, name);
            else
                out_fmt(to, " %s%u.%s", letters, i,
                        letters[0] == 'B' ? (p == 0 ? "+" : "-") : (char[]){(char)('1' + p), '\0'});
        }
        if (next_random(&random, 3) == 0)
            out_fmt(&out, "read v(%s%u.1) = %u.%u V in m<i>&%u\n", letters, i, next_random(&random, 12),
                    next_random(&random, 10), i % 3);
        if (next_random(&random, 5) == 0)
            out_fmt(&out, "mark A at %u,%u \"%s\"\n", next_random(&random, 400), next_random(&random, 400),
                    TEXTS[next_random(&random, TEXT_COUNT)]);
    }
    for (uint32_t m = 0; m < 3; m++)
        out_fmt(&out, "mode m<i>&%u \"%s\"\nduty m<i>&%u %u %%\n", m, TEXTS[next_random(&random, TEXT_COUNT)], m,
                1 + next_random(&random, 30));
    for (uint32_t n = 0; n < nets; n++) {
        out_add(&out, out_text(&net[n]));
        out_char(&out, '\n');
    }
    return out_text(&out);
}

static void draw_everything(Teardown *t, const Sums *sums, const char *what) {
    Diags problems = diags_new(t->arena);
    SchematicAsked asked = {.reasoning = t->reasoning};
    const Schematic *schematic = schematic_draw(t->arena, &asked);
    for (uint32_t s = 0; s < schematic->sheets.count; s++) {
        Out out = out_new(t->arena);
        schematic_svg(&out, schematic, s, TEXT("s"));
        assert_well_formed(out_text(&out), what);
    }
    Out svg[6];
    for (size_t i = 0; i < 6; i++) svg[i] = out_new(t->arena);
    BlocksAsked blocks = {t->reasoning, sums, TEXT("k"), true};
    PlotAsked plot = {.sums = sums, .id = TEXT("p"), .alone = true};
    draw_blocks(&svg[0], &blocks, &problems);
    draw_currents(&svg[1], &plot), draw_battery(&svg[2], &plot, 0), draw_ranges(&svg[3], &plot);
    for (BoardSide side = 0; side < BOARD_SIDES; side++)
        draw_board(&svg[4 + side], &(BoardView){t->reasoning, TEXT("A"), side, TEXT(""), TEXT("b"), true});
    for (size_t i = 0; i < 6; i++)
        if (svg[i].len > 0) assert_well_formed(out_text(&svg[i]), what);
    assert_true(svg[4].len > 0);
    Out page = out_new(t->arena), show = out_new(t->arena);
    report_html(&page, t->reasoning, sums, false, &problems);
    report_show(&show, t->reasoning, sums, false, &problems);
    static const char *const never[] = {"<script>alert", "<svg onload", "<i>", "<b>", "<!--", "\xE2\x80\xAE"};
    for (size_t i = 0; i < sizeof never / sizeof *never; i++)
        if (holds(out_text(&page), never[i]) || holds(out_text(&show), never[i]))
            fail_msg("%s: %s in a page", what, never[i]);
}

static void notes_that_mean_mischief_are_drawn_well_formed(void **state) {
    (void)state;
    uint32_t solved = 0;
    for (uint32_t seed = 1; seed <= ROUNDS; seed++) {
        Arena *arena = arena_new();
        char what[64];
        snprintf(what, sizeof what, "mischief %u", seed);
        Teardown t = teardown_of(text_cstring(arena, mischief(arena, seed)), NULL);
        const Sums *sums = sums_about(t.arena, t.reasoning, sums_models_new(t.arena, t.lore, t.kinds), (SumsEffort){0});
        for (uint32_t m = 0; m < sums->modes.count; m++) solved += sums->modes.at[m].solved;
        draw_everything(&t, sums, what);
        teardown_end(&t);
        arena_free(arena);
    }
    assert_true(solved > ROUNDS / 4); /* else there was nothing to plot */
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_reader_of_svg_knows_right_from_wrong),
        cmocka_unit_test(a_part_stands_where_it_is_and_mirrored_on_the_other_side),
        cmocka_unit_test(without_a_size_there_is_no_board_to_draw),
        cmocka_unit_test(callouts_are_numbered_on_their_own_side),
        cmocka_unit_test(nets_differ_by_colour_and_by_dash_the_largest_first),
        cmocka_unit_test(a_product_has_its_blocks_and_its_power_feeds_them),
        cmocka_unit_test(fewer_than_two_blocks_are_no_diagram),
        cmocka_unit_test(notes_that_mean_mischief_are_drawn_well_formed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
