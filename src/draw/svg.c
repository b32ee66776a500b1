/* SVG as text. Numbers are rounded to a thousandth of a millimetre, which no screen or printer shows. */
#include "draw/svg.h"

#include <math.h>

void svg_number(Out *out, double number) {
    static const double MOST = 1e9;
    double thousandths = round(number * 1e3);
    if (!isfinite(thousandths) || fabs(thousandths) > MOST * 1e3) thousandths = 0;
    int64_t whole = (int64_t)fabs(thousandths), part = whole % 1000;
    if (thousandths < 0) out_char(out, '-');
    out_fmt(out, "%lld", (long long)(whole / 1000));
    if (part == 0) return;
    int digits = 3;
    while (part % 10 == 0) part /= 10, digits--;
    out_fmt(out, ".%0*d", digits, (int)part);
}

static void put_attribute(Out *out, const char *name, Text value) {
    if (value.len == 0) return;
    out_fmt(out, " %s=\"", name);
    out_markup(out, value);
    out_char(out, '"');
}

static void put_number(Out *out, const char *name, double number) {
    out_fmt(out, " %s=\"", name);
    svg_number(out, number);
    out_char(out, '"');
}

static void put_open(Out *out, const char *element, SvgMark mark) {
    out_fmt(out, "<%s", element);
    put_attribute(out, "id", mark.id);
    put_attribute(out, "class", text_of(mark.class));
    put_attribute(out, "data-ref", mark.ref);
    put_attribute(out, "data-pin", mark.pin);
    put_attribute(out, "data-net", mark.net);
    put_attribute(out, "data-claim", mark.claim);
}

static void put_points(Out *out, const char *element, SvgMark mark, const SvgPoint *at, size_t count) {
    put_open(out, element, mark);
    out_lit(out, " points=\"");
    for (size_t i = 0; i < count; i++) {
        if (i > 0) out_char(out, ' ');
        svg_number(out, at[i].x);
        out_char(out, ',');
        svg_number(out, at[i].y);
    }
    out_lit(out, "\"/>\n");
}

/* <ELEMENT id="ID-ELEMENT">TEXT</ELEMENT>: what aria-labelledby points to. */
static void put_told(Out *out, const char *element, Text id, Text text) {
    if (text.len == 0) return;
    out_fmt(out, "<%s", element);
    put_attribute(out, "id", id.len == 0 ? id : text_fmt(out->arena, "%.*s-%s", TEXT_ARG(id), element));
    out_char(out, '>');
    out_markup(out, text);
    out_fmt(out, "</%s>\n", element);
}

void svg_open(Out *out, const SvgPage *page) {
    out_lit(out, "<svg xmlns=\"http://www.w3.org/2000/svg\"");
    put_attribute(out, "id", page->id);
    out_lit(out, " width=\"");
    svg_number(out, page->width);
    out_lit(out, "mm\" height=\"");
    svg_number(out, page->height);
    out_lit(out, "mm\" viewBox=\"");
    const double box[] = {page->left, page->top, page->width, page->height};
    for (size_t i = 0; i < 4; i++) {
        if (i > 0) out_char(out, ' ');
        svg_number(out, box[i]);
    }
    out_lit(out, "\" role=\"img\"");
    if (page->id.len > 0) {
        out_lit(out, " aria-labelledby=\"");
        out_markup(out, page->id);
        out_lit(out, "-title");
        if (page->desc.len > 0) {
            out_char(out, ' ');
            out_markup(out, page->id);
            out_lit(out, "-desc");
        }
        out_char(out, '"');
    }
    out_lit(out, ">\n");
    put_told(out, "title", page->id, page->title);
    put_told(out, "desc", page->id, page->desc);
    if (page->css != NULL) out_fmt(out, "<style>\n%s</style>\n", page->css);
}

void svg_close(Out *out) { out_lit(out, "</svg>\n"); }

void svg_group(Out *out, SvgMark mark) {
    put_open(out, "g", mark);
    out_lit(out, ">\n");
}

void svg_group_at(Out *out, SvgMark mark, SvgPoint at, unsigned quarter_turns, bool mirrored) {
    put_open(out, "g", mark);
    out_lit(out, " transform=\"translate(");
    svg_number(out, at.x);
    out_char(out, ' ');
    svg_number(out, at.y);
    out_char(out, ')');
    if (quarter_turns % 4 != 0) out_fmt(out, " rotate(%u)", quarter_turns % 4 * 90);
    if (mirrored) out_lit(out, " scale(-1 1)");
    out_lit(out, "\">\n");
}

void svg_group_end(Out *out) { out_lit(out, "</g>\n"); }

void svg_title(Out *out, Text title) { put_told(out, "title", (Text){0}, title); }

