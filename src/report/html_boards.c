/* The page's chapters on the boards' copper. */
#include "report/html.h"

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

static void say_board(Html *html, const StoryBoard *board) {
    Out *out = html->out;
    out_lit(out, "<h3>");
    html_escape(out, board->title);
    out_lit(out, "</h3>\n<p>");
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

void html_boards(Html *html) {
    if (html->story->boards.count == 0) return;
    html_section(html, "boards", "Boards");
    for (uint32_t i = 0; i < html->story->boards.count; i++) say_board(html, &html->story->boards.at[i]);
    out_lit(html->out, "</section>\n");
}
