/* Bench notes: one line, one observation. doc/notes.md is the grammar; the rules stand above the functions that read them.
 *
 * Everything here points into the file's text and lives on the arena it was read with. */
#ifndef UNPICK_NOTE_NOTE_H
#define UNPICK_NOTE_NOTE_H

#include "base/diag.h"
#include "base/quantity.h"

typedef enum NoteVerb {
    NOTE_PRODUCT,
    NOTE_BOUGHT,
    NOTE_RATED,
    NOTE_STEP,
    NOTE_BOARD,
    NOTE_PHOTO,
    NOTE_PART,
    NOTE_JOIN,
    NOTE_APART,
    NOTE_NET,
    NOTE_CUT,
    NOTE_BRIDGE,
    NOTE_HIDDEN,
    NOTE_HOLE,
    NOTE_COPPER,
    NOTE_BARE,
    NOTE_MODE,
    NOTE_DRIVE,
    NOTE_PRESS,
    NOTE_STALL,
    NOTE_DUTY,
    NOTE_GEAR,
    NOTE_MEMORY,
    NOTE_READ,
    NOTE_CLAIM,
    NOTE_ASK,
    NOTE_MARK,
    NOTE_LICENCE,
    NOTE_STRIKE,
    NOTE_VERB_COUNT
} NoteVerb;

/* Where an observation comes from; unsaid is taken as by eye. */
typedef enum NoteSource {
    NOTE_BY_UNSAID,
    NOTE_BY_EYE,
    NOTE_BY_METER,
    NOTE_BY_SCOPE,
    NOTE_BY_DATASHEET,
    NOTE_BY_LABEL,
    NOTE_BY_GUESS,
    NOTE_BY_PHOTO, /* what the copper of a photo says; no note can say it */
    NOTE_SOURCE_COUNT
} NoteSource;

/* `U1.8` is part U1, pin 8. A bare name (`VBAT`, `M1`) has an empty pin: a net, or a part as a whole. */
typedef struct NoteTerminal {
    Text part, pin;
} NoteTerminal;

typedef struct NoteQuantity {
    Quantity quantity;
    Text written;
} NoteQuantity;

typedef struct NotePoint {
    double x, y; /* mm on a board, pixels on a photo */
} NotePoint;

typedef enum NoteSide { NOTE_SIDE_UNSAID, NOTE_SIDE_TOP, NOTE_SIDE_BOTTOM } NoteSide;

/* What may stand in any statement, in any order. */
typedef struct NoteQualifiers {
    NoteSource by;
    bool placed;
    NoteSide side;    /* of the board */
    double sure;      /* 0..1; NAN when unsaid */
    Text mode, board; /* empty when unsaid */
    Text photo;       /* file name, empty when unsaid */
    Text remark;      /* empty when there is none */
    NotePoint at;     /* if placed: mm, seen from the top; of a mark on a photo, its pixels */
} NoteQualifiers;

typedef struct NoteProduct {
    Text name;
    const Text *tags; /* size tag_count: household, mains, toy ... */
    uint32_t tag_count;
} NoteProduct;

typedef struct NoteBought {
    Text date;     /* ISO 8601, as written, checked */
    double price;  /* NAN when unsaid */
    Text currency; /* ISO 4217 */
} NoteBought;

/* One word of `rated` or `part`: a quantity, or a plain word (a sign of the label, a package, a kind). */
typedef struct NoteItem {
    Text written;
    bool is_quantity;
    Quantity quantity;
} NoteItem;

typedef struct NoteItems {
    const NoteItem *items; /* size count */
    uint32_t count;
} NoteItems;

typedef struct NoteStep {
    uint32_t number;
    Text what, tool;
} NoteStep;

typedef struct NoteBoard {
    Text name;
    Text size;              /* as written: `46.5 x 21.0 mm`; empty when unsaid */
    Quantity width, height; /* UNIT_METRE; value 0 when unsaid */
    uint32_t layers;        /* 0 when unsaid */
    Text material;
} NoteBoard;

typedef struct NotePhoto {
    Text of; /* board name, or empty: of the product */
    NoteSide side;
    Text file;
    bool has_corners;
    NotePoint corners[4]; /* pixels: top-left, top-right, bottom-right, bottom-left as seen */
} NotePhoto;

typedef struct NotePinPlace {
    Text pin;
    NotePoint at; /* mm */
} NotePinPlace;

typedef struct NotePart {
    Text ref;
    NoteItems words;     /* package, kind, value, tolerance, in the order written; `4 x LR03` is in cells */
    uint32_t cell_count; /* of `4 x LR03`; 0 when unsaid */
    Text cell;
    const NotePinPlace *pins; /* size pin_count: placed by two pins */
    uint32_t pin_count;       /* 0 or 2 */
    bool has_turn;
    double turn; /* degrees, anticlockwise seen from the part's side */
    bool has_marking;
    Text marking; /* may be empty: nothing legible */
} NotePart;

typedef struct NoteNet {           /* join, apart, net */
    Text name;                     /* of `net`; empty in join and apart */
    const NoteTerminal *terminals; /* size count */
    const NotePoint *places;       /* size place_count: on the copper of with->board, mm */
    uint32_t count, place_count;
} NoteNet;

typedef struct NotePoints { /* bridge: two; hidden: the corners of an outline */
    const NotePoint *at;    /* size count, mm */
    uint32_t count;
} NotePoints;

typedef enum NotePlating { NOTE_PLATING_UNSAID, NOTE_PLATED, NOTE_BARE_HOLE } NotePlating;

typedef struct NoteHole { /* where it is: with->at */
    NoteQuantity diameter; /* UNIT_METRE; value 0 when unsaid */
    NotePlating plating;
} NoteHole;

