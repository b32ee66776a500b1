/* What every drawing of this room is written with: elements of SVG (W3C, Scalable Vector Graphics 2) on an Out. One user
 * unit is a millimetre. Every text from outside goes through out_markup here and nowhere else; numbers are printed short.
 *
 * Colour is the page's affair: elements carry classes, and what has no colour of its own is drawn in currentColor, so that
 * a drawing follows a light or a dark page. A file that stands alone gets its defaults from the `css` of svg_open. */
#ifndef UNPICK_DRAW_SVG_H
#define UNPICK_DRAW_SVG_H

#include "base/text.h"

typedef struct SvgPoint {
    double x, y; /* mm, y downwards */
} SvgPoint;

/* What an element is and what it stands for; empty ones are left out. With them a page lights a net or tells a claim. */
typedef struct SvgMark {
    const char *class; /* our own word, or several; NULL: none */
    Text ref;          /* data-ref: a part, `R1` */
    Text pin;          /* data-pin: one of its pins, `1` */
    Text net;          /* data-net: a net's name */
    Text claim;        /* data-claim: a claim's id */
    Text id;           /* unlike any other's on the same page; letters, digits, `-` */
} SvgMark;

typedef struct SvgPage {
    double left, top, width, height; /* mm: the part of the plane that is shown */
    Text id;                         /* unlike any other's on the same page; letters, digits, `-` */
    Text title, desc;                /* for those who do not see it */
    const char *css;                 /* our own, without markup; NULL: none */
} SvgPage;

void svg_open(Out *out, const SvgPage *page);
void svg_close(Out *out);

/* svg_group_end closes what svg_group opened. */
void svg_group(Out *out, SvgMark mark);
/* A group whose inside has its origin at `at`, turned clockwise by quarter turns after being mirrored left to right. */
void svg_group_at(Out *out, SvgMark mark, SvgPoint at, unsigned quarter_turns, bool mirrored);
void svg_group_end(Out *out);
/* Within a group: what a pointer held over it shows. */
void svg_title(Out *out, Text title);

void svg_line(Out *out, SvgMark mark, SvgPoint from, SvgPoint to);
void svg_polyline(Out *out, SvgMark mark, const SvgPoint *at, size_t count); /* count >= 2 */
void svg_polygon(Out *out, SvgMark mark, const SvgPoint *at, size_t count);  /* count >= 3 */
void svg_path(Out *out, SvgMark mark, Text commands);                        /* our own path data */
void svg_circle(Out *out, SvgMark mark, SvgPoint centre, double radius);
void svg_rect(Out *out, SvgMark mark, SvgPoint corner, double width, double height, double round);

/* A JPEG, stretched to the rectangle. */
void svg_image(Out *out, SvgMark mark, SvgPoint corner, double width, double height, Text jpeg);

typedef enum SvgAnchor { SVG_START, SVG_MIDDLE, SVG_END } SvgAnchor;
/* One line of text; `at` is on its base line. size: mm, of the em. */
void svg_text(Out *out, SvgMark mark, SvgPoint at, double size, SvgAnchor anchor, Text text);

/* How long a line of text will be, in mm: never much shorter than the truth in any font of SVG_FONTS. */
double svg_text_width(Text text, double size);
/* As much of a line as is no wider than `room` mm, with an ellipsis where it is cut: between characters. */
Text svg_clip(Arena *arena, Text text, double size, double room);
/* Of an em: capitals above the base line, tails below it. */
#define SVG_ASCENT 0.74
#define SVG_DESCENT 0.22
#define SVG_FONTS "Helvetica, Arial, 'Liberation Sans', 'DejaVu Sans', sans-serif"

/* At most three decimals, no idle noughts, never in powers of ten: 0.5, -12, 3.125. What is not finite is printed as 0. */
void svg_number(Out *out, double number);

#endif
