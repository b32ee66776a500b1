/* Where the pins of placed parts are. The package's outline (lore) is turned and moved to where a note has the part: by its
 * centre and turn, or by two pins, which is the turn and the shift that bring both as near as can be. A part on the bottom
 * is seen mirrored from the top.
 *
 * The side: as the note says. Unsaid, a part with legs through the board stands on the top; a part on the surface sits
 * where its copper is: on the only photographed side of a board that is not said to have two layers, else on the top. */
#include "bench/build.h"

#include <string.h>

static const double SCALE_SLACK = 0.1;     /* two pins and an outline may differ by this fraction */
static const double RADIUS_OF_PITCH = 0.3; /* of the distance to the nearest pin: rule of thumb, clear of its pad */
static const double RADIUS_LEAST = 0.12, RADIUS_MOST = 0.7; /* mm */
static const double RADIUS_ALONE = 0.4;                     /* mm, where no outline tells */

typedef struct Outline {
    Build *b;
    const Note *note;
    uint32_t part, board;
    BoardSide side;
    bool through;      /* its legs go through the board, or nobody knows */
    double c, s, x, y; /* from the package's mm to the board's: the turn, then the shift */
} Outline;

/* ---- the side ---- */

static BoardSide side_of(const Build *b, uint32_t board, const Note *note, bool through) {
    const BenchBoard *at = &b->bench->photographed.at[board];
    if (note->with->side != NOTE_SIDE_UNSAID) return note->with->side == NOTE_SIDE_BOTTOM ? BOARD_BOTTOM : BOARD_TOP;
    bool only_bottom = at->photo[BOARD_TOP] == NULL && at->note->board->layers < 2;
    return !through && only_bottom ? BOARD_BOTTOM : BOARD_TOP;
}

/* ---- one pin ---- */

/* The label by which a pin of the outline is known to the notes; false when the outline's number does not tell which it is.
 */
static bool pin_known(const Outline *o, Text label) {
    const Bench *bench = o->b->bench;
    const BenchPart *part = &bench->parts.at[o->part];
    return part->kind->pin_count == 0 || bench_is_pad_name(bench->kinds, label) ||
           build_pin_place(bench->kinds, part, label).slot >= 0;
}

static bool fits_either_way(const BenchPart *part) {
    return part->kind->pin_count == 2 && part->kind->mate[0] != 0 && part->package != NULL && part->package->pin_count == 2;
}

static void add_spot(const Outline *o, Text label, PlacePoint at, double radius, bool loose) {
    Build *b = o->b;
    if (b->spots.count == BENCH_PADS_MOST) return;
    const BenchPart *part = &b->bench->parts.at[o->part];
    PinSpot spot = {.board = o->board, .at = at, .radius = radius, .loose = loose, .note = o->note};
    spot.pin = build_pin(b, (NoteTerminal){part->ref, label}, o->note);
    spot.on[BOARD_TOP] = o->through || o->side == BOARD_TOP;
    spot.on[BOARD_BOTTOM] = o->through || o->side == BOARD_BOTTOM;
    list_push(b->scratch, &b->spots, spot);
}

/* ---- outlines ---- */

static PlacePoint seen(const Outline *o, const MarkPin *pin) {
    double x = o->side == BOARD_BOTTOM ? -pin->x : pin->x;
    return (PlacePoint){o->c * x + o->s * pin->y + o->x, -o->s * x + o->c * pin->y + o->y};
}

static double radius_of(const MarkPackage *package, uint32_t pin) {
    double nearest = INFINITY;
    for (uint32_t i = 0; i < package->pin_count; i++) {
        double far = hypot(package->pins[i].x - package->pins[pin].x, package->pins[i].y - package->pins[pin].y);
        if (i != pin && far > 0 && far < nearest) nearest = far;
    }
    return isinf(nearest) ? RADIUS_ALONE : fmin(fmax(RADIUS_OF_PITCH * nearest, RADIUS_LEAST), RADIUS_MOST);
}

static void add_outline(const Outline *o, const MarkPackage *package, bool loose) {
    bool untold = false;
    for (uint32_t i = 0; i < package->pin_count; i++) {
        if (pin_known(o, package->pins[i].number))
            add_spot(o, package->pins[i].number, seen(o, &package->pins[i]), radius_of(package, i), loose);
        else
            untold = true;
    }
    if (!untold) return;
    const BenchPart *part = &o->b->bench->parts.at[o->part];
    build_problem(o->b, o->note,
                  text_fmt(o->b->arena, "which pin of %.*s is which? %.*s as %.*s has no numbering in the lore",
                           TEXT_ARG(part->ref), TEXT_ARG(part->kind->name), TEXT_ARG(package->name)),
                  text_fmt(o->b->arena, "two of its pins with their places: part %.*s pin %.*s at X,Y pin %.*s at X,Y",
                           TEXT_ARG(part->ref), TEXT_ARG(part->kind->pins[0]),
                           TEXT_ARG(part->kind->pins[part->kind->pin_count > 1])),
                  TEXT(""));
}

