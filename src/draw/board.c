/* The view as a whole: the layers from the photo up, and what stands between them. */
#include "draw/board_inside.h"

#include <math.h>

enum { DOUBTS_SHOWN = 40 /* more would hide the board */ };
static const double MARGIN = 1.2;                /* of a unit, round the board: for names that reach over its edge */
static const double UNITS_ALONG = 44;            /* units along the longer side: small print on a page's width */
static const double UNIT_LEAST = 0.4, UNIT_MOST = 5; /* mm */

/* ---- what there is ---- */

static const NoteBoard *sized(const Bench *bench, Text board) {
    for (uint32_t i = 0; i < bench->notebook->notes.count; i++) {
        const Note *note = &bench->notebook->notes.at[i];
        if (note->verb == NOTE_BOARD && note->board->size.len > 0 && text_same(note->board->name, board)) return note->board;
    }
    return NULL;
}

static uint32_t photographed(const Bench *bench, Text board) {
    for (uint32_t i = 0; i < bench->photographed.count; i++)
        if (text_same(bench->photographed.at[i].name, board)) return i;
    return BENCH_NONE;
}

bool board_has_part(const Bench *bench, Text board, const Note *note) {
    if (note->verb != NOTE_PART || (!note->with->placed && note->part->pin_count == 0)) return false;
    return note->with->board.len > 0 ? text_same(note->with->board, board)
                                     : bench->boards.count == 1 && text_same(bench->boards.at[0], board);
}

static bool has_callout(const Bench *bench, Text board, BoardSide side) {
    for (uint32_t i = 0; i < bench->callouts.count; i++) {
        const BenchCallout *callout = &bench->callouts.at[i];
        if (callout->file.len == 0 && callout->side == side && text_same(callout->board, board)) return true;
    }
    return false;
}

bool draw_board_shows(const Bench *bench, Text board, BoardSide side) {
    if (sized(bench, board) == NULL) return false;
    uint32_t number = photographed(bench, board);
    if (has_callout(bench, board, side)) return true;
    if (number != BENCH_NONE) return bench->photographed.at[number].photo[side] != NULL;
    for (uint32_t i = 0; i < bench->notebook->notes.count; i++) {
        const Note *note = &bench->notebook->notes.at[i];
        BenchPose pose;
        if (!board_has_part(bench, board, note)) continue;
        bench_pose(bench, &bench->parts.at[bench_part(bench, note->part->ref)], note, &pose);
        if (pose.side == side) return true;
    }
    return false;
}

/* ---- places and names ---- */

SvgPoint view_point(const View *view, PlacePoint at) {
    if (view->face != NULL) {
        PlacePoint seen = board_to_face(&view->bench->photographed.at[view->number].copper, view->asked->side, at);
        return (SvgPoint){seen.x, seen.y};
    }
    return (SvgPoint){view->asked->side == BOARD_BOTTOM ? view->width - at.x : at.x, at.y};
}

static bool free_for(const View *view, SvgPoint at) {
    const double WIDE = 2.2, HIGH = 1.0; /* units: of a short name */
    for (uint32_t i = 0; i < view->labels.count; i++)
        if (fabs(view->labels.at[i].x - at.x) < WIDE * view->unit && fabs(view->labels.at[i].y - at.y) < HIGH * view->unit)
            return false;
    return true;
}

bool view_label(View *view, SvgMark mark, SvgPoint at, double size, Text text) {
    if (!free_for(view, at)) return false;
    list_push(view->arena, &view->labels, at);
    at.y += size * (SVG_ASCENT / 2);
    svg_text(view->out, mark, at, size, SVG_MIDDLE, text);
    return true;
}

/* ---- what can't be seen, what is doubtful, what is pointed at ---- */

static bool about_side(const View *view, const Note *note) {
    NoteSide said = note->with->side;
    if (note->with->board.len > 0 && !text_same(note->with->board, view->asked->board)) return false;
    return said == NOTE_SIDE_UNSAID || (said == NOTE_SIDE_BOTTOM) == (view->asked->side == BOARD_BOTTOM);
}

static void say_hidden(View *view) {
    for (uint32_t i = 0; i < view->bench->notebook->notes.count; i++) {
        const Note *note = &view->bench->notebook->notes.at[i];
        if (note->verb != NOTE_HIDDEN || !about_side(view, note)) continue;
        SvgPoint *at = arena_many(view->arena, SvgPoint, note->points.count);
        for (uint32_t k = 0; k < note->points.count; k++)
            at[k] = view_point(view, (PlacePoint){note->points.at[k].x, note->points.at[k].y});
        svg_group(view->out, (SvgMark){.class = "b-hidden"});
        svg_title(view->out, text_fmt(view->arena, "Hidden%s%.*s", note->with->remark.len > 0 ? ": " : "",
                                      TEXT_ARG(note->with->remark)));
        svg_polygon(view->out, (SvgMark){0}, at, note->points.count);
        svg_group_end(view->out);
    }
}

