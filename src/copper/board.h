/* One board from the photos of its sides: both faces traced, brought into the top's millimetres by their holes and outline,
 * and joined through plated holes into the board's nets.
 *
 * Places are in the top's view throughout: mm from the board's top-left corner seen from the top, x right, y down, for the
 * bottom face too. Only what BoardFace.copper holds is in the view of that face's own photo; board_to_face and
 * board_from_face go from one to the other.
 *
 * A face of a photo already asked about costs no decoding and no network when a cache folder is given: it is found by the
 * photo's content, the board's size, the corners and the network's weights; its nets by the words and hints as well. The
 * folder may be deleted at any time, and nothing in it is trusted: a file that is not whole is computed again. */
#ifndef UNPICK_COPPER_BOARD_H
#define UNPICK_COPPER_BOARD_H

#include "copper/copper.h"

typedef enum BoardSide { BOARD_TOP, BOARD_BOTTOM, BOARD_SIDES } BoardSide;

typedef enum BoardPlating {
    BOARD_PLATING_UNSAID,
    BOARD_PLATED, /* metal joins the sides in it */
    BOARD_BARE    /* it does not */
} BoardPlating;

/* ---- what is asked ---- */

typedef struct BoardFaceAsked {
    const char *photo;       /* its path; NULL: there is none of this face */
    bool has_corners;        /* else they are looked for */
    PlacePoint corners[4];   /* pixels as seen in this photo: top-left first, clockwise. The bottom is seen mirrored
                              * left-right:   its top-left corner is the board's top-right one from the top */
    const CopperWord *words; /* size word_count: of this face; their lines are kept for conflicts */
    size_t word_count;
    const LayerHint *hints; /* size hint_count */
    size_t hint_count;
} BoardFaceAsked;

/* What a note says of a hole. */
typedef struct BoardHoleAsked {
    PlacePoint at;
    double diameter; /* mm, 0: unsaid */
    BoardPlating plating;
    uint32_t line; /* of the note, 0 when an option */
} BoardHoleAsked;

typedef struct BoardAsked {
    double width_mm, height_mm; /* seen from the top */
    BoardFaceAsked face[BOARD_SIDES];
    const BoardHoleAsked *holes; /* size hole_count */
    size_t hole_count;
    bool coarse;       /* a first look, at once: the larger the board the coarser; nothing of it is kept */
    const char *cache; /* a folder for what can be computed again, made when it isn't there; NULL: none */
    struct BoardKeep *keep; /* what this process has traced before; NULL: nothing is kept */
} BoardAsked;

/* ---- what comes of it ---- */

typedef struct BoardFace {
    bool known;            /* there is a photo and its copper was traced; else all else is zero */
    Copper copper;         /* in this photo's own view, its nets by its own numbers */
    uint32_t *net;         /* size copper.nets.count + 1: the board's net of each; net[0] is 0 */
    unsigned char *unseen; /* size copper.width * copper.height: from 128 on it can't be told what is here */
    PlacePoint corners[4]; /* pixels: as given or found */
    double corners_sure;   /* 1 when given */
    bool cached;           /* nothing was decoded */
    bool unplaced;         /* not known, since its photo could be read but no board was found in it */
    double to_top[9];      /* mm of this view, mirrored when it is the bottom's, to the top's: a homography near 1 */
    double from_top[9];    /* the other way */
} BoardFace;

typedef struct BoardHole {
    PlacePoint at;
    double diameter;               /* mm */
    uint32_t net[BOARD_SIDES];     /* the board's net of the copper round it on each face; 0: none, or not known */
    uint32_t on_face[BOARD_SIDES]; /* its number among that face's copper.holes, or UINT32_MAX */
    BoardPlating plating;          /* as noted, or PLATED when found on both faces with copper round it */
    double p_plated;               /* probability */
    bool noted;
    uint32_t line; /* of the note, or 0 */
} BoardHole;

/* A place where one measurement decides whether two of the board's nets are one: a neck or gap of a face, or a hole that
 * only one photo shows. */
typedef struct BoardDoubt {
    PlacePoint at;
    BoardSide side; /* the face it is seen on */
    bool hole;      /* it is about the hole there: answer with `hole ... plated` or bare, else with joined or apart */
    bool joined;    /* how it was taken */
    double p_joined;
    double width; /* of the neck, gap or hole, mm */
    Text looks;
    PlacePoint a, b;          /* where to put the probes */
    BoardSide side_a, side_b; /* and on which face */
    uint32_t net_a, net_b;    /* the board's; equal when joined */
} BoardDoubt;

