/* Inside bench/: the bench while it is being built, and what its files owe each other.
 *
 * The order of work: describe.c (part notes), settle.c (what each part is), pins.c (which pins the notes name), photo.c (the
 * boards' copper, by way of places.c, where the pins are, and words.c, what the notes say of copper), landed.c (which copper
 * each pin meets), nets.c (which pins are joined; overrule.c keeps photos from what the notes exclude), doubts.c (what the
 * photos leave open), readings.c, modes.c (how it
 * works), conflicts.c (the listing of what contradicts). Each is linear in its notes. */
#ifndef UNPICK_BENCH_BUILD_H
#define UNPICK_BENCH_BUILD_H

#include "bench/bench.h"

#include <math.h>

/* What a statement joins: a pin or a net's name; a reading may also be about a part. The two top bits tell. */
#define NODE_PIN 0u
#define NODE_NAME 0x40000000u
#define NODE_PART 0x80000000u
#define NODE_PIECE 0x80000000u /* in a join, once boards are traced: a piece of copper. A part stands in readings only */
#define NODE_BARE 0xC0000000u /* a bare name, not yet known to be a net's or a part's; the rest is its number in `bare` */
#define NODE_SORT 0xC0000000u
#define NODE_NONE UINT32_MAX /* can't be placed; the conflict says why */

typedef struct Statement {
    uint32_t note;         /* index of the notebook's note */
    uint32_t first, count; /* its nodes: of its terminals, then of its places, which are none until boards are traced */
} Statement;

typedef LIST(Statement) Statements;

typedef struct JoinPin {
    int slot;          /* what every spelling of it comes to, or -1; see pins.c */
    uint32_t spelling; /* its first */
} JoinPin;

#define BY_STEP 0x80000000u /* of a forest's edge: a step of the bench, not a note */

/* What is kept of joining: a forest over the nodes (pins first, then net names, then pieces of copper), and the ways to find
 * a pin. */
struct BenchJoins {
    uint32_t node_count;
    uint32_t *up, *depth,
        *by; /* size node_count: the next node towards the root or BENCH_NONE; steps to it; index of the note, or of a step */
    uint32_t *net_of_name; /* by number of bench->net_names */
    Names *spelled;        /* `U1.8`, every spelling met */
    LIST(uint32_t) pin_of_spelling;
    LIST(JoinPin) pins; /* by pin */
};

enum { DRAFT_QUANTITIES_MOST = 4 };

/* What the notes say of one part, before it is settled. */
typedef struct Draft {
    const BenchKind *said;
    const Note *said_by, *package_by, *marking_by, *cell_by;
    struct {
        const NoteItem *item;
        const Note *note;
    } quantities[DRAFT_QUANTITIES_MOST];
    uint32_t quantity_count;
    double tolerance; /* as a fraction; 0 when unsaid */
} Draft;

typedef struct Build {
    Bench *bench;
    Arena *arena;       /* the bench's */
    Arena *scratch;     /* given back when the bench is built */
    Arena *drafting;    /* for the drafts; given back when the parts are settled */
    LIST(Draft) drafts; /* by part that has a note */
    Names *words;       /* words of part notes; see describe.c */
    LIST(struct WordMeaning) meanings;
    Names *markings; /* see settle.c */
    LIST(struct Identity) identities;
    LIST(uint32_t) nodes;
    Statements joins, aparts, reads;
    Names *bare;
    LIST(uint32_t) slotted;      /* by part: its last pin that has a slot, plus one */
    LIST(uint32_t) next_slotted; /* by pin: the one before, plus one */
    Names *conflict_ids;
    uint32_t pieces; /* of copper, of all boards */
    LIST(struct PinSpot) spots;
    size_t conflict_lines;
    int year; /* of purchase; 0 when unsaid */
} Build;

/* Index of the part called so, made if need be (kind by its letters). */
uint32_t build_part(Build *b, Text ref, const Note *note);
void build_describe(Build *b);
void build_settle(Build *b);
void build_pins(Build *b);
void build_photos(Build *b, BenchKnows knows);
void build_pin_lists(Build *b);
void build_units(Build *b);
void build_pin_conflicts(Build *b);
void build_nets(Build *b);
void build_readings(Build *b);
void build_callouts(Build *b);
void build_modes(Build *b);


/* ---- photos ---- */

/* Where a pin is, by the note that places its part. */
typedef struct PinSpot {
    uint32_t pin, board;
    bool on[BOARD_SIDES]; /* the sides whose copper it can meet */
    bool loose;           /* it may be its mate's place: the part fits either way round */
    PlacePoint at;
    double radius;
    const Note *note;
} PinSpot;

/* The side that a note speaks of: said, or the only one that has a photo; false when both have. */
bool build_side_of(const Build *b, uint32_t board, const Note *note, BoardSide *side);
void build_spots(Build *b);
/* What the notes say of a board's copper, into what is asked of it. */
void build_words(Build *b, uint32_t board, BoardAsked *asked);
void build_landings(Build *b);
void build_mates(Build *b);
void build_words_without_board(Build *b);
void build_ask(Build *b, BenchAsk ask);
void build_problem(Build *b, const Note *note, Text message, Text expected, Text hint);

/* ---- what photos may not join ---- */

typedef struct Forest {
    struct BenchJoins *joins;
    uint32_t *root, *size;
    struct Overrule *overrule; /* NULL: there are no photos */
} Forest;

/* What photos leave open, once nets are made. */
void build_doubts(Build *b, Forest *forest);
uint32_t build_node_number(const Build *b, uint32_t node);
uint32_t forest_find(Forest *forest, uint32_t node);
struct Overrule *overrule_new(Build *b);
/* Two trees become one: `gone` hangs below `root`. */
void overrule_unite(struct Overrule *overrule, uint32_t root, uint32_t gone);
/* Whether the notes keep two trees apart; then the conflict is listed. */
bool overrule_step(Build *b, Forest *forest, uint32_t root_a, uint32_t root_b, const BenchStep *step);
/* Whether they do; out: the note, or NULL when it is two names. */
bool overrule_apart(Build *b, Forest *forest, uint32_t root_a, uint32_t root_b, const Note **by);

/* Index of a pin, made with its part if need be. */
uint32_t build_pin(Build *b, NoteTerminal terminal, const Note *note);
/* Slot, position among the kind's pins and function of a label on a part; slot and position -1 when unknown. */
typedef struct PinPlace {
    int slot, position;
    Text function;
} PinPlace;
PinPlace build_pin_place(const BenchKinds *kinds, const BenchPart *part, Text label);

/* ---- conflicts ---- */

/* Whether one more will be listed; when not, it is counted here and need not be put into words. */
bool build_conflict_listed(Build *b);
/* Lists one. lines: size count, in any order; sorted and thinned here. */
void build_conflict(Build *b, BenchConflictKind kind, Text id, Text says, Text settle, uint32_t *lines, size_t count);
/* "line 3", "lines 3, 4 and 9"; at most a dozen, then how many more. lines are sorted and thinned in place. */
void build_say_lines(Out *out, uint32_t *lines, size_t *count);

/* The chain between two nodes; as bench_chain. */
size_t build_chain(const Bench *bench, uint32_t node_a, uint32_t node_b, uint32_t *lines, size_t most, BenchChain *chain);
/* The name of a node: a pin's, or a net's. */
Text build_node_name(Arena *arena, const Bench *bench, uint32_t node);

/* A label of digits alone: its number, capped at UINT32_MAX - 1; false for others. */
bool build_is_number(Text label, uint32_t *number);

#endif
