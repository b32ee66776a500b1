/* The copper as Gerber X2. Outlines never cross, so painting them from the largest to the smallest, dark for copper and
 * clear for what it leaves out, gives the board whatever lies inside what. */
#include "copper/export.h"

#include <math.h>
#include <stdlib.h>

typedef struct Region {
    const CopperRing *ring;
    double area;
    uint32_t net;
} Region;

static double area_of(const CopperRing *ring) {
    double sum = 0;
    for (uint32_t i = 0, j = ring->count - 1; i < ring->count; j = i++)
        sum += ring->at[j].x * ring->at[i].y - ring->at[i].x * ring->at[j].y;
    return fabs(sum) / 2;
}

static int by_falling_area(const void *a, const void *b) {
    const Region *one = a, *two = b;
    if (one->area != two->area) return one->area < two->area ? 1 : -1;
    return one->net < two->net ? -1 : one->net > two->net ? 1 : 0;
}

/* Letters, digits and what is safe in a field of any reader; the rest as _. */
static void put_name(Out *out, Text name) {
    for (size_t i = 0; i < name.len; i++) {
        char c = name.at[i];
        bool safe = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
                    (c != '\0' && strchr("+-_./$#", c));
        out_char(out, safe ? c : '_');
    }
}

static void put_point(Out *out, const Copper *copper, const ExportNames *names, PlacePoint mm, const char *operation) {
    PlacePoint at = export_place(copper, names, mm);
    out_fmt(out, "X%lldY%lld%s*\n", llround(at.x * 1e6), llround(at.y * 1e6), operation);
}

static void put_region(Out *out, const Copper *copper, const ExportNames *names, const CopperRing *ring) {
    out_lit(out, "G36*\n");
    put_point(out, copper, names, ring->at[0], "D02");
    for (uint32_t i = 1; i <= ring->count; i++) put_point(out, copper, names, ring->at[i % ring->count], "D01");
    out_lit(out, "G37*\n");
}

static void put_head(Out *out, const ExportNames *names) {
    out_lit(out, "%TF.GenerationSoftware,Unpick,unpick*%\n%TF.Part,Single*%\n");
    out_fmt(out, "%%TF.FileFunction,Copper,%s*%%\n", names->bottom ? "L2,Bot" : "L1,Top");
    out_lit(out, "%TF.FilePolarity,Positive*%\n%FSLAX46Y46*%\n%MOMM*%\nG04 Outlines of copper traced from a photo*\n");
    out_lit(out, "%TA.AperFunction,Conductor*%\nG01*\n");
}

void export_gerber(Out *out, const Copper *copper, const ExportNames *names) {
    LIST(Region) regions = {0};
    for (uint32_t i = 0; i < copper->nets.count; i++)
        for (uint32_t k = 0; k < copper->nets.at[i].ring_count; k++) {
            const CopperRing *ring = &copper->nets.at[i].rings[k];
            if (ring->count >= 3) list_push(out->arena, &regions, ((Region){ring, area_of(ring), i + 1}));
        }
    if (regions.count > 0) qsort(regions.at, regions.count, sizeof *regions.at, by_falling_area);
    put_head(out, names);
    uint32_t net = 0;
    bool clear = false;
    for (uint32_t i = 0; i < regions.count; i++) {
        const Region *region = &regions.at[i];
        if (region->ring->hole != clear || i == 0) out_fmt(out, "%%LP%c*%%\n", region->ring->hole ? 'C' : 'D');
        clear = region->ring->hole;
        if (region->net != net && !clear) {
            out_lit(out, "%TO.N,");
            put_name(out, export_net_name(out->arena, names, region->net));
            out_lit(out, "*%\n");
            net = region->net;
        }
        put_region(out, copper, names, region->ring);
    }
    out_lit(out, "%TD*%\nM02*\n");
}
