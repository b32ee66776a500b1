/* How a placed part stands on its board: the package's outline (lore) turned and moved to where a note has the part, by its
 * centre and turn, or by two pins, which is the turn and the shift that bring both as near as can be. A part on the bottom
 * is seen mirrored from the top.
 *
 * The side: as the note says. Unsaid, a part with legs through the board stands on the top; a part on the surface sits
 * where its copper is: on the only photographed side of a board that is not said to have two layers, else on the top. */
#include "bench/build.h"

static BoardSide side_of(const Bench *bench, const Note *note, bool through) {
    uint32_t board = bench_board_of(bench, note);
    if (note->with->side != NOTE_SIDE_UNSAID) return note->with->side == NOTE_SIDE_BOTTOM ? BOARD_BOTTOM : BOARD_TOP;
    if (board == BENCH_NONE) return BOARD_TOP;
    const BenchBoard *at = &bench->photographed.at[board];
    bool only_bottom = at->photo[BOARD_TOP] == NULL && at->note->board->layers < 2;
    return !through && only_bottom ? BOARD_BOTTOM : BOARD_TOP;
}

PlacePoint bench_pose_at(const BenchPose *pose, double x, double y) {
    if (pose->side == BOARD_BOTTOM) x = -x;
    return (PlacePoint){pose->c * x + pose->s * y + pose->x, -pose->s * x + pose->c * y + pose->y};
}

/* Anticlockwise as seen from the part's side; from the top, a part on the bottom turns the other way. */
static void turn_by(BenchPose *pose, double degrees) {
    const double half_turn = 3.14159265358979323846;
    double angle = (pose->side == BOARD_BOTTOM ? -degrees : degrees) * half_turn / 180;
    pose->c = cos(angle), pose->s = sin(angle);
}

static const MarkPin *outline_pin(const Bench *bench, const BenchPart *part, Text label) {
    int slot = build_pin_place(bench->kinds, part, label).slot;
    for (uint32_t i = 0; i < part->package->pin_count; i++) {
        Text number = part->package->pins[i].number;
        if (text_same_folded(number, label)) return &part->package->pins[i];
        if (slot >= 0 && build_pin_place(bench->kinds, part, number).slot == slot) return &part->package->pins[i];
    }
    return NULL;
}

/* Turn and shift from two pins and their places. False when the outline lacks one of them. */
static bool fit(const Bench *bench, const BenchPart *part, const NotePinPlace *pins, BenchPose *pose) {
    const MarkPin *a = outline_pin(bench, part, pins[0].pin), *b = outline_pin(bench, part, pins[1].pin);
    if (a == NULL || b == NULL || a == b) return false;
    double mirror = pose->side == BOARD_BOTTOM ? -1 : 1, from_x = mirror * (b->x - a->x), from_y = b->y - a->y,
           to_x = pins[1].at.x - pins[0].at.x, to_y = pins[1].at.y - pins[0].at.y, from = hypot(from_x, from_y),
           to = hypot(to_x, to_y);
    if (from == 0 || to == 0) return false;
    pose->apart = to, pose->apart_outline = from;
    pose->c = (from_x * to_x + from_y * to_y) / (from * to), pose->s = (from_y * to_x - from_x * to_y) / (from * to);
    pose->x = pose->y = 0;
    PlacePoint one = bench_pose_at(pose, a->x, a->y), other = bench_pose_at(pose, b->x, b->y);
    pose->x = (pins[0].at.x + pins[1].at.x - one.x - other.x) / 2;
    pose->y = (pins[0].at.y + pins[1].at.y - one.y - other.y) / 2;
    return true;
}

bool bench_pose(const Bench *bench, const BenchPart *part, const Note *note, BenchPose *pose) {
    const NotePart *said = note->part;
    const MarkPackage *package = part->package;
    *pose = (BenchPose){.c = 1};
    pose->through = package == NULL ? part->kind->pin_count != 1 : package->through_hole;
    pose->side = side_of(bench, note, pose->through);
    if (said->pin_count > 0) return package != NULL && fit(bench, part, said->pins, pose);
    pose->x = note->with->at.x, pose->y = note->with->at.y;
    turn_by(pose, said->has_turn ? said->turn : 0);
    return note->with->placed && package != NULL;
}
