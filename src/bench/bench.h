/* The model of one teardown, built from its notes and the photos of its boards: parts, pins, nets, readings, and what
 * contradicts what. The table of contents of this room:
 *   kinds.h  kinds of part      photo.h  what photos of the copper add
 *
 * Everything is an index into an array here; nothing is changed after bench_build. */
#ifndef UNPICK_BENCH_BENCH_H
#define UNPICK_BENCH_BENCH_H

#include "bench/kinds.h"
#include "bench/photo.h"
#include "mark/mark.h"
#include "note/note.h"
#include "shelf/shelf.h"

enum { BENCH_NONE = UINT32_MAX };

/* A board has some hundred parts; these bound what a file made to be a nuisance can cost. The first conflict is always
 * listed, whatever the length of its chain. */
enum { BENCH_CONFLICTS_MOST = 1000, BENCH_CONFLICT_LINES_MOST = 256 * 1024, BENCH_MARKINGS_MOST = 2000, BENCH_CALLOUTS_MOST = 1000 };
enum { BENCH_MODES_MOST = 64, BENCH_WORKINGS_MOST = 4096 }; /* modes; drives, presses ... of all sorts together */

/* A short statement and the note lines under it. */
typedef struct BenchFact {
    Text says;
    double decibans;
    const uint32_t *lines; /* size line_count, ascending */
    uint32_t line_count;
} BenchFact;

typedef struct BenchPin {
    uint32_t part; /* index of the part */
    Text label;    /* as first written: `8`, `B`, `+` */
    Text function; /* its function where known (from kind, package numbering or shelf): `B`, `VCC`; else empty */
    int position;  /* among the pins of the part's kind, or -1 */
    uint32_t net;  /* index of the net; every pin is on one, if alone */
    uint32_t line; /* of the note that mentions it first */
} BenchPin;

/* A working unit: what an idiom's role stands for. Most parts are one unit of their own kind; a dual op-amp is a chip and
 * two op-amps. */
typedef struct BenchUnit {
    uint32_t part;
    const BenchKind *kind;
    const uint32_t *pins; /* size pin_count: pin index by position of the kind's pins, BENCH_NONE where not noted; for a
                             kind without pins of its own: all the part's noted pins */
    uint32_t pin_count;
} BenchUnit;

typedef struct BenchPart {
    Text ref;
    const BenchKind *kind; /* never NULL: `part` when nothing tells */
    BenchFact kind_why;
    const MarkPackage *package; /* NULL when unknown to lore */
    Text package_name;          /* as written, or empty */
    bool has_value;
    Quantity value; /* in the unit of its kind, tolerance as low and high */
    BenchFact value_why;
    Quantity rating; /* a second quantity of the note: `470uF 16V`; UNIT_NONE and 0 when unsaid */
    bool has_marking;
    Text marking;           /* may be empty: illegible */
    MarkReadings readings;  /* of the marking, narrowed by kind and package */
    const ShelfPart *shelf; /* what the marking names, or NULL */
    ShelfMatch shelf_match; /* when shelf is not NULL; decibans here: for it, against all else that the marking could be */
    uint32_t cell_count;    /* of a battery; 0 when unsaid */
    const MarkCell *cell;   /* never NULL; its designation is empty unless cell_count > 0 and lore knows the cell */
    const uint32_t *pins;   /* size pin_count: pins noted, in the order of first mention */
    uint32_t pin_count;
    uint32_t pins_has;     /* pins it has by package, shelf or kind; 0 when unknown */
    const uint32_t *units; /* size unit_count >= 1 */
    uint32_t unit_count;
    Text board; /* empty when unsaid */
    Text remark;
    const Note *note; /* its `part` note; NULL when it was only mentioned */
    uint32_t line;    /* of that note, or of the first mention */
} BenchPart;

typedef struct BenchNet {
    Text name;            /* given by `net`, or made of its first pin: `U1.8` */
    bool named;           /* by a note */
    const uint32_t *pins; /* size pin_count */
    uint32_t pin_count;
} BenchNet;

typedef enum BenchAbout { BENCH_ABOUT_NET, BENCH_ABOUT_PART, BENCH_ABOUT_PIN } BenchAbout;

typedef struct BenchReading {
    const Note *note;
    Text function; /* v, i, r ... */
    BenchAbout about_what;
    uint32_t about[2]; /* size about_count, indices of: nets for v, f and duty (v of a part with two pins: across them); the
                          part where a part was named, as in i(M1) and r(R1); pins otherwise: diode(Q1.B,Q1.E), i(U1.8) */
    uint32_t about_count;
    Quantity value; /* limits widened by the last digit as written */
    Text mode;      /* empty: in any */
} BenchReading;

