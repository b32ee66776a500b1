/* bench: what a photo of the copper adds to the notes. The copper is drawn here, traced by the program, and looked up under
 * pins that notes place. Packages' measures come from the lore. */
#include "tests/copper_draw.h"
#include "tests/teardown.h"

#include <stdlib.h>
#include <string.h>

/* ---- a drawn board in the place of a photographed one ---- */

static Layers drawing;
static Arena *paper;
static BoardSide drawn_side;

/* As board_trace would, from the drawing: one side, seen from the top or mirrored. */
static bool trace_drawing(Arena *arena, const BoardAsked *asked, BoardCopper *board, Diags *problems) {
    static const double same[9] = {1, 0, 0, 0, 1, 0, 0, 0, 1};
    (void)problems;
    *board = (BoardCopper){.width_mm = asked->width_mm, .height_mm = asked->height_mm};
    BoardFace *face = &board->face[drawn_side];
    memcpy(face->to_top, same, sizeof same), memcpy(face->from_top, same, sizeof same);
    const BoardFaceAsked *told = &asked->face[drawn_side];
    CopperWord *words = arena_many(arena, CopperWord, told->word_count);
    for (size_t i = 0; i < told->word_count; i++) {
        PlacePoint *at = arena_many(arena, PlacePoint, told->words[i].count);
        for (uint32_t k = 0; k < told->words[i].count; k++) at[k] = board_to_face(board, drawn_side, told->words[i].at[k]);
        words[i] = told->words[i], words[i].at = at;
    }
    assert_true(copper_trace(arena, &drawing, words, told->word_count, &face->copper));
    face->known = true, face->corners_sure = 0.9;
    face->unseen = calloc(1, (size_t)drawing.width * drawing.height);
    memcpy(face->unseen, drawing.at[LAYER_UNSEEN], (size_t)drawing.width * drawing.height);
    face->net = arena_many(arena, uint32_t, face->copper.nets.count + 1);
    for (uint32_t i = 1; i <= face->copper.nets.count; i++) {
        face->net[i] = i;
        list_push(arena, &board->nets, ((BoardNet){0}));
    }
    for (uint32_t i = 0; i < face->copper.doubts.count; i++) {
        const CopperDoubt *doubt = &face->copper.doubts.at[i];
        list_push(arena, &board->doubts,
                  ((BoardDoubt){.at = board_from_face(board, drawn_side, doubt->at),
                                .side = drawn_side,
                                .joined = doubt->joined,
                                .p_joined = doubt->p_joined,
                                .width = doubt->width,
                                .looks = doubt->looks,
                                .a = board_from_face(board, drawn_side, doubt->a),
                                .b = board_from_face(board, drawn_side, doubt->b),
                                .side_a = drawn_side,
                                .side_b = drawn_side,
                                .net_a = doubt->net_a,
                                .net_b = doubt->net_b}));
    }
    for (uint32_t i = 0; i < face->copper.conflicts.count; i++)
        list_push(arena, &board->conflicts,
                  ((BoardConflict){board_from_face(board, drawn_side, face->copper.conflicts.at[i].at), drawn_side,
                                   face->copper.conflicts.at[i].says, face->copper.conflicts.at[i].line}));
    return true;
}

static const double WIDTH = 30, HEIGHT = 16;

static void start(BoardSide side) {
    drawn_side = side;
    paper = arena_new();
    drawing = draw_layers(paper, 20, WIDTH, HEIGHT);
}

/* The teardown of these notes and the drawing. */
static Teardown seen(const char *notes) {
    Teardown t = {.arena = arena_new()};
    Diags problems = diags_new(t.arena);
    t.lore = lore_new(t.arena);
    lore_add_builtin(t.lore);
    t.kinds = bench_kinds_new(t.arena, t.lore), t.marks = marks_new(t.arena, t.lore);
    t.shelf = shelf_open(t.arena, t.lore, NULL, &problems);
    t.rules = reason_rules_new(t.arena, t.lore, t.kinds);
    t.notebook = note_read(
        t.arena, TEXT("notes.txt"),
        text_fmt(t.arena, "board A 30 x 16 mm\nphoto A %s a.png\n%s", drawn_side == BOARD_TOP ? "top" : "bottom", notes));
    assert_int_equal(t.notebook->problems.list.count, 0);
    BenchKnows knows = {.kinds = t.kinds, .marks = t.marks, .shelf = t.shelf, .folder = ".", .trace = trace_drawing};
    t.bench = bench_build(t.arena, t.notebook, knows);
    t.reasoning = reason_about(t.arena, t.bench, t.rules);
    return t;
}

