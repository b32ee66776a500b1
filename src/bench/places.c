/* Where the pins of placed parts are: by the outline of the package where the part stands (pose.c), or where a note has
 * them. */
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
    BenchPose pose;
} Outline;

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
    spot.on[BOARD_TOP] = o->pose.through || o->pose.side == BOARD_TOP;
    spot.on[BOARD_BOTTOM] = o->pose.through || o->pose.side == BOARD_BOTTOM;
    list_push(b->scratch, &b->spots, spot);
}

/* ---- outlines ---- */

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
            add_spot(o, package->pins[i].number, bench_pose_at(&o->pose, package->pins[i].x, package->pins[i].y),
                     radius_of(package, i), loose);
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

/* Two pins that a note places are also a check. */
static void check_distance(const Outline *o, const NotePinPlace *pins, const MarkPackage *package) {
    const BenchPose *pose = &o->pose;
    if (fabs(pose->apart / pose->apart_outline - 1) <= SCALE_SLACK) return;
    build_problem(o->b, o->note,
                  text_fmt(o->b->arena, "pins %.*s and %.*s are %.2f mm apart here, but %.2f mm on %.*s",
                           TEXT_ARG(pins[0].pin), TEXT_ARG(pins[1].pin), pose->apart, pose->apart_outline,
                           TEXT_ARG(package->name)),
                  TEXT("two distances that differ by at most 10 %"),
                  TEXT("measure the two places again, or look at the package and the board's size"));
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
    uint32_t board = bench_board_of(b->bench, note);
    if (board == BENCH_NONE || (!note->with->placed && said->pin_count == 0)) return;
    Outline o = {.b = b, .note = note, .part = bench_part(b->bench, said->ref), .board = board};
    const BenchPart *part = &b->bench->parts.at[o.part];
    if (bench_pose(b->bench, part, note, &o.pose)) {
        if (said->pin_count > 0) check_distance(&o, said->pins, part->package);
        add_outline(&o, part->package, said->pin_count == 0 && fits_either_way(part));
    } else if (said->pin_count > 0) {
        for (uint32_t i = 0; i < said->pin_count; i++)
            add_spot(&o, said->pins[i].pin, (PlacePoint){said->pins[i].at.x, said->pins[i].at.y}, RADIUS_ALONE, false);
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
