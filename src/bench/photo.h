/* What the photos of a board add to a bench: where each pin meets the copper, which joins that makes and how surely, and
 * what is still to be asked. The photos of a board count when a note says its size.
 *
 * Places are in millimetres from the board's top-left corner, seen from the top, as in the notes. */
#ifndef UNPICK_BENCH_PHOTO_H
#define UNPICK_BENCH_PHOTO_H

#include "copper/board_pieces.h"
#include "note/note.h"

/* What bounds a file made to be a nuisance. */
enum { BENCH_BOARDS_MOST = 16, BENCH_PADS_MOST = 50000, BENCH_WORDS_MOST = 4096, BENCH_ASKS_MOST = 1000 };

typedef struct BenchBoard {
    Text name;
    const Note *note;               /* that says its size */
    const Note *photo[BOARD_SIDES]; /* NULL: none */
    BoardCopper copper;
    BoardPieces pieces;
    uint32_t first_piece; /* of the bench's; its piece n is first_piece + n - 1 */
    const uint32_t *net;  /* size copper.nets.count + 1: the bench's net, BENCH_NONE where no pin or name is on it */
} BenchBoard;

typedef enum BenchMeets { BENCH_MEETS_ONE, BENCH_MEETS_NONE, BENCH_MEETS_TWO, BENCH_MEETS_UNSEEN } BenchMeets;

/* Where a pin meets the copper of one side, or should. */
typedef struct BenchPad {
    uint32_t pin, board;
    BoardSide side;
    BenchMeets meets;
    PlacePoint at;
    double radius;    /* mm within which it should meet one net */
    uint32_t net;     /* the board's; 0: none */
    uint32_t other;   /* when it meets two: the second */
    uint32_t piece;   /* of the board; 0 unless it meets one */
    const Note *note; /* that places it */
} BenchPad;

/* A join that a photo shows: of a pad to the copper under it, or of two pieces of copper through a neck or a hole. */
typedef struct BenchStep {
    uint32_t board;
    BoardSide side;
    PlacePoint at;
    uint32_t a, b;     /* nodes, while the bench is built */
    uint32_t doubt;    /* index of the board's doubts; BENCH_NONE: a pad, a hole nobody doubts, or what a word joins */
    bool hole;         /* it is a hole */
    uint32_t pad;      /* index of the bench's pads; BENCH_NONE: a neck or a hole */
    double trust;      /* probability */
    const Note *photo; /* that shows it */
    bool used;         /* it joins what nothing surer does */
} BenchStep;

/* Something that a photo leaves open. */
typedef struct BenchAsk {
    Text says;     /* "Beep U1.8 to R8.2: ..." */
    double p;      /* that the two are joined; NAN when it is no such question */
    double stake;  /* 0..1: how much of the circuit the answer touches */
    uint32_t step; /* the step that the answer settles; BENCH_NONE */
    uint32_t line; /* of the note behind it; 0 */
} BenchAsk;

#endif