static void end(Teardown *t) {
    bench_free(t->bench);
    teardown_end(t);
}

static void stop(void) { arena_free(paper); }

static uint32_t pin(const Teardown *t, const char *part, const char *label) {
    uint32_t number = bench_part(t->bench, text_of(part));
    assert_int_not_equal(number, BENCH_NONE);
    number = bench_pin(t->bench, number, text_of(label));
    if (number == BENCH_NONE) fail_msg("%s has no pin %s", part, label);
    return number;
}

static bool joined(const Teardown *t, const char *part_a, const char *a, const char *part_b, const char *b) {
    return t->bench->pins.at[pin(t, part_a, a)].net == t->bench->pins.at[pin(t, part_b, b)].net;
}

static BenchChain chain(const Teardown *t, const char *part_a, const char *a, const char *part_b, const char *b) {
    BenchChain chain;
    uint32_t lines[16];
    assert_true(bench_chain(t->bench, pin(t, part_a, a), pin(t, part_b, b), lines, 16, &chain) > 0);
    return chain;
}

static const BenchAsk *ask_with(const Teardown *t, const char *words) {
    for (uint32_t i = 0; i < t->bench->asks.count; i++)
        if (text_find(t->bench->asks.at[i].says, text_of(words)) != SIZE_MAX) return &t->bench->asks.at[i];
    return NULL;
}

static void assert_says(Text text, const char *words) {
    if (text_find(text, text_of(words)) == SIZE_MAX) fail_msg("\"%.*s\" does not say \"%s\"", TEXT_ARG(text), words);
}

/* Pads of an 0805 whose centre is at x,y: two, 1.6 mm apart (half of what its terminals leave of 2 mm, lore). */
static void draw_chip(double x, double y) {
    draw_pad(&drawing, x - 0.8, y, 0.9, 0);
    draw_pad(&drawing, x + 0.8, y, 0.9, 0);
}

/* Two resistors in a row, the right pad of the first joined to the left of the second. */
static void draw_row(BoardSide side) {
    start(side);
    double mirror = side == BOARD_BOTTOM ? -1 : 1, origin = side == BOARD_BOTTOM ? WIDTH : 0;
    draw_chip(origin + mirror * 6, 5), draw_chip(origin + mirror * 14, 5);
    draw_track(&drawing, origin + mirror * 6.8, 5, origin + mirror * 13.2, 5, 0.4);
}

/* ---- what the photo joins ---- */

static void pins_on_one_track_are_one_net(void **state) {
    (void)state;
    draw_row(BOARD_TOP);
    Teardown t = seen("part R1 0805 on A at 6,5\npart R2 0805 on A at 14,5\n");
    assert_true(joined(&t, "R1", "2", "R2", "1"));
    assert_false(joined(&t, "R1", "1", "R2", "2"));
    assert_false(joined(&t, "R1", "1", "R1", "2"));
    BenchChain weakest = chain(&t, "R1", "2", "R2", "1");
    assert_int_equal(weakest.weakest_by, NOTE_BY_PHOTO);
    assert_int_equal(weakest.weakest_line, 2);
    assert_near(weakest.weakest, bench_source_trust(t.kinds, NOTE_BY_PHOTO));
    assert_int_equal(t.bench->asks.count, 0);
    assert_int_equal(t.bench->problems.list.count, 0);
    assert_int_equal(t.bench->conflicts.count, 0);
    end(&t), stop();
}

