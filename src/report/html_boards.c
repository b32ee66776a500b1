/* The page's chapter on boards: each side drawn, with its nets to be lit one by one, and what is told of its copper. */
#include "report/html.h"

#include "draw/board.h"

static void say_corners(Html *html, const StoryBoard *board) {
    Out *out = html->out;
    if (board->corners.count == 0) return;
    out_lit(out, "<p>To correct the corners, add:</p>\n<ul class=\"quotes\">\n");
    for (uint32_t i = 0; i < board->corners.count; i++) {
        out_lit(out, "<li><code>");
        html_escape(out, board->corners.at[i]);
        out_lit(out, "</code></li>\n");
    }
    out_lit(out, "</ul>\n");
}

static void say_copper(Html *html, const StoryBoard *board) {
    Out *out = html->out;
    out_lit(out, "<p>");
    for (uint32_t i = 0; i < board->says.count; i++) {
        if (i > 0) out_char(out, ' ');
        html_escape(out, board->says.at[i]);
    }
    out_lit(out, "</p>\n");
    html_texts(html, "warning", board->warns.at, board->warns.count);
    say_corners(html, board);
    for (BoardSide side = 0; side < BOARD_SIDES; side++)
        if (board->board->photo[side] != NULL) html_quotes(html, &board->board->photo[side]->line, 1);
}

static const StoryBoard *told(const Html *html, Text name) {
    for (uint32_t i = 0; i < html->story->boards.count; i++)
        if (text_same(html->story->boards.at[i].board->name, name)) return &html->story->boards.at[i];
    return NULL;
}

Text html_straightened(Html *html, Text name, BoardSide side) {
    const Bench *bench = html->bench;
    PagePhoto made = {0};
    for (uint32_t i = 0; i < bench->photographed.count && bench->folder.len > 0; i++) {
        Flat flat;
        if (!text_same(bench->photographed.at[i].name, name) ||
            !bench_flat(html->arena, bench, i, side, &flat, html->problems))
            continue;
        photo_page_pixels(html->arena, flat.width, flat.height, flat.rgb, PHOTO_BOARD_SIDE, html->photo_bytes, &made);
        flat_free(&flat);
    }
    return made.jpeg;
}

/* The nets as links that light their copper; the colours are those of the drawing. */
static void say_legend(Html *html, Text name, BoardSide side, Text id) {
    Out *out = html->out;
    BoardViewNets nets = draw_board_nets(html->arena, html->bench, name, side);
    if (nets.count == 0) return;
    out_lit(out, "<p>Choose a net to light its copper:</p>\n<ul class=\"nets\">\n");
    for (uint32_t i = 0; i < nets.count; i++) {
        const BenchNet *net = &html->bench->nets.at[nets.net[i]];
        out_lit(out, "<li><a data-net=\"");
        html_escape(out, net->name);
        out_lit(out, "\" href=\"#");
        out_add(out, draw_board_net_id(html->arena, id, i));
        out_fmt(out, "\"><i class=\"b-c%u\"></i>", i % BOARD_VIEW_COLOURS);
        html_escape(out, net->name);
        out_lit(out, "</a></li>\n");
    }
    out_lit(out, "</ul>\n");
}

static void say_side(Html *html, uint32_t board, BoardSide side) {
    Out *out = html->out;
    Text name = html->bench->boards.at[board], id = text_fmt(html->arena, "board-%u-%u", board, (unsigned)side);
    out_lit(out, "<figure class=\"drawing\">\n");
    BoardView view = {html->reasoning, name, side, html_straightened(html, name, side), id, false};
    draw_board(out, &view);
    out_add(out, side == BOARD_TOP ? TEXT("<figcaption>The top") : TEXT("<figcaption>The bottom, as seen from below"));
    out_lit(out, ". A dashed ring with ? is a place in doubt.\n");
    html_callouts(html, TEXT(""), name, side);
    say_legend(html, name, side, id);
    out_lit(out, "</figcaption>\n</figure>\n");
}

static bool shown(const Html *html, uint32_t board) {
    return draw_board_shows(html->bench, html->bench->boards.at[board], BOARD_TOP) ||
           draw_board_shows(html->bench, html->bench->boards.at[board], BOARD_BOTTOM);
}

bool html_has_boards(const Html *html) {
    for (uint32_t i = 0; i < html->bench->boards.count; i++)
        if (shown(html, i)) return true;
    return false;
}

static void say_board(Html *html, uint32_t board) {
    Text name = html->bench->boards.at[board];
    const StoryBoard *copper = told(html, name);
    out_lit(html->out, "<h3>");
    html_escape(html->out, copper != NULL ? copper->title : text_fmt(html->arena, "Board %.*s", TEXT_ARG(name)));
    out_lit(html->out, "</h3>\n");
    for (BoardSide side = 0; side < BOARD_SIDES; side++)
        if (draw_board_shows(html->bench, name, side)) say_side(html, board, side);
    if (copper != NULL) say_copper(html, copper);
}

void html_boards(Html *html) {
    if (!html_has_boards(html)) return;
    html_section(html, "boards", "Boards");
    for (uint32_t i = 0; i < html->bench->boards.count; i++)
        if (shown(html, i)) say_board(html, i);
    out_lit(html->out, "</section>\n");
}
