/* The copper in words for a terminal: what the board measures, its nets, what is doubtful and how to settle it. */
#include "copper/export.h"

enum { NETS_SHOWN = 12, DOUBTS_SHOWN = 12 };

static void say_figures(Out *out, const Copper *copper, const ExportFound *found) {
    const CopperNet *least = NULL;
    for (uint32_t i = 0; i < copper->nets.count; i++)
        if (copper->nets.at[i].neck > 0 && (least == NULL || copper->nets.at[i].neck < least->neck))
            least = &copper->nets.at[i];
    out_fmt(out, "%u net%s, %u pad%s, %u hole%s; %.1f mm² of copper on %.1f x %.1f mm\n", copper->nets.count,
            copper->nets.count == 1 ? "" : "s", copper->pads.count, copper->pads.count == 1 ? "" : "s", copper->holes.count,
            copper->holes.count == 1 ? "" : "s", copper->area, copper->width_mm, copper->height_mm);
    if (least != NULL) {
        double thickness = found->thickness_mm > 0 ? found->thickness_mm : EXPORT_THICKNESS_MM;
        double rise = found->rise_kelvin > 0 ? found->rise_kelvin : EXPORT_RISE_KELVIN;
        out_fmt(out,
                "narrowest between two pads: %.2f mm at %.1f,%.1f; carries %.1f A at %.0f µm and %.0f K more (IPC-2221)\n",
                least->neck, least->neck_at.x, least->neck_at.y, copper_ipc2221_ampere(least->neck, thickness, rise, true),
                thickness * 1000, rise);
    }
    if (copper->gap_least > 0)
        out_fmt(out, "smallest gap between two nets: %.2f mm at %.1f,%.1f\n", copper->gap_least, copper->gap_at.x,
                copper->gap_at.y);
}

static void say_nets(Out *out, const Copper *copper, const ExportNames *names) {
    uint32_t *pads = arena_many(out->arena, uint32_t, copper->nets.count + 1);
    for (uint32_t i = 0; i < copper->pads.count; i++) pads[copper->pads.at[i].net]++;
    for (uint32_t i = 0; i < copper->nets.count && i < NETS_SHOWN; i++) {
        const CopperNet *net = &copper->nets.at[i];
        out_fmt(out, "  %-8.*s %8.2f mm², %u pad%s", TEXT_ARG(export_net_name(out->arena, names, i + 1)), net->area,
                pads[i + 1], pads[i + 1] == 1 ? "" : "s");
        if (net->width_median > 0) out_fmt(out, ", tracks of %.2f mm", net->width_median);
        out_char(out, '\n');
    }
    if (copper->nets.count > NETS_SHOWN) out_fmt(out, "  and %u more: --json lists all\n", copper->nets.count - NETS_SHOWN);
}

static void say_doubts(Out *out, const Copper *copper) {
    if (copper->doubts.count == 0) return;
    out_fmt(out,
            "\n%u place%s in doubt, the most telling first. Beep between the two points, then say --joined or --apart:\n",
            copper->doubts.count, copper->doubts.count == 1 ? "" : "s");
    for (uint32_t i = 0; i < copper->doubts.count && i < DOUBTS_SHOWN; i++) {
        const CopperDoubt *doubt = &copper->doubts.at[i];
        out_fmt(out, "  \"%.2f,%.2f %.2f,%.2f\"  %.*s at %.2f,%.2f; joined ", doubt->a.x, doubt->a.y, doubt->b.x,
                doubt->b.y, TEXT_ARG(doubt->looks), doubt->at.x, doubt->at.y);
        probability_print(out, doubt->p_joined);
        out_fmt(out, ", taken as %s\n", doubt->joined ? "joined" : "apart");
    }
    if (copper->doubts.count > DOUBTS_SHOWN) out_fmt(out, "  and %u more\n", copper->doubts.count - DOUBTS_SHOWN);
}

void export_corners_text(Out *out, const char *whose, const char *option, const PlacePoint corners[4], double sure) {
    if (sure >= 1) return;
    out_fmt(out, "corners%s found, ", whose);
    probability_print(out, sure);
    out_fmt(out, " sure; to correct them: %s \"", option);
    for (unsigned i = 0; i < 4; i++) out_fmt(out, "%s%.0f,%.0f", i == 0 ? "" : " ", corners[i].x, corners[i].y);
    out_lit(out, "\"\n");
}

void export_text(Out *out, const Copper *copper, const ExportNames *names, const ExportFound *found) {
    if (found->has_corners) export_corners_text(out, "", "--corners", found->corners, found->corners_sure);
    say_figures(out, copper, found);
    say_nets(out, copper, names);
    say_doubts(out, copper);
    for (uint32_t i = 0; i < copper->conflicts.count; i++) {
        const CopperConflict *conflict = &copper->conflicts.at[i];
        out_fmt(out, "%sconflict at %.2f,%.2f: %.*s\n", i == 0 ? "\n" : "", conflict->at.x, conflict->at.y,
                TEXT_ARG(conflict->says));
    }
}