static void say_doubt(View *view, const BoardDoubt *doubt) {
    SvgPoint at = view_point(view, doubt->at);
    Out title = out_new(view->arena);
    out_fmt(&title, "In doubt: %.*s. Taken as %s; joined with ", TEXT_ARG(doubt->looks), doubt->joined ? "joined" : "apart");
    probability_print(&title, doubt->p_joined);
    svg_group(view->out, (SvgMark){.class = "b-doubt"});
    svg_title(view->out, out_text(&title));
    svg_circle(view->out, (SvgMark){0}, at, 0.6 * view->unit);
    svg_text(view->out, (SvgMark){0}, (SvgPoint){at.x, at.y + 0.3 * view->unit}, 0.8 * view->unit, SVG_MIDDLE, TEXT("?"));
    svg_group_end(view->out);
}

/* A place that is nineteen to one joined or apart is no doubt to a reader: rule of thumb. The bench asks about all of them. */
static bool doubtful(const BoardDoubt *doubt) {
    static const double LEAST = 0.05;
    return doubt->p_joined > LEAST && doubt->p_joined < 1 - LEAST;
}

static void say_doubts(View *view) {
    if (view->face == NULL) return;
    const BoardCopper *copper = &view->bench->photographed.at[view->number].copper;
    uint32_t shown = 0;
    for (uint32_t i = 0; i < copper->doubts.count && shown < DOUBTS_SHOWN; i++) {
        if (copper->doubts.at[i].side != view->asked->side || !doubtful(&copper->doubts.at[i])) continue;
        say_doubt(view, &copper->doubts.at[i]);
        shown++;
    }
}

static void say_callouts(View *view) {
    for (uint32_t i = 0; i < view->bench->callouts.count; i++) {
        const BenchCallout *callout = &view->bench->callouts.at[i];
        if (callout->file.len > 0 || callout->side != view->asked->side || !text_same(callout->board, view->asked->board))
            continue;
        SvgPoint at = view_point(view, (PlacePoint){callout->note->with->at.x, callout->note->with->at.y});
        svg_group(view->out, (SvgMark){.class = "b-callout"});
        svg_title(view->out, callout->note->mark.says);
        svg_circle(view->out, (SvgMark){0}, at, 0.95 * view->unit);
        svg_text(view->out, (SvgMark){0}, (SvgPoint){at.x, at.y + 0.42 * view->unit}, 1.15 * view->unit, SVG_MIDDLE,
                 text_fmt(view->arena, "%u", callout->number));
        svg_group_end(view->out);
    }
}

/* ---- the whole ---- */

static Text side_word(BoardSide side) { return side == BOARD_TOP ? TEXT("top") : TEXT("bottom"); }

static Text describe(const View *view) {
    const BoardView *asked = view->asked;
    Out out = out_new(view->arena);
    out_fmt(&out, "The %.*s of board %.*s, %.1f by %.1f mm, as seen from that side", TEXT_ARG(side_word(asked->side)),
            TEXT_ARG(asked->board), view->width, view->height);
    out_add(&out, asked->jpeg.len > 0 ? TEXT(": the photo, straightened,") : TEXT(": its outline"));
    out_add(&out, view->face != NULL ? TEXT(" with its nets, parts and pins.") : TEXT(" with parts and pins where they are noted."));
    return out_text(&out);
}

static void open_view(View *view) {
    const BoardView *asked = view->asked;
    double margin = MARGIN * view->unit;
    SvgPage page = {.left = -margin,
                    .top = -margin,
                    .width = view->width + 2 * margin,
                    .height = view->height + 2 * margin,
                    .id = asked->id,
                    .title = text_fmt(view->arena, "Board %.*s, %.*s", TEXT_ARG(asked->board), TEXT_ARG(side_word(asked->side))),
                    .desc = describe(view),
                    .css = asked->alone ? DRAW_BOARD_CSS : NULL};
    svg_open(view->out, &page);
    svg_group(view->out, (SvgMark){.class = asked->jpeg.len > 0 ? "b-view b-photo" : "b-view"});
    if (asked->jpeg.len > 0)
        svg_image(view->out, (SvgMark){0}, (SvgPoint){0, 0}, view->width, view->height, asked->jpeg);
    svg_rect(view->out, (SvgMark){.class = "b-edge"}, (SvgPoint){0, 0}, view->width, view->height, 0.3 * view->unit);
}

bool draw_board(Out *out, const BoardView *asked) {
    const Bench *bench = asked->reasoning->bench;
    const NoteBoard *board = sized(bench, asked->board);
    if (board == NULL) return false;
    View view = {.out = out, .arena = out->arena, .asked = asked, .bench = bench};
    view.width = board->width.value * 1000, view.height = board->height.value * 1000;
    view.unit = fmin(fmax(fmax(view.width, view.height) / UNITS_ALONG, UNIT_LEAST), UNIT_MOST);
    view.number = photographed(bench, asked->board);
    if (view.number != BENCH_NONE && bench->photographed.at[view.number].net != NULL &&
        bench->photographed.at[view.number].copper.face[asked->side].known)
        view.face = &bench->photographed.at[view.number].copper.face[asked->side];
    open_view(&view);
    view_copper(&view);
    say_hidden(&view);
    view_parts(&view);
    view_net_names(&view);
    say_doubts(&view);
    say_callouts(&view);
    svg_group_end(out);
    svg_close(out);
    return true;
}
