/* The block diagram drawn: boxes, curves, arrow heads, and the figures on a halo in the middle of each curve. */
#include "draw/blocks_inside.h"

#include <math.h>

static const double EDGE = 2, PAD = 2.2, TITLE = 3.1, SMALL = 2.5, WIDTH_LEAST = 24, WIDTH_MOST = 46; /* mm */

static Text says(const Block *block) { return block->claim == NULL ? TEXT("") : block->claim->name; }

static void size_boxes(Blocks *blocks) {
    for (uint32_t i = 0; i < blocks->list.count; i++) {
        Block *block = &blocks->list.at[i];
        double wide = fmax(svg_text_width(block->title, TITLE),
                           fmax(svg_text_width(says(block), SMALL), svg_text_width(block->parts, SMALL)));
        block->width = fmin(fmax(wide + 2 * PAD, WIDTH_LEAST), WIDTH_MOST);
        block->height = 2 * PAD + TITLE + 2 * 1.35 * SMALL;
    }
}

static void put_box(Out *out, const Blocks *blocks, const Block *block) {
    SvgMark mark = {.class = "k-block", .claim = block->claim != NULL ? block->claim->id : TEXT("")};
    SvgPoint corner = {block->at.x - block->width / 2, block->at.y - block->height / 2};
    double room = block->width - 2 * PAD, line = corner.y + PAD + TITLE * SVG_ASCENT;
    svg_group(out, mark);
    svg_title(out, block->claim != NULL && block->claim->says.len > 0 ? block->claim->says : block->title);
    svg_rect(out, (SvgMark){0}, corner, block->width, block->height, 1);
    svg_text(out, (SvgMark){.class = "k-title"}, (SvgPoint){block->at.x, line}, TITLE, SVG_MIDDLE, block->title);
    svg_text(out, (SvgMark){.class = "k-says"}, (SvgPoint){block->at.x, line + 1.45 * SMALL}, SMALL, SVG_MIDDLE,
             svg_clip(blocks->arena, says(block), SMALL, room));
    svg_text(out, (SvgMark){.class = "k-parts"}, (SvgPoint){block->at.x, line + 2.8 * SMALL}, SMALL, SVG_MIDDLE,
             svg_clip(blocks->arena, block->parts, SMALL, room));
    svg_group_end(out);
}

static void put_command(Out *path, const char *command, SvgPoint at) {
    out_add(path, text_of(command));
    svg_number(path, at.x);
    out_char(path, ' ');
    svg_number(path, at.y);
}

static void put_head(Out *out, SvgPoint before, SvgPoint end) {
    static const double LONG = 2.2, HALF = 0.85;
    double far = hypot(end.x - before.x, end.y - before.y);
    if (far == 0) return;
    double x = (end.x - before.x) / far, y = (end.y - before.y) / far;
    const SvgPoint head[3] = {end,
                              {end.x - LONG * x + HALF * y, end.y - LONG * y - HALF * x},
                              {end.x - LONG * x - HALF * y, end.y - LONG * y + HALF * x}};
    svg_polygon(out, (SvgMark){.class = "k-head"}, head, 3);
}

/* The middle of a cubic curve's middle piece. */
static SvgPoint middle(const BlockArrow *arrow) {
    uint32_t piece = (arrow->count - 1) / 3 / 2 * 3;
    const SvgPoint *p = &arrow->at[piece];
    return (SvgPoint){(p[0].x + 3 * p[1].x + 3 * p[2].x + p[3].x) / 8, (p[0].y + 3 * p[1].y + 3 * p[2].y + p[3].y) / 8};
}

static void put_arrow(Out *out, const Blocks *blocks, const BlockArrow *arrow) {
    if (arrow->count < 4) return;
    Out path = out_new(blocks->arena);
    put_command(&path, "M", arrow->at[0]);
    for (uint32_t i = 1; i < arrow->count; i++) put_command(&path, i % 3 == 1 ? "C" : " ", arrow->at[i]);
    svg_group(out, (SvgMark){.class = arrow->feeds ? "k-arrow k-feeds" : "k-arrow",
                             .net = blocks->asked->reasoning->bench->nets.at[arrow->net].name});
    svg_path(out, (SvgMark){0}, out_text(&path));
    put_head(out, arrow->at[arrow->count - 2], arrow->at[arrow->count - 1]);
    svg_group_end(out);
}

static void put_figures(Out *out, const BlockArrow *arrow) {
    if (arrow->count < 4 || arrow->figures.len == 0) return;
    SvgPoint at = middle(arrow);
    svg_text(out, (SvgMark){.class = "k-figures"}, (SvgPoint){at.x, at.y - 0.6}, SMALL, SVG_MIDDLE, arrow->figures);
}

/* The picture in words: what goes where. */
static Text in_words(const Blocks *blocks) {
    Out out = out_new(blocks->arena);
    for (uint32_t i = 0; i < blocks->arrows.count; i++) {
        const BlockArrow *arrow = &blocks->arrows.at[i];
        const Block *from = &blocks->list.at[arrow->from], *to = &blocks->list.at[arrow->to];
        out_fmt(&out, "%s%.*s (%.*s) %s %.*s (%.*s)", i > 0 ? "; " : "", TEXT_ARG(from->title), TEXT_ARG(from->parts),
                arrow->feeds ? "feeds" : "goes to", TEXT_ARG(to->title), TEXT_ARG(to->parts));
        if (arrow->figures.len > 0) out_fmt(&out, ": %.*s", TEXT_ARG(arrow->figures));
    }
    out_char(&out, '.');
    return out_text(&out);
}

static bool refuse(Diags *problems, const char *why) {
    diag_add(problems, (Diag){.message = text_fmt(problems->arena, "there is no block diagram: %s", why)});
    return false;
}

bool draw_blocks(Out *out, const BlocksAsked *asked, Diags *problems) {
    Blocks blocks = {.arena = out->arena, .asked = asked};
    blocks_find(&blocks);
    if (blocks.list.count < 2) return refuse(problems, "fewer than two blocks are recognised");
    if (blocks.list.count > BLOCKS_MOST) return refuse(problems, "there are more blocks than a picture can hold");
    blocks_join(&blocks);
    size_boxes(&blocks);
    if (!blocks_place(&blocks, problems)) return false;
    SvgPage page = {.left = -EDGE, .top = -EDGE, .width = blocks.width + 2 * EDGE, .height = blocks.height + 2 * EDGE, .id = asked->id,
                    .title = TEXT("Block diagram"), .desc = in_words(&blocks), .css = asked->alone ? DRAW_BLOCKS_CSS : NULL};
    svg_open(out, &page);
    svg_group(out, (SvgMark){.class = "k-view"});
    for (uint32_t i = 0; i < blocks.arrows.count; i++) put_arrow(out, &blocks, &blocks.arrows.at[i]);
    for (uint32_t i = 0; i < blocks.list.count; i++) put_box(out, &blocks, &blocks.list.at[i]);
    for (uint32_t i = 0; i < blocks.arrows.count; i++) put_figures(out, &blocks.arrows.at[i]);
    svg_group_end(out);
    svg_close(out);
    return true;
}