void svg_line(Out *out, SvgMark mark, SvgPoint from, SvgPoint to) {
    put_open(out, "line", mark);
    put_number(out, "x1", from.x);
    put_number(out, "y1", from.y);
    put_number(out, "x2", to.x);
    put_number(out, "y2", to.y);
    out_lit(out, "/>\n");
}

void svg_polyline(Out *out, SvgMark mark, const SvgPoint *at, size_t count) { put_points(out, "polyline", mark, at, count); }

void svg_polygon(Out *out, SvgMark mark, const SvgPoint *at, size_t count) { put_points(out, "polygon", mark, at, count); }

void svg_path(Out *out, SvgMark mark, Text commands) {
    put_open(out, "path", mark);
    put_attribute(out, "d", commands);
    out_lit(out, "/>\n");
}

void svg_circle(Out *out, SvgMark mark, SvgPoint centre, double radius) {
    put_open(out, "circle", mark);
    put_number(out, "cx", centre.x);
    put_number(out, "cy", centre.y);
    put_number(out, "r", radius);
    out_lit(out, "/>\n");
}

void svg_rect(Out *out, SvgMark mark, SvgPoint corner, double width, double height, double round) {
    put_open(out, "rect", mark);
    put_number(out, "x", corner.x);
    put_number(out, "y", corner.y);
    put_number(out, "width", width);
    put_number(out, "height", height);
    if (round > 0) put_number(out, "rx", round);
    out_lit(out, "/>\n");
}

void svg_image(Out *out, SvgMark mark, SvgPoint corner, double width, double height, Text jpeg) {
    put_open(out, "image", mark);
    put_number(out, "x", corner.x);
    put_number(out, "y", corner.y);
    put_number(out, "width", width);
    put_number(out, "height", height);
    out_lit(out, " preserveAspectRatio=\"none\" href=\"data:image/jpeg;base64,");
    out_base64(out, jpeg);
    out_lit(out, "\"/>\n");
}

void svg_text(Out *out, SvgMark mark, SvgPoint at, double size, SvgAnchor anchor, Text text) {
    static const char *const anchors[] = {NULL, "middle", "end"};
    put_open(out, "text", mark);
    put_number(out, "x", at.x);
    put_number(out, "y", at.y);
    put_number(out, "font-size", size);
    put_attribute(out, "text-anchor", text_of(anchors[anchor]));
    out_char(out, '>');
    out_markup(out, text);
    out_lit(out, "</text>\n");
}

/* Widths of ` ` to `~` in thousandths of an em: the metrics of Helvetica as its maker published them (Adobe Core 14 AFM
 * files, from memory). Arial and Liberation Sans were made to the same widths. */
static const short HELVETICA[] = {
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556,  556, 556, 556, 556, 556,
    556, 556, 278, 278, 584, 584, 584, 556, 1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722, 778,
    667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556, 333, 556, 556,  500, 556, 556, 278, 556,
    556, 222, 222, 500, 222, 833, 556, 556, 556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500,  334, 260, 334, 584,
};
_Static_assert(sizeof HELVETICA / sizeof *HELVETICA == '~' - ' ' + 1, "one width a printable ASCII character");
static const double WIDER = 1.16;       /* DejaVu Sans, the widest of SVG_FONTS, beside Helvetica: digits 0.636 em to 0.556 */
static const double OTHER_LETTER = 0.8; /* em: other alphabets, Ω and µ among them */
static const double IDEOGRAPH = 1.0;    /* em: from U+1100 on; scripts of East Asia are set in squares */

double svg_text_width(Text text, double size) {
    double em = 0;
    for (size_t i = 0; i < text.len; i++) {
        unsigned char c = (unsigned char)text.at[i];
        if (c >= ' ' && c <= '~')
            em += HELVETICA[c - ' '] / 1000.0;
        else if (c >= 0xc0) /* the first byte of a longer one (RFC 3629): those behind it add nothing */
            em += c >= 0xe1 ? IDEOGRAPH : OTHER_LETTER;
        else if (c < 0x80) /* a control, printed as a blank */
            em += HELVETICA[0] / 1000.0;
    }
    return em * size * WIDER;
}

Text svg_clip(Arena *arena, Text text, double size, double room) {
    static const double ELLIPSIS = 1; /* em */
    if (svg_text_width(text, size) <= room) return text;
    size_t fits = 0;
    for (size_t i = 0; i < text.len; i++) { /* up to the last character that leaves room; once through the text */
        if (((unsigned char)text.at[i] & 0xC0) == 0x80) continue;
        double width = svg_text_width(text_sub(text, fits, i - fits), size);
        if (width > room - ELLIPSIS * size) break;
        room -= width, fits = i;
    }
    return text_fmt(arena, "%.*s\xE2\x80\xA6", TEXT_ARG(text_trim(text_sub(text, 0, fits))));
}