typedef struct BoardConflict {
    PlacePoint at;
    BoardSide side;
    Text says;
    uint32_t line;
} BoardConflict;

typedef struct BoardNet {
    uint32_t pads;            /* on both faces; one with a plated hole counts once */
    double area[BOARD_SIDES]; /* mm2 on each face */
} BoardNet;

/* How well the two photos agree, once brought together. */
typedef struct BoardFit {
    uint32_t holes;    /* seen on both; below BOARD_FIT_HOLES the outline alone brings the sides together */
    double mean, most; /* mm between their centres */
    unsigned turns;    /* quarter turns that corners found by themselves were given since the holes say so */
} BoardFit;

enum { BOARD_FIT_HOLES = 3 };

typedef struct BoardCopper {
    double width_mm, height_mm;
    BoardFace face[BOARD_SIDES];
    LIST(BoardNet) nets; /* net n is nets.at[n - 1]; with one face only, n is that face's own number */
    LIST(BoardHole) holes;
    LIST(BoardDoubt) doubts; /* most worth asking first */
    LIST(BoardConflict) conflicts;
    BoardFit fit;
    double area;      /* of all copper, mm2 */
    double narrowest; /* the narrowest neck between two pads of any net, mm; 0: none */
    PlacePoint narrowest_at;
    BoardSide narrowest_side;
    double gap_least; /* between two of the board's nets on one face, mm; 0: none */
    PlacePoint gap_at;
    BoardSide gap_side;
    struct BoardKept *kept; /* whose all of it is, while it is held; NULL: nobody else's */
} BoardCopper;

/* False, with a problem that says what was expected and what to do, when no face could be traced; a face that could not, or
 * whose corners are a guess, beside one that could, is a problem only. Everything is on the arena but labels and unseen
 * (board_free). */
bool board_trace(Arena *arena, const BoardAsked *asked, BoardCopper *board, Diags *problems);
void board_free(BoardCopper *board); /* safe on a zeroed one */

/* Boards kept in memory, for one who asks for the same ones over and over: what was asked before is given again at once,
 * and belongs to all who hold it. It may be freed before the boards it gave. One thread at a time may trace with it; any may
 * let go of a board. */
typedef struct BoardKeep BoardKeep;
BoardKeep *board_keep_new(void);
void board_keep_free(BoardKeep *keep); /* NULL is fine */

/* ---- places ---- */

/* From the top's mm to those of a face's own photo, and back. */
PlacePoint board_to_face(const BoardCopper *board, BoardSide side, PlacePoint mm);
PlacePoint board_from_face(const BoardCopper *board, BoardSide side, PlacePoint mm);

/* The board's net at a place of a face; 0: none, or the face isn't known. */
uint32_t board_net_at(const BoardCopper *board, BoardSide side, PlacePoint mm);

/* What lies under a pin's pad: the board's nets within `radius` mm (at most BOARD_UNDER_MM) of a place, most copper first.
 */
typedef struct BoardUnderNet {
    uint32_t net;
    double share;       /* of the disc, 0..1 */
    PlacePoint nearest; /* of its copper to the place */
} BoardUnderNet;
typedef struct BoardUnder {
    BoardUnderNet net[4]; /* the first nets there */
    uint32_t count;
    double copper; /* share of the disc that is copper of any net */
    double unseen; /* share that can't be told or lies outside the board; all of it when the face isn't known */
} BoardUnder;
#define BOARD_UNDER_MM 10.0
BoardUnder board_under(const BoardCopper *board, BoardSide side, PlacePoint mm, double radius);

/* The board's hole whose edge or inside is nearest to a place, within `reach` mm; UINT32_MAX: none. */
uint32_t board_hole_at(const BoardCopper *board, PlacePoint mm, double reach);

/* The board's nets of a face as labels: what export_* take as Copper has the face's own numbers, and this gives the board's
 * names in that order, "N12" or those of `names` (size nets.count, an empty one: unnamed; NULL: all). On the arena, size
 * copper.nets.count. */
const Text *board_names(Arena *arena, const BoardCopper *board, BoardSide side, const Text *names);

/* The face's photo straightened as it was traced, for a picture: decodes it again. Freed by flat_free. */
bool board_flat(const BoardAsked *asked, const BoardCopper *board, BoardSide side, Flat *flat, Diags *problems);

#endif