/* Anticlockwise as seen from the part's side; from the top, a part on the bottom turns the other way. */
static void turn_by(Outline *o, double degrees) {
    const double half_turn = 3.14159265358979323846;
    double angle = (o->side == BOARD_BOTTOM ? -degrees : degrees) * half_turn / 180;
    o->c = cos(angle), o->s = sin(angle);
}

/* ---- by two pins ---- */

static const MarkPin *outline_pin(const Outline *o, const MarkPackage *package, Text label) {
    const Bench *bench = o->b->bench;
    const BenchPart *part = &bench->parts.at[o->part];
    int slot = build_pin_place(bench->kinds, part, label).slot;
    for (uint32_t i = 0; i < package->pin_count; i++) {
        Text number = package->pins[i].number;
        if (text_same_folded(number, label)) return &package->pins[i];
        if (slot >= 0 && build_pin_place(bench->kinds, part, number).slot == slot) return &package->pins[i];
    }
    return NULL;
}

/* Turn and shift from two pins and their places. False when the outline lacks one of them. */
static bool fit(Outline *o, const MarkPackage *package, const NotePinPlace *pins) {
    const MarkPin *a = outline_pin(o, package, pins[0].pin), *b = outline_pin(o, package, pins[1].pin);
    if (a == NULL || b == NULL || a == b) return false;
    double mirror = o->side == BOARD_BOTTOM ? -1 : 1, from_x = mirror * (b->x - a->x), from_y = b->y - a->y,
           to_x = pins[1].at.x - pins[0].at.x, to_y = pins[1].at.y - pins[0].at.y, from = hypot(from_x, from_y),
           to = hypot(to_x, to_y);
    if (from == 0 || to == 0) return false;
    if (fabs(to / from - 1) > SCALE_SLACK)
        build_problem(o->b, o->note,
                      text_fmt(o->b->arena, "pins %.*s and %.*s are %.2f mm apart here, but %.2f mm on %.*s",
                               TEXT_ARG(pins[0].pin), TEXT_ARG(pins[1].pin), to, from, TEXT_ARG(package->name)),
                      TEXT("two distances that differ by at most 10 %"),
                      TEXT("measure the two places again, or look at the package and the board's size"));
    o->c = (from_x * to_x + from_y * to_y) / (from * to), o->s = (from_y * to_x - from_x * to_y) / (from * to);
    o->x = o->y = 0;
    PlacePoint one = seen(o, a), other = seen(o, b);
    o->x = (pins[0].at.x + pins[1].at.x - one.x - other.x) / 2, o->y = (pins[0].at.y + pins[1].at.y - one.y - other.y) / 2;
    return true;
}

/* ---- parts ---- */

static const double OUTLINE_STAKE = 0.5; /* of the circuit: rule of thumb, as for a doubt with one known side */

/* A centre without an outline places no pin. */
static void ask_outline(Build *b, const BenchPart *part, const Note *note) {
    bool named = part->kind->pin_count > 1;
    Text one = named ? part->kind->pins[0] : TEXT("1"), other = named ? part->kind->pins[1] : TEXT("2");
    Text says =
        text_fmt(b->arena,
                 "Where are the pins of %.*s? Its package is not known, so say two of them: part %.*s pin %.*s at X,Y pin "
                 "%.*s at X,Y.",
                 TEXT_ARG(part->ref), TEXT_ARG(part->ref), TEXT_ARG(one), TEXT_ARG(other));
    build_ask(b, (BenchAsk){.says = says, .p = NAN, .stake = OUTLINE_STAKE, .step = BENCH_NONE, .line = note->line});
}

static void place_part(Build *b, const Note *note) {
    const NotePart *said = note->part;
    uint32_t board = build_board_of(b, note);
    if (board == BENCH_NONE || (!note->with->placed && said->pin_count == 0)) return;
    Outline o = {.b = b, .note = note, .part = bench_part(b->bench, said->ref), .board = board, .c = 1};
    const BenchPart *part = &b->bench->parts.at[o.part];
    const MarkPackage *package = part->package;
    o.through = package == NULL ? part->kind->pin_count != 1 : package->through_hole;
    o.side = side_of(b, board, note, o.through);
    if (said->pin_count > 0 && package != NULL && fit(&o, package, said->pins)) {
        add_outline(&o, package, false);
    } else if (said->pin_count > 0) {
        for (uint32_t i = 0; i < said->pin_count; i++)
            add_spot(&o, said->pins[i].pin, (PlacePoint){said->pins[i].at.x, said->pins[i].at.y}, RADIUS_ALONE, false);
    } else if (package != NULL) {
        o.x = note->with->at.x, o.y = note->with->at.y;
        turn_by(&o, said->has_turn ? said->turn : 0);
        add_outline(&o, package, fits_either_way(part));
    } else if (part->kind->pin_count == 1) {
        add_spot(&o, part->kind->pins[0], (PlacePoint){note->with->at.x, note->with->at.y}, RADIUS_ALONE, false);
    } else {
        ask_outline(b, part, note);
    }
}

void build_spots(Build *b) {
    const Notebook *book = b->bench->notebook;
    for (uint32_t i = 0; i < book->notes.count; i++)
        if (book->notes.at[i].verb == NOTE_PART) place_part(b, &book->notes.at[i]);
}
