/* Parts and their pins where the notes place them: the body by the package's size, or a small cross where no package is
 * known. A part on the other side of the board is drawn with a broken line, and only when its pins come through. */
#include "draw/board_inside.h"

#include <math.h>

static const double PIN_RADIUS = 0.3; /* units */

static const BenchPart *part_of(const View *view, const Note *note) {
    return &view->bench->parts.at[bench_part(view->bench, note->part->ref)];
}

static SvgMark mark_of(const View *view, const BenchPart *part, Text label, const char *class) {
    uint32_t number = (uint32_t)(part - view->bench->parts.at), pin = bench_pin(view->bench, number, label);
    SvgMark mark = {.class = class, .ref = part->ref, .pin = label};
    if (pin != BENCH_NONE) mark.net = view->bench->nets.at[view->bench->pins.at[pin].net].name;
    return mark;
}

static void put_pin(View *view, const BenchPart *part, Text label, PlacePoint at) {
    SvgMark mark = mark_of(view, part, label, "b-pin");
    svg_group(view->out, mark);
    svg_title(view->out, text_fmt(view->arena, "%.*s.%.*s%s%.*s", TEXT_ARG(part->ref), TEXT_ARG(label),
                                  mark.net.len > 0 ? " on net " : "", TEXT_ARG(mark.net)));
    svg_circle(view->out, (SvgMark){0}, view_point(view, at), PIN_RADIUS * view->unit);
    svg_group_end(view->out);
}

static void put_pins(View *view, const BenchPart *part, const Note *note, const BenchPose *pose) {
    if (pose != NULL) {
        for (uint32_t i = 0; i < part->package->pin_count; i++) {
            const MarkPin *pin = &part->package->pins[i];
            put_pin(view, part, pin->number, bench_pose_at(pose, pin->x, pin->y));
        }
        return;
    }
    for (uint32_t i = 0; i < note->part->pin_count; i++)
        put_pin(view, part, note->part->pins[i].pin, (PlacePoint){note->part->pins[i].at.x, note->part->pins[i].at.y});
}

static bool is_round(const MarkPackage *package) {
    return text_is(package->style, "radial") || text_is(package->style, "can");
}

static void put_body(View *view, const BenchPart *part, const BenchPose *pose) {
    const MarkPackage *package = part->package;
    bool near = pose->side == view->asked->side;
    SvgMark mark = {.class = near ? "b-body" : "b-body b-far", .ref = part->ref};
    double x = package->size_x / 2, y = package->size_y / 2;
    if (x <= 0 || y <= 0) return;
    if (is_round(package)) {
        svg_circle(view->out, mark, view_point(view, bench_pose_at(pose, 0, 0)), fmin(x, y));
        return;
    }
    SvgPoint corner[4];
    for (int i = 0; i < 4; i++)
        corner[i] = view_point(view, bench_pose_at(pose, i == 1 || i == 2 ? x : -x, i < 2 ? -y : y));
    svg_polygon(view->out, mark, corner, 4);
}

/* Where the part's name stands: its centre, or the middle of the pins that place it. */
static PlacePoint middle(const Note *note, const BenchPose *pose) {
    if (pose != NULL) return bench_pose_at(pose, 0, 0);
    const NotePart *said = note->part;
    if (said->pin_count == 0) return (PlacePoint){note->with->at.x, note->with->at.y};
    return (PlacePoint){(said->pins[0].at.x + said->pins[1].at.x) / 2, (said->pins[0].at.y + said->pins[1].at.y) / 2};
}

static void put_cross(View *view, const BenchPart *part, PlacePoint at) {
    SvgPoint centre = view_point(view, at);
    double arm = 0.5 * view->unit;
    SvgMark mark = {.class = "b-body", .ref = part->ref};
    svg_line(view->out, mark, (SvgPoint){centre.x - arm, centre.y}, (SvgPoint){centre.x + arm, centre.y});
    svg_line(view->out, mark, (SvgPoint){centre.x, centre.y - arm}, (SvgPoint){centre.x, centre.y + arm});
}

static void put_part(View *view, const Note *note) {
    const BenchPart *part = part_of(view, note);
    BenchPose found;
    const BenchPose *pose = bench_pose(view->bench, part, note, &found) ? &found : NULL;
    if (!found.through && found.side != view->asked->side) return;
    svg_group(view->out, (SvgMark){.class = "b-part", .ref = part->ref});
    svg_title(view->out, text_fmt(view->arena, "%.*s, %.*s", TEXT_ARG(part->ref), TEXT_ARG(part->kind->name)));
    if (pose != NULL)
        put_body(view, part, pose);
    else if (note->part->pin_count == 0)
        put_cross(view, part, middle(note, pose));
    put_pins(view, part, note, pose);
    svg_group_end(view->out);
}

/* On the body; where none is known, beside what places the part. */
static void put_ref(View *view, const BenchPart *part, const Note *note, const BenchPose *pose) {
    SvgPoint at = view_point(view, middle(note, pose));
    double size = view->unit;
    if (pose != NULL && fmax(part->package->size_x, part->package->size_y) < 3 * size) size *= 0.75;
    if (pose == NULL && note->part->pin_count > 0) {
        double x = note->part->pins[1].at.x - note->part->pins[0].at.x, y = note->part->pins[1].at.y - note->part->pins[0].at.y;
        bool upright = fabs(y) > fabs(x);
        at.x += upright ? 1.3 * size : 0, at.y -= upright ? 0 : 1.1 * size;
    } else if (pose == NULL) {
        at.y -= 1.1 * size;
    }
    view_label(view, (SvgMark){.class = "b-ref", .ref = part->ref}, at, size, part->ref);
}

void view_parts(View *view) {
    const Notebook *notebook = view->bench->notebook;
    for (uint32_t i = 0; i < notebook->notes.count; i++)
        if (board_has_part(view->bench, view->asked->board, &notebook->notes.at[i])) put_part(view, &notebook->notes.at[i]);
    Names *named = names_new(view->arena); /* a part that two notes place is named once */
    for (uint32_t i = 0; i < notebook->notes.count; i++) {
        const Note *note = &notebook->notes.at[i];
        if (!board_has_part(view->bench, view->asked->board, note)) continue;
        const BenchPart *part = part_of(view, note);
        BenchPose found;
        const BenchPose *pose = bench_pose(view->bench, part, note, &found) ? &found : NULL;
        uint32_t count = names_count(named);
        if ((!found.through && found.side != view->asked->side) || names_add(named, part->ref) != count) continue;
        put_ref(view, part, note, pose);
    }
}