static void a_bottom_is_seen_mirrored(void **state) {
    (void)state;
    draw_row(BOARD_BOTTOM);
    Teardown t = seen("part R1 0805 on A bottom at 6,5\npart R2 0805 at 14,5\n"); /* R2: where the only photo is */
    /* turned over about the upright axis: pin 1, on the left as the bottom is seen, is on the right from the top */
    assert_true(joined(&t, "R1", "1", "R2", "2"));
    assert_false(joined(&t, "R1", "2", "R2", "1"));
    end(&t), stop();
}

static void notes_and_photo_make_one_net_together(void **state) {
    (void)state;
    draw_row(BOARD_TOP);
    Teardown t = seen("part R1 0805 on A at 6,5\npart R2 0805 on A at 14,5\npart M1 motor\njoin M1.1 10,5 on A by meter\n"
                      "net VBAT 5.2,5 on A by meter\n");
    assert_true(joined(&t, "M1", "1", "R2", "1"));
    assert_int_equal(bench_net(t.bench, TEXT("VBAT")), t.bench->pins.at[pin(&t, "R1", "1")].net);
    end(&t), stop();
}

/* R1 and R2 are placed by their centres, so that their pins are told by what the notes join: to U1, which is not placed. */
static void a_part_that_fits_either_way_is_told_by_the_notes(void **state) {
    (void)state;
    draw_row(BOARD_TOP);
    draw_pad(&drawing, 3, 5, 1, 0);
    draw_track(&drawing, 3, 5, 5.2, 5, 0.4); /* a test point on the left pad of R1 */
    const char *placed = "part R1 0805 on A at 6,5\npart R2 0805 on A at 14,5\npart TP1 testpoint on A at 3,5\n";
    Teardown t = seen(placed);
    assert_true(joined(&t, "TP1", "1", "R1", "1"));
    end(&t);
    t = seen(text_fmt(paper, "%sjoin R1.2 TP1.1 by meter\n", placed).at);
    assert_true(joined(&t, "TP1", "1", "R1", "2"));
    assert_true(joined(&t, "R1", "1", "R2", "1"));
    assert_int_equal(t.bench->conflicts.count, 0);
    end(&t), stop();
}

static void two_pins_turn_a_part_and_check_its_outline(void **state) {
    (void)state;
    start(BOARD_TOP);
    for (int i = 0; i < 4; i++) { /* SOP-8: 1.27 mm pitch, rows 5.2 mm apart here; standing on its head */
        draw_pad(&drawing, 10 + 1.27 * i, 4, 0.8, 0);
        draw_pad(&drawing, 10 + 1.27 * i, 9.2, 0.8, 0);
    }
    draw_track(&drawing, 10 + 1.27, 4, 10 + 1.27, 9.2, 0.3); /* pins 2 and 7 */
    /* pins 1..4 along the lower row from left to right: the package lies turned by a quarter, anticlockwise */
    Teardown t = seen("part U1 SOP-8 on A pin 1 at 10,9.2 pin 5 at 13.81,4\n");
    assert_int_equal(t.bench->problems.list.count, 0);
    assert_true(joined(&t, "U1", "2", "U1", "7"));
    assert_false(joined(&t, "U1", "1", "U1", "8"));
    end(&t);
    t = seen("part U1 SOP-8 on A pin 1 at 10,9.2 pin 5 at 15.5,2\n");
    assert_int_equal(t.bench->problems.list.count, 1);
    assert_says(t.bench->problems.list.at[0].message, "pins 1 and 5 are 9.06 mm apart here, but");
    assert_int_equal(t.bench->problems.list.at[0].place.line, 3);
    end(&t), stop();
}

/* ---- doubts ---- */

/* The track has a faint stretch in its middle, hardly likelier copper than not. */
static void draw_faint(double sure) {
    draw_row(BOARD_TOP);
    draw_line(&drawing, LAYER_COPPER, 9.9, 4.5, 9.9, 5.5, 0.15, sure, false);
}

