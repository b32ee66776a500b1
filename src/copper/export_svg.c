/* The nets in colour over the straightened photo. The photo goes in as a JPEG in base64, so that the picture is one file.
 * Hues a golden angle apart are unlike for neighbours
 * in number. */
#include "copper/export.h"

#include <math.h>

enum { QUALITY = 85, DOUBTS_SHOWN = 60 /* more would hide the board */ };
static const double GOLDEN_ANGLE = 137.508; /* degrees */

static void put_photo(Out *out, const Copper *copper, const Flat *flat) {
    Text jpeg;
    if (flat == NULL || !photo_to_jpeg(out->arena, flat->width, flat->height, flat->rgb, QUALITY, &jpeg)) return;
    out_fmt(out, "<image width=\"%.3f\" height=\"%.3f\" preserveAspectRatio=\"none\" href=\"data:image/jpeg;base64,",
            copper->width_mm, copper->height_mm);
    out_base64(out, jpeg);
    out_lit(out, "\"/>\n");
}

static void put_net(Out *out, const Copper *copper, const ExportNames *names, uint32_t number) {
    const CopperNet *net = &copper->nets.at[number - 1];
    double hue = number * GOLDEN_ANGLE;
    out_fmt(out, "<path id=\"net%u\" fill=\"hsl(%.0f,90%%,50%%)\" d=\"", number, hue - 360 * (double)(long)(hue / 360));
    for (uint32_t i = 0; i < net->ring_count; i++) {
        for (uint32_t k = 0; k < net->rings[i].count; k++)
            out_fmt(out, "%c%.3f %.3f", k == 0 ? 'M' : 'L', net->rings[i].at[k].x, net->rings[i].at[k].y);
        out_char(out, 'Z');
    }
    out_lit(out, "\"><title>");
    out_markup(out, export_net_name(out->arena, names, number));
    out_fmt(out, ": %.2f mm²", net->area);
    if (net->neck > 0) out_fmt(out, ", narrowest %.2f mm", net->neck);
    out_lit(out, "</title></path>\n");
}

/* Its number stands to its right, but where the picture ends to its left, and never above the picture. */
static void put_doubt(Out *out, const Copper *copper, uint32_t number) {
    static const double ring = 0.5, high = 1, wide = 2; /* mm, of a number too */
    const CopperDoubt *doubt = &copper->doubts.at[number - 1];
    bool left = doubt->at.x + ring + wide > copper->width_mm;
    out_fmt(out, "<g><title>%u: taken as %s, joined ", number, doubt->joined ? "joined" : "apart");
    probability_print(out, doubt->p_joined);
    out_lit(out, ": ");
    out_markup(out, doubt->looks);
    out_fmt(out, "</title><circle cx=\"%.3f\" cy=\"%.3f\" r=\"%g\"/>", doubt->at.x, doubt->at.y, ring);
    out_fmt(out, "<text x=\"%.3f\" y=\"%.3f\"%s>%u</text></g>\n", doubt->at.x + (left ? -0.6 : 0.6),
            fmax(doubt->at.y, high), left ? " text-anchor=\"end\"" : "", number);
}

void export_svg(Out *out, const Copper *copper, const ExportNames *names, const Flat *flat) {
    out_fmt(out,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%.3fmm\" height=\"%.3fmm\" viewBox=\"0 0 %.3f %.3f\">\n",
            copper->width_mm, copper->height_mm, copper->width_mm, copper->height_mm);
    put_photo(out, copper, flat);
    out_fmt(out, "<g fill-rule=\"evenodd\" fill-opacity=\"%s\">\n", flat == NULL ? "1" : "0.45");
    for (uint32_t i = 1; i <= copper->nets.count; i++) put_net(out, copper, names, i);
    out_lit(out, "</g>\n<g fill=\"none\" stroke=\"#fff\" stroke-width=\"0.08\">\n");
    for (uint32_t i = 0; i < copper->holes.count; i++)
        out_fmt(out, "<circle cx=\"%.3f\" cy=\"%.3f\" r=\"%.3f\"/>\n", copper->holes.at[i].at.x, copper->holes.at[i].at.y,
                copper->holes.at[i].diameter / 2);
    out_lit(out,
            "</g>\n<g fill=\"none\" stroke=\"#e00\" stroke-width=\"0.12\" font-size=\"1.2\" font-family=\"sans-serif\">\n");
    for (uint32_t i = 0; i < copper->doubts.count && i < DOUBTS_SHOWN; i++) put_doubt(out, copper, i + 1);
    out_lit(out, "</g>\n</svg>\n");
}
