/* A board's nets in pieces. Where copper is taken to go on at a doubtful neck, its net is cut there: so it can be told
 * which doubts lie between two of its places, and how surely they are one. */
#ifndef UNPICK_COPPER_BOARD_PIECES_H
#define UNPICK_COPPER_BOARD_PIECES_H

#include "copper/board.h"

/* Two pieces that one doubtful place, one hole, or a person's word makes one net. */
typedef struct BoardSeam {
    uint32_t a, b;  /* pieces */
    double p;       /* probability that it does */
    uint32_t doubt; /* index of board->doubts, or UINT32_MAX: */
    uint32_t hole;  /* ... index of board->holes, or UINT32_MAX: a word, or the other side */
} BoardSeam;

typedef struct BoardPieces {
    const BoardCopper *board;
    uint32_t count;                  /* pieces are numbered from 1 */
    uint32_t first[BOARD_SIDES];     /* of a face: its local piece n is number first + n */
    const uint16_t *of[BOARD_SIDES]; /* local piece of each pixel, size of the face's labels; NULL when it isn't known */
    uint32_t *pixel[BOARD_SIDES];    /* size its pieces + 1: a pixel of each local piece */
    LIST(BoardSeam) seams;
} BoardPieces;

/* On the arena; the board must outlive it. A face without doubts costs nothing. */
BoardPieces board_pieces(Arena *arena, const BoardCopper *board);

/* The board's net of a piece, 0 when cuts left nothing of it; and a place on it (the top's mm). */
uint32_t board_piece_net(const BoardPieces *pieces, uint32_t piece);
PlacePoint board_piece_place(const BoardPieces *pieces, uint32_t piece);
/* The piece of this net of the board with the most copper within `radius` mm of a place (the top's mm) of a face; 0: none.
 */
uint32_t board_piece_under(const BoardPieces *pieces, BoardSide side, PlacePoint mm, double radius, uint32_t net);

#endif
