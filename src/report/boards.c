/* What is told of a board's copper: how it was read, its figures, and where mains comes near. Widths carry what IPC-2221
 * lets them at the thickness and the rise that are usual (export.h). */
#include "report/words.h"

#include "copper/export.h"

#include <math.h>

static void say(Arena *arena, StoryTexts *texts, const char *format, ...) __attribute__((format(printf, 3, 4)));
static void say(Arena *arena, StoryTexts *texts, const char *format, ...) {
    va_list args;
    va_start(args, format);
    list_push(arena, texts, text_vfmt(arena, format, args));
    va_end(args);
}

static const char *plural(uint32_t count) { return count == 1 ? "" : "s"; }

static const char *side_word(BoardSide side) { return side == BOARD_TOP ? "top" : "bottom"; }

double story_board_ampere(double width_mm) {
    return copper_ipc2221_ampere(width_mm, EXPORT_THICKNESS_MM, EXPORT_RISE_KELVIN, true);
}

/* ---- how it was read ---- */

static void say_faces(Arena *arena, const BenchBoard *board, StoryBoard *story) {
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        const BoardFace *face = &board->copper.face[side];
        if (!face->known) continue;
        const NotePhoto *photo = board->photo[side]->photo;
        say(arena, &story->says, "Its %s is read from the photo %.*s (line %u).", side_word(side), TEXT_ARG(photo->file),
            board->photo[side]->line);
        if (photo->has_corners) continue;
        Out line = out_new(arena);
        out_fmt(&line, "photo %.*s %s ", TEXT_ARG(board->name), side_word(side));
        note_file_print(&line, photo->file);
        out_lit(&line, " corners");
        for (int i = 0; i < 4; i++) out_fmt(&line, " %.0f,%.0f", face->corners[i].x, face->corners[i].y);
        say(arena, &story->says, "Its corners there were found, not given (%.*s sure).",
            TEXT_ARG(words_probability(arena, face->corners_sure)));
        list_push(arena, &story->corners, out_text(&line));
    }
    const BoardFit *fit = &board->copper.fit;
    if (fit->holes >= BOARD_FIT_HOLES)
        say(arena, &story->says, "Both photos agree at %u holes within %.2f mm, %.2f mm at most.", fit->holes, fit->mean,
            fit->most);
}

/* ---- figures ---- */

static void count_pads(const Bench *bench, uint32_t number, StoryBoard *story) {
    for (uint32_t i = 0; i < bench->pads.count; i++) {
        const BenchPad *pad = &bench->pads.at[i];
        if (pad->board != number || (i > 0 && pad[-1].pin == pad->pin && pad[-1].note == pad->note))
            continue; /* both sides */
        story->placed++;
        story->landed += pad->meets == BENCH_MEETS_ONE;
    }
}

static void say_figures(Arena *arena, const BoardCopper *copper, StoryBoard *story) {
    uint32_t pads = 0;
    for (uint32_t i = 0; i < copper->nets.count; i++) pads += copper->nets.at[i].pads;
    say(arena, &story->says,
        "It has %u net%s of copper, %u pad%s and %u hole%s; %.0f mm² are copper. Of %u placed pin%s %u meet%s one net.",
        copper->nets.count, plural(copper->nets.count), pads, plural(pads), copper->holes.count,
        plural(copper->holes.count), copper->area, story->placed, plural(story->placed), story->landed,
        story->landed == 1 ? "s" : "");
    if (copper->narrowest > 0)
        say(arena, &story->says,
            "Its narrowest way between two pads is %.2f mm at %.1f,%.1f: by IPC-2221 that carries %.1f A when it may get "
            "%.0f K warmer, if the copper is %.0f µm thick.",
            copper->narrowest, copper->narrowest_at.x, copper->narrowest_at.y, story_board_ampere(copper->narrowest),
            EXPORT_RISE_KELVIN, EXPORT_THICKNESS_MM * 1000);
    if (copper->gap_least > 0)
        say(arena, &story->says, "The smallest gap between two nets is %.2f mm at %.1f,%.1f.", copper->gap_least,
            copper->gap_at.x, copper->gap_at.y);
    if (copper->doubts.count > 0)
        say(arena, &story->says, "%u place%s of it %s in doubt; what matters of them is asked below.", copper->doubts.count,
            plural(copper->doubts.count), copper->doubts.count == 1 ? "is" : "are");
}

/* ---- mains ---- */

/* Of each net of a face: 1 when it hangs on mains, 2 when it is a net of the bench that is not known to. */
static unsigned char *isolation_sides(Arena *arena, const BenchBoard *board, const BoardFace *face, const bool *mains) {
    unsigned char *sides = arena_many(arena, unsigned char, face->copper.nets.count + 1);
    for (uint32_t i = 1; i <= face->copper.nets.count; i++) {
        uint32_t net = board->net[face->net[i]];
        if (net != BENCH_NONE) sides[i] = mains[net] ? 1 : 2;
    }
    return sides;
}

static void say_mains(Arena *arena, const Reasoning *reasoning, const BenchBoard *board, StoryBoard *story) {
    story->mains_gap = INFINITY;
    if (reasoning->mains == NULL) return;
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        const BoardFace *face = &board->copper.face[side];
        if (!face->known) continue;
        PlacePoint at;
        double gap = copper_gap_between(&face->copper, isolation_sides(arena, board, face, reasoning->mains), &at);
        if (!(gap < story->mains_gap)) continue;
        story->mains_gap = gap, story->mains_gap_side = side;
        story->mains_gap_at = board_from_face(&board->copper, side, at);
    }
    if (isinf(story->mains_gap)) return;
    say(arena, &story->warns,
        "Copper at mains comes within %.2f mm of copper that is not known to be, at %.1f,%.1f on the %s. Whether that is "
        "enough depends on the voltage, the material and the dirt (IEC 60664-1); local codes and licensed practice decide.",
        story->mains_gap, story->mains_gap_at.x, story->mains_gap_at.y, side_word(story->mains_gap_side));
    say(arena, &story->warns,
        "Nets that nobody has joined yet may be at mains too: unplug it, wait, and check that nothing is left "
        "before you touch or measure.");
}

void story_boards(Arena *arena, const Reasoning *reasoning, Story *story) {
    const Bench *bench = reasoning->bench;
    for (uint32_t i = 0; i < bench->photographed.count; i++) {
        const BenchBoard *board = &bench->photographed.at[i];
        if (board->net == NULL || (!board->copper.face[BOARD_TOP].known && !board->copper.face[BOARD_BOTTOM].known))
            continue;
        StoryBoard *told = list_add(arena, &story->boards);
        told->board = board;
        told->title = text_fmt(arena, "Board %.*s, %.*s", TEXT_ARG(board->name), TEXT_ARG(board->note->board->size));
        count_pads(bench, i, told);
        say_faces(arena, board, told);
        say_figures(arena, &board->copper, told);
        say_mains(arena, reasoning, board, told);
    }
}