/* ---- how it works: what the notes say of its modes ---- */

typedef struct BenchMode { /* declared by `mode`; each name once */
    Text name;
    const Note *note;
} BenchMode;

/* What a chip does with a pin. A drive without a mode holds in every mode in which no other drive of that pin stands. */
typedef struct BenchDrive {
    uint32_t pin;
    Text mode;             /* empty: any */
    const NoteDrive *says;
    const Note *note;
} BenchDrive;

typedef struct BenchAct { /* a switch pressed, a motor stalled */
    uint32_t part;
    Text mode; /* empty: any */
    const Note *note;
} BenchAct;

typedef struct BenchDuty {
    Text mode;
    Quantity share; /* of the time, 0..1 with its limits */
    const Note *note;
} BenchDuty;

typedef struct BenchGear {
    uint32_t part;
    const NoteGear *says;
    const Note *note;
} BenchGear;

typedef struct BenchMemory {
    uint32_t part;
    const NoteMemory *says;
    const Note *note;
} BenchMemory;

typedef enum BenchConflictKind {
    BENCH_JOINED_AND_APART,
    BENCH_TWO_NAMES,  /* one net has two names */
    BENCH_TWO_VALUES, /* two readings of one thing in one mode */
    BENCH_TOO_MANY_PINS,
    BENCH_NO_SUCH_PIN,       /* a pin number or function that the part does not have, or no pin said where it has several */
    BENCH_TWO_PARTS,         /* one reference described twice, differently */
    BENCH_VALUE_AND_READING, /* marked 10k, measured 4k7 */
    BENCH_PHOTO_AND_NOTES,   /* a photo shows joined what the notes keep apart, or the other way round: the notes count */
    BENCH_MODES_CLASH,       /* a pin driven two ways in one mode, two duties of one mode, duties beyond all the time, a part
                                geared or filled two ways */
    BENCH_CONFLICT_COUNT
} BenchConflictKind;

typedef struct BenchConflict {
    Text id; /* "joined-apart:U1.5,U1.6", stable while the notes are; ":LINE" behind it when the same comes again */
    BenchConflictKind kind;
    Text says;             /* a sentence that names the pins, parts and lines */
    Text settle;           /* what would settle it: "beep U1.5 to U1.6" */
    const uint32_t *lines; /* size line_count: every line involved, ascending */
    uint32_t line_count;
} BenchConflict;

/* What a `mark` points at. */
typedef struct BenchCallout {
    const Note *note; /* says what, and where: in mm on a board, in pixels of a photo */
    Text file;        /* in photos/; empty: it is on a board */
    Text board;
    BoardSide side;
    uint32_t number; /* from 1 on each photo and each side of a board */
} BenchCallout;

typedef struct Bench {
    Arena *arena;
    const Notebook *notebook;
    const BenchKinds *kinds;
    const Marks *marks;
    Shelf *shelf;
    Text folder; /* with photos/ in it; empty: photos are not looked at */
    LIST(BenchPart) parts;
    LIST(BenchPin) pins;
    LIST(BenchNet) nets;
    LIST(BenchUnit) units;
    LIST(BenchReading) readings;
    LIST(BenchMode) modes; /* of the lists of how it works, each thing once: the first that was said counts */
    LIST(BenchDrive) drives;
    LIST(BenchAct) presses, stalls;
    LIST(BenchDuty) duties;
    LIST(BenchGear) gears;
    LIST(BenchMemory) memories;
    LIST(BenchConflict) conflicts; /* at most BENCH_CONFLICTS_MOST, with BENCH_CONFLICT_LINES_MOST lines in all */
    uint32_t conflicts_left_out;   /* beyond that: counted, not listed */
    uint32_t markings_left_out;    /* parts whose marking was not looked up, beyond BENCH_MARKINGS_MOST different ones */
    Diags problems;                /* words of `part` notes that lore knows nothing of */
    const Note *product;           /* NULL when unsaid */
    const Note *licence;           /* of the report, the last said; NULL when unsaid */
    LIST(Text) boards;
    LIST(BenchBoard) photographed; /* boards whose copper is known */
    LIST(BenchPad) pads;
    LIST(BenchStep) steps;
    LIST(BenchAsk) asks;
    LIST(BenchCallout) callouts; /* in the order of the notes */
    /* what the header does not show: who joined what */
    struct BenchJoins *joins;
    Names *refs, *net_names;
} Bench;