static void a_doubtful_neck_is_the_weakest_joint_and_a_question(void **state) {
    (void)state;
    draw_faint(0.6);
    Teardown t = seen("part R1 0805 on A at 6,5\npart R2 0805 on A at 14,5\n");
    assert_true(joined(&t, "R1", "2", "R2", "1"));
    BenchChain weakest = chain(&t, "R1", "2", "R2", "1");
    assert_true(weakest.weakest < 0.99 * bench_source_trust(t.kinds, NOTE_BY_PHOTO));
    const BenchStep *step = &t.bench->steps.at[weakest.weakest_step];
    assert_true(fabs(step->at.x - 9.9) < 0.5 && fabs(step->at.y - 5) < 0.5);
    const BenchAsk *ask = ask_with(&t, "Beep R1.2 to R2.1");
    if (ask == NULL) ask = ask_with(&t, "Beep R2.1 to R1.2");
    assert_non_null(ask);
    assert_says(ask->says, "on the top of board A");
    end(&t);
    t = seen("part R1 0805 on A at 6,5\npart R2 0805 on A at 14,5\njoin R1.2 R2.1 by meter\n"); /* answered */
    assert_int_equal(t.bench->asks.count, 0);
    assert_int_equal(chain(&t, "R1", "2", "R2", "1").weakest_by, NOTE_BY_METER);
    end(&t), stop();
}

static void a_doubtful_gap_is_a_question_until_a_note_answers(void **state) {
    (void)state;
    draw_faint(0.4);
    const char *placed =
        "part R1 0805 on A pin 1 at 5.2,5 pin 2 at 6.8,5\npart R2 0805 on A pin 1 at 13.2,5 pin 2 at 14.8,5\n";
    Teardown t = seen(placed);
    assert_false(joined(&t, "R1", "2", "R2", "1"));
    assert_non_null(ask_with(&t, "Beep R"));
    end(&t);
    t = seen(text_fmt(paper, "%sapart R1.2 R2.1 by meter\n", placed).at);
    assert_false(joined(&t, "R1", "2", "R2", "1"));
    assert_null(ask_with(&t, "Beep R"));
    end(&t);
    t = seen(text_fmt(paper, "%sjoin 8,5 12,5 on A by meter\n", placed).at); /* by places, not pins */
    assert_true(joined(&t, "R1", "2", "R2", "1"));
    assert_null(ask_with(&t, "Beep R"));
    end(&t), stop();
}

/* ---- meter beats eye, eye beats photo ---- */

static void apart_by_a_meter_splits_the_copper_and_all_that_hangs_on_it(void **state) {
    (void)state;
    draw_row(BOARD_TOP);
    draw_pad(&drawing, 8, 9, 1, 0), draw_pad(&drawing, 12, 9, 1, 0); /* two test points, one on each half of the track */
    draw_track(&drawing, 8, 5, 8, 9, 0.4), draw_track(&drawing, 12, 5, 12, 9, 0.4);
    draw_line(&drawing, LAYER_COPPER, 10, 4.7, 10, 4.9, 0.3, 0.2, false); /* the narrowest place: between them */
    const char *placed =
        "part R1 0805 on A pin 1 at 5.2,5 pin 2 at 6.8,5\npart R2 0805 on A pin 1 at 13.2,5 pin 2 at 14.8,5\n"
        "part TP1 testpoint on A at 8,9\npart TP2 testpoint on A at 12,9\n";
    Teardown t = seen(placed);
    assert_true(joined(&t, "TP1", "1", "TP2", "1"));
    end(&t);
    t = seen(text_fmt(paper, "%sapart R1.2 R2.1 by meter\n", placed).at);
    assert_false(joined(&t, "R1", "2", "R2", "1"));
    assert_true(joined(&t, "R1", "2", "TP1", "1")); /* nobody said so: the copper was split in the right place */
    assert_true(joined(&t, "R2", "1", "TP2", "1"));
    assert_false(joined(&t, "TP1", "1", "TP2", "1"));
    end(&t), stop();
}

/* M1 and M2 have no place: the copper can't be told, but the photo's join is not taken, and the conflict names the place.
 */