typedef enum NoteLevel {
    NOTE_LEVEL_HIGH,
    NOTE_LEVEL_LOW,
    NOTE_LEVEL_OPEN,
    NOTE_LEVEL_FREQUENCY,
    NOTE_LEVEL_VOLTS,
    NOTE_LEVEL_COUNT
} NoteLevel;

typedef struct NoteDrive { /* what a chip does with a pin; when: with->mode, empty for any */
    NoteTerminal pin;
    NoteLevel level;
    NoteQuantity value; /* UNIT_HERTZ or UNIT_VOLT, by level; written is empty for high, low and open */
    NoteQuantity duty;  /* share of the period at high, 0..1; written is empty when unsaid */
} NoteDrive;

typedef struct NoteRefs { /* press, stall: parts as a whole */
    const Text *refs;     /* size count */
    uint32_t count;
} NoteRefs;

typedef struct NoteDuty { /* how much of the time a mode lasts: `2 s per 30 min`, or a share */
    Text mode;
    NoteQuantity on;  /* UNIT_SECOND; a share, 0..1 and UNIT_NONE, when per is not said */
    NoteQuantity per; /* UNIT_SECOND; written is empty when unsaid */
} NoteDuty;

typedef struct NoteRatio { /* teeth, or diameters in one unit */
    double driving, driven;
} NoteRatio;

typedef struct NoteGear { /* a train of wheels or belts, from the motor on */
    Text ref;
    const NoteRatio *stages; /* size count >= 1 */
    uint32_t count;
} NoteGear;

typedef struct NoteMemory { /* how much a memory holds of what */
    Text ref;
    NoteQuantity size;   /* UNIT_BIT */
    NoteQuantity rate;   /* samples: UNIT_HERTZ; or bit/s; written is empty when unsaid */
    NoteQuantity sample; /* UNIT_BIT, each; written is empty when unsaid */
} NoteMemory;

typedef struct NoteReading {
    Text function;             /* v, i, r, c, l, f, t, p, diode, beep ... */
    NoteTerminal terminals[2]; /* size terminal_count, 1 or 2 */
    uint32_t terminal_count;
    NoteQuantity value;
} NoteReading;

typedef struct NoteClaim {
    NoteTerminal about;
    Text says;
} NoteClaim;

typedef struct NoteMark { /* a callout: with->at is on the photo `file`, else on the board of the qualifiers */
    Text file;            /* empty: a board */
    Text says;
} NoteMark;

typedef struct Note {
    uint32_t line; /* from 1 */
    NoteVerb verb;
    const NoteQualifiers *with; /* never NULL */
    union {
        NoteProduct product;
        NoteBought bought;
        NoteItems rated;
        NoteStep step;
        const NoteBoard *board;
        const NotePhoto *photo;
        const NotePart *part;
        NoteNet net; /* join, apart, net */
        NotePoints points;
        const NoteHole *hole;
        Text mode;
        const NoteDrive *drive;
        NoteRefs parts; /* press, stall */
        const NoteDuty *duty;
        NoteGear gear;
        const NoteMemory *memory;
        const NoteReading *reading;
        NoteClaim claim;
        Text ask;
        NoteMark mark;
        Text licence;
        uint32_t strike; /* the line it voids */
    };
} Note;

typedef struct Notebook {
    Text file;         /* its name, for places */
    LIST(Note) notes;  /* in file order; what was struck is left out, and so is every `strike` */
    LIST(Note) struck; /* the lines struck and the strikes that did it, in file order, for showing */
    Diags problems;
    uint32_t lines; /* lines in the file */
} Notebook;

/* The note that begins in this line; NULL when there is none. */
Note *note_of_line(const Notebook *book, uint32_t line);

/* Reads a whole file's text. A bad line becomes a problem and is skipped; all the others count. Never fails. */
Notebook *note_read(Arena *arena, Text file, Text content);

/* Reads one line, as `note_read` would (line: its number for places). False, with a problem added, when it is not a note;
 * also false, without a problem, for a blank or comment line. */
bool note_parse(Arena *arena, Text file, uint32_t line, Text text, Note *note, Diags *problems);

/* Writes the note as one line in canonical spacing and order, without the newline; reading it gives the same note. */
void note_print(Out *out, const Note *note);
void note_terminal_print(Out *out, NoteTerminal terminal);
void note_file_print(Out *out, Text name); /* between quotes where it must be */
/* Whether two notes say the same; where they stand does not matter. */
bool note_same(const Note *a, const Note *b);

Text note_verb_name(NoteVerb verb);
Text note_source_name(NoteSource source);
Text note_level_name(NoteLevel level); /* `high`, `low`, `open`; empty for the others */

enum { NOTE_FILE_MOST = 256 * 1024 * 1024, NOTE_LINE_MOST = 64 * 1024, NOTE_TERMINALS_MOST = 4096, NOTE_POINTS_MOST = 256, NOTE_STAGES_MOST = 32 };

/* ---- the folder ---- */

/* Makes a teardown folder with a notes file that begins with how to go on. False with a problem: it exists and is not
 * empty, or the system refused. */
bool note_new_folder(const char *folder, Diags *problems);
/* Reads folder/notes.txt; NULL with a problem when it can't be read. `folder` may also be a notes file itself. */
Notebook *note_read_folder(Arena *arena, const char *folder, Diags *problems);
/* Checks the line, appends it under a lock, fsyncs, and only then gives true (line: where it landed). On false nothing was
 * added: the problems say what was expected, where, and the nearest right spelling. A file whose last newline is missing
 * gets it first. A strike must find its line, and a line that a strike voids in advance is refused. */
bool note_append(const char *folder, Text text, uint32_t *line, Diags *problems);
/* Only the checking: whether note_append would add the line, as the file stands now. */
bool note_check(const char *folder, Text text, Diags *problems);

#endif