typedef struct BenchKnows {
    const BenchKinds *kinds;
    const Marks *marks; /* may be NULL: markings are not read */
    Shelf *shelf;       /* may be NULL */
    const char *folder; /* with photos/ and derived/ in it; NULL: photos are not looked at */
    BoardKeep *keep;    /* boards traced before; NULL: none */
    /* how a board's photos become copper; NULL: board_trace */
    bool (*trace)(Arena *arena, const BoardAsked *asked, BoardCopper *board, Diags *problems);
} BenchKnows;

/* Never fails: what can't be placed becomes a conflict. The notebook must outlive the bench. */
Bench *bench_build(Arena *arena, const Notebook *notebook, BenchKnows knows);
/* The path of a file that a note names. */
Text bench_photo_path(Arena *arena, const Bench *bench, Text file);
/* The straightened photo of a side of a photographed board, for a picture: decodes it again. Freed by flat_free. False with a
 * problem: its copper is not known. */
bool bench_flat(Arena *arena, const Bench *bench, uint32_t board, BoardSide side, Flat *flat, Diags *problems);
/* Gives back what is not on the arena: the copper's pictures. */
void bench_free(Bench *bench);

/* The drive of a pin in a mode, by that mode's own note or by one for any; NULL when the notes say none. */
const BenchDrive *bench_drive(const Bench *bench, uint32_t pin, Text mode);

uint32_t bench_part(const Bench *bench, Text ref);                   /* BENCH_NONE when unknown */
uint32_t bench_pin(const Bench *bench, uint32_t part, Text label);   /* any spelling of it; BENCH_NONE when not noted */
uint32_t bench_net(const Bench *bench, Text name);                   /* by its name, or by a pin `U1.8` on it */
Text bench_pin_name(Arena *arena, const Bench *bench, uint32_t pin); /* `U1.8` */

/* A figure usual for the part: by the shelf, else by its kind. out source; false when neither knows one. */
bool bench_part_property(const BenchPart *part, Text name, Quantity *value, Text *source);

/* Why two pins of one net are joined: the notes of the chain between them, and the weakest of them. Of all chains it is one
 * whose weakest note is the strongest. lines: caller's array of `most`, from pin a to pin b, the same line twice
 * when the chain comes back to it; returns how many there are, which may be more; 0 for a pin and itself, and for pins of
 * two nets. */
typedef struct BenchChain {
    double weakest; /* probability, as bench_trust gives it; 1 for a pin and itself, 0 for pins of two nets */
    uint32_t weakest_line;
    NoteSource weakest_by;
    uint32_t weakest_step; /* when weakest_by is NOTE_BY_PHOTO: index of bench->steps */
} BenchChain;
size_t bench_chain(const Bench *bench, uint32_t pin_a, uint32_t pin_b, uint32_t *lines, size_t most, BenchChain *chain);

Text bench_reading_name(Arena *arena, const BenchReading *reading); /* `v(VDD)` */
/* Where and what a step is: "a neck of 0.12 mm at 12.3,4.5 mm on the bottom of board A, 78 % copper". */
Text bench_step_says(Arena *arena, const Bench *bench, uint32_t step);
/* "the bottom of board A" */
Text bench_side_name(Arena *arena, const BenchBoard *board, BoardSide side);

/* How a part stands on its board, by the note that places it and the outline of its package. */
typedef struct BenchPose {
    BoardSide side;
    bool through;      /* its legs go through the board, or nobody knows */
    double c, s, x, y; /* from the package's mm to the board's: the turn, then the shift */
    double apart, apart_outline; /* mm between two pins that the note places, there and on the outline; 0: it places none */
} BenchPose;
/* False when no package is known, or the note places nothing that the package has; the side is set all the same. */
bool bench_pose(const Bench *bench, const BenchPart *part, const Note *note, BenchPose *pose);
/* From the package's millimetres to the board's. */
PlacePoint bench_pose_at(const BenchPose *pose, double x, double y);
/* The board that a note speaks of among those photographed: said, or the only one; BENCH_NONE. */
uint32_t bench_board_of(const Bench *bench, const Note *note);

/* How far one note is to be trusted, as a probability: its `sure`, or its source's `weight` in lore. */
double bench_trust(const Bench *bench, const Note *note);

#endif