static void apart_of_pins_without_a_place_overrules_the_photo(void **state) {
    (void)state;
    draw_faint(0.6);
    Teardown t = seen("part R1 0805 on A at 6,5\npart R2 0805 on A at 14,5\npart M1 motor\npart M2 motor\n"
                      "join M1.1 R1.2 by meter\njoin M2.1 R2.1 by meter\napart M1.1 M2.1 by meter\n");
    assert_false(joined(&t, "M1", "1", "M2", "1"));
    assert_int_equal(t.bench->conflicts.count, 1);
    const BenchConflict *conflict = &t.bench->conflicts.at[0];
    assert_int_equal(conflict->kind, BENCH_PHOTO_AND_NOTES);
    assert_says(conflict->says, "apart by line 9");
    assert_says(conflict->says, "on the top of board A");
    assert_true(conflict->line_count == 2 && conflict->lines[0] == 2 && conflict->lines[1] == 9);
    end(&t), stop();
}

static void a_photo_makes_no_net_with_two_names(void **state) {
    (void)state;
    draw_row(BOARD_TOP);
    Teardown t =
        seen("part R1 0805 on A at 6,5\npart R2 0805 on A at 14,5\nnet VCC R1.2 by meter\nnet OUT R2.1 by meter\n");
    assert_int_not_equal(bench_net(t.bench, TEXT("VCC")), bench_net(t.bench, TEXT("OUT")));
    assert_int_equal(t.bench->conflicts.count, 1);
    assert_int_equal(t.bench->conflicts.at[0].kind, BENCH_PHOTO_AND_NOTES);
    end(&t), stop();
}

static void a_guess_says_less_than_a_photo(void **state) {
    (void)state;
    draw_row(BOARD_TOP);
    Teardown t = seen("part R1 0805 on A at 6,5\npart R2 0805 on A at 14,5\napart R1.2 R2.1 by guess\n");
    assert_true(joined(&t, "R1", "2", "R2", "1"));
    assert_int_equal(t.bench->conflicts.at[0].kind, BENCH_JOINED_AND_APART); /* and it is shown */
    end(&t), stop();
}

/* ---- pins that meet nothing, or too much ---- */

static void a_pin_off_the_copper_is_asked_about(void **state) {
    (void)state;
    draw_row(BOARD_TOP);
    Teardown t = seen("part R1 0805 on A at 6,9\npart R2 0805 on A at 14,5\n");
    const BenchAsk *ask = ask_with(&t, "Where is R1?");
    assert_non_null(ask);
    assert_says(ask->says, "no copper");
    assert_says(ask->says, "place it again");
    assert_int_equal(ask->line, 3);
    end(&t);
    draw_track(&drawing, 20, 12, 26, 12, 0.4), draw_track(&drawing, 20, 12.6, 26, 12.6, 0.4);
    t = seen("part R1 0805 on A at 6,5\npart TP1 testpoint on A at 23,12.3\n"); /* between two tracks */
    assert_non_null(ask_with(&t, "two nets at once"));
    end(&t);
    draw_line(&drawing, LAYER_UNSEEN, 14, 5, 14, 5, 4, 1, true);
    draw_line(&drawing, LAYER_COPPER, 14, 5, 14, 5, 4, 0, false);
    t = seen("part R2 0805 on A at 14,5\npart D1 on A at 20,5\n");
    assert_non_null(ask_with(&t, "what the photo does not show"));
    assert_non_null(ask_with(&t, "part D1 pin A at X,Y pin K at X,Y"));
    end(&t), stop();
}

