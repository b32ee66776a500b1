/* The net list as IPC-D-356A: a record of 80 columns for each pad, 317 with a hole, 327 without; 999 ends the file.
 * Columns (from memory): 1-3 code, 4-17 net, 21-26 part, 27 -, 28-31 pin, 33 D, 34-37 hole, 38 P or U, 39 A, 40-41 side, 42
 * X, 43-49, 50 Y, 51-57, 58 X, 59-62 width, 63 Y, 64-67 height, 73 S, 74 what the mask leaves open. */
#include "copper/export_board.h"

#include <math.h>
#include <stdio.h>

enum { NET_COLUMNS = 14, PIN_MOST = 9999, SIZE_MOST = 9999, PLACE_MOST = 999999 };

static long in_microns(double mm, long most) {
    double microns = round(mm * 1000);
    return microns > (double)most ? most : microns < -(double)most ? -most : (long)microns;
}

/* Upper-case letters, digits and the usual signs; a name too long for its columns goes by an alias, told in the head. */
static void net_field(Arena *arena, const ExportNames *names, uint32_t net, char field[NET_COLUMNS + 1]) {
    if (net == 0) {
        snprintf(field, NET_COLUMNS + 1, "N/C");
        return;
    }
    Text name = export_net_name(arena, names, net);
    if (name.len > NET_COLUMNS) name = text_fmt(arena, "NNAME%u", net);
    for (size_t i = 0; i < name.len; i++) field[i] = name.at[i] > ' ' && name.at[i] <= '~' ? name.at[i] : '_';
    field[name.len] = '\0';
}

static void put_head(Out *out, const Copper *copper, const ExportNames *names) {
    out_lit(out, "C  IPC-D-356A, traced from a photo by unpick\n");
    out_fmt(out, "P  JOB   %.*s\n", TEXT_ARG(names->board.len > 0 ? names->board : TEXT("BOARD")));
    out_lit(out, "P  CODE  00\nP  UNITS CUST 1\nP  DIM   N\nP  VER   IPC-D-356A\nP  IMAGE PRIMARY\n");
    for (uint32_t net = 1; net <= copper->nets.count; net++) {
        Text name = export_net_name(out->arena, names, net);
        if (name.len > NET_COLUMNS) out_fmt(out, "P  NNAME%u %.*s\n", net, TEXT_ARG(name));
    }
}

static void put_pad(Out *out, const Copper *copper, const ExportNames *names, uint32_t number) {
    const CopperPad *pad = &copper->pads.at[number];
    const CopperHole *hole = pad->hole == UINT32_MAX ? NULL : &copper->holes.at[pad->hole];
    PlacePoint at = export_place(copper, names, pad->at);
    char net[NET_COLUMNS + 1], drilled[8] = "     ";
    net_field(out->arena, names, pad->net, net);
    if (hole != NULL) snprintf(drilled, sizeof drilled, "D%04ld", in_microns(hole->diameter, SIZE_MOST));
    out_fmt(out, "%s%-14s   PAD   -%-4u %s%c", hole != NULL ? "317" : "327", net, number % PIN_MOST + 1, drilled,
            hole == NULL   ? ' '
            : hole->plated ? 'P'
                           : 'U');
    out_fmt(out, "A%02u", hole != NULL && hole->plated ? 0u : names->bottom ? 2u : 1u);
    out_fmt(out, "X%+07ldY%+07ld", in_microns(at.x, PLACE_MOST), in_microns(at.y, PLACE_MOST));
    out_fmt(out, "X%04ldY%04ld     S%u      \n", in_microns(pad->width, SIZE_MOST), in_microns(pad->height, SIZE_MOST), 0u);
}

void export_ipc356(Out *out, const Copper *copper, const ExportNames *names) {
    put_head(out, copper, names);
    for (uint32_t i = 0; i < copper->pads.count; i++) put_pad(out, copper, names, i);
    out_lit(out, "999\n");
}

static bool has_pad(const Copper *copper, uint32_t hole) {
    for (uint32_t i = 0; i < copper->pads.count; i++)
        if (copper->pads.at[i].hole == hole) return true;
    return false;
}

/* The face on which a plated hole's record is made: the first that shows it in a pad. BOARD_SIDES: none. */
static BoardSide teller_of(const BoardCopper *board, const BoardHole *hole) {
    for (BoardSide side = 0; side < BOARD_SIDES; side++)
        if (hole->on_face[side] != UINT32_MAX && has_pad(&board->face[side].copper, hole->on_face[side])) return side;
    return BOARD_SIDES;
}

/* The pad of a plated hole that the other face's record, with access from both sides, stands for: that of the hole as this
 * face shows it, or what it shows in the hole's place, filled. */
static bool is_told_already(const BoardCopper *board, BoardSide side, const Copper *copper, const CopperPad *pad) {
    for (uint32_t i = 0; i < board->holes.count; i++) {
        const BoardHole *hole = &board->holes.at[i];
        BoardSide teller = hole->plating == BOARD_PLATED ? teller_of(board, hole) : BOARD_SIDES;
        if (teller == BOARD_SIDES || teller == side) continue;
        if (pad->hole != UINT32_MAX && pad->hole == hole->on_face[side]) return true;
        double x = side == BOARD_TOP ? hole->at.x : copper->width_mm - hole->at.x;
        double far = hypot(x - pad->at.x, hole->at.y - pad->at.y);
        if (hole->on_face[side] == UINT32_MAX && pad->hole == UINT32_MAX && far < hole->diameter / 2) return true;
    }
    return false;
}

void export_board_ipc356(Out *out, const BoardCopper *board, Text name, const Text *nets) {
    bool begun = false;
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        if (!board->face[side].known) continue;
        Copper copper = export_board_face(out->arena, board, side);
        ExportNames names = {name, board_names(out->arena, board, side, nets), side == BOARD_BOTTOM};
        if (!begun) put_head(out, &copper, &names);
        begun = true;
        for (uint32_t i = 0; i < copper.pads.count; i++)
            if (!is_told_already(board, side, &copper, &copper.pads.at[i])) put_pad(out, &copper, &names, i);
    }
    out_lit(out, "999\n");
}
