/* A board of two sides told to others. Places are in the top's millimetres but in what is said of one face. */
#ifndef UNPICK_COPPER_EXPORT_BOARD_H
#define UNPICK_COPPER_EXPORT_BOARD_H

#include "copper/board.h"
#include "copper/export.h"

/* A face's copper with all its places moved by what the sides were brought together with: in the view of its photo still,
 * where it would be had its corners been perfect. What export.h makes of it fits the other side's. Labels stay as they are.
 * On the arena. */
Copper export_board_face(Arena *arena, const BoardCopper *board, BoardSide side);

/* As export_labels, with the board's net numbers. */
bool export_board_labels(const char *path, const BoardCopper *board, BoardSide side, double scale);

/* {"unpick": 1, "fit": {...}, "nets": [...], "holes": [...], "doubts": [...], "conflicts": [...], "faces": [...]}
 * (doc/json.md); faces are as export_json writes them. */
void export_board_json(Out *out, const BoardCopper *board, Text name);
/* The same for a person at a terminal. */
void export_board_text(Out *out, const BoardCopper *board);

/* The net list of both sides: a plated hole once, with access from both. nets: names, size nets.count, or NULL. */
void export_board_ipc356(Out *out, const BoardCopper *board, Text name, const Text *nets);

#endif