static void a_board_without_size_or_file_is_a_problem_with_its_line(void **state) {
    (void)state;
    Teardown t = teardown_of("mode a\n", NULL);
    Notebook *book =
        note_read(t.arena, TEXT("notes.txt"),
                  TEXT("board A FR4\nphoto A top a.png\nboard B 3x4 mm\nphoto B top no-such-photo.png\ncut B at 1,2\n"
                       "cut C at 1,2\n"));
    Bench *bench = bench_build(t.arena, book, (BenchKnows){.kinds = t.kinds, .folder = "."});
    assert_int_equal(bench->problems.list.count, 3);
    assert_int_equal(bench->problems.list.at[0].place.line, 2);
    assert_says(bench->problems.list.at[0].message, "how large");
    assert_says(bench->problems.list.at[0].expected, "board A 46.5 x 21.0 mm");
    assert_int_equal(bench->problems.list.at[1].place.line, 6);
    assert_says(bench->problems.list.at[1].message, "no photo shows the copper of this board");
    assert_int_equal(bench->problems.list.at[2].place.line, 4);
    assert_says(bench->problems.list.at[2].message, "no-such-photo.png");
    bench_free(bench);
    teardown_end(&t);
}

/* ---- evidence and safety ---- */

static void why_names_the_board_the_place_and_the_neck(void **state) {
    (void)state;
    draw_faint(0.6);
    Teardown t =
        seen("part R1 0805 100k on A at 6,5\npart R2 0805 100k on A at 14,5\npart BT1 battery 2 x LR6\n"
             "net VBAT BT1.+ R1.1 by meter\nnet GND BT1.- R2.2 by meter\npart U1 SOP-8\njoin U1.3 R1.2 by meter\n");
    bool named = false;
    for (uint32_t i = 0; i < t.reasoning->claims.count; i++)
        for (uint32_t k = 0; k < t.reasoning->claims.at[i].because_count; k++) {
            const ReasonBecause *because = &t.reasoning->claims.at[i].because[k];
            if (text_find(because->says, TEXT("by photo: ")) == SIZE_MAX) continue;
            named = true;
            assert_says(because->says, "on the top of board A");
            assert_says(because->says, "mm");
            assert_int_equal(because->lines[0], 2);
        }
    assert_true(named); /* a divider rests on the neck */
    end(&t), stop();
}

static void mains_hangs_together_but_for_what_isolates(void **state) {
    (void)state;
    Teardown t = teardown_of(
        "part P1 mains-inlet\npart F1 fuse\npart T1 transformer\npart R9 1k\npart OK1 opto\n"
        "join P1.L F1.1\njoin F1.2 T1.P1 R9.1\njoin P1.N T1.P2\njoin R9.2 OK1.A\njoin T1.S1 R8.1\njoin OK1.E R8.2\n",
        NULL);
    assert_non_null(t.reasoning->mains);
    assert_true(t.reasoning->mains[bench_net(t.bench, TEXT("T1.P1"))]);
    assert_true(t.reasoning->mains[bench_net(t.bench, TEXT("OK1.A"))]);
    assert_false(t.reasoning->mains[bench_net(t.bench, TEXT("T1.S1"))]);
    assert_false(t.reasoning->mains[bench_net(t.bench, TEXT("OK1.E"))]);
    teardown_end(&t);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pins_on_one_track_are_one_net),
        cmocka_unit_test(a_bottom_is_seen_mirrored),
        cmocka_unit_test(notes_and_photo_make_one_net_together),
        cmocka_unit_test(a_part_that_fits_either_way_is_told_by_the_notes),
        cmocka_unit_test(two_pins_turn_a_part_and_check_its_outline),
        cmocka_unit_test(a_doubtful_neck_is_the_weakest_joint_and_a_question),
        cmocka_unit_test(a_doubtful_gap_is_a_question_until_a_note_answers),
        cmocka_unit_test(apart_by_a_meter_splits_the_copper_and_all_that_hangs_on_it),
        cmocka_unit_test(apart_of_pins_without_a_place_overrules_the_photo),
        cmocka_unit_test(a_photo_makes_no_net_with_two_names),
        cmocka_unit_test(a_guess_says_less_than_a_photo),
        cmocka_unit_test(a_pin_off_the_copper_is_asked_about),
        cmocka_unit_test(a_board_without_size_or_file_is_a_problem_with_its_line),
        cmocka_unit_test(why_names_the_board_the_place_and_the_neck),
        cmocka_unit_test(mains_hangs_together_but_for_what_isolates),
    };
    return cmocka_run_group_tests_name("bench, photos", tests, NULL, NULL);
}
