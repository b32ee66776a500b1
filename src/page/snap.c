/* Where a hand that points near copper means it: the middle of a pad, or else the nearest copper, a little inside its edge.
 * All places are in the millimetres of the picture. */
#include "page/inside.h"

#include <math.h>
#include <stdlib.h>

static const double REACH_MOST = 3; /* mm */
static const double INSIDE = 0.1;   /* mm from the edge, where the copper is wide enough */
static const double PAD_MOST = 4;   /* mm: what is larger is an area, whose middle nobody means */

static bool number_said(const Call *call, const char *name, double *value) {
    enum { DIGITS_MOST = 24 };
    Text said = call_argument(call, name);
    char *end;
    if (said.len == 0 || said.len > DIGITS_MOST) return false;
    *value = strtod(text_cstring(call->arena, said), &end);
    return *end == '\0' && isfinite(*value);
}

/* mm from a place to the pad's rectangle; 0 inside. */
static double to_pad(const CopperPad *pad, PlacePoint at) {
    return hypot(fmax(fabs(at.x - pad->at.x) - pad->width / 2, 0), fmax(fabs(at.y - pad->at.y) - pad->height / 2, 0));
}

static const CopperPad *nearest_pad(const Copper *copper, PlacePoint at, double reach) {
    const CopperPad *found = NULL;
    double least = reach, least_middle = INFINITY;
    for (uint32_t i = 0; i < copper->pads.count; i++) {
        const CopperPad *pad = &copper->pads.at[i];
        double far = to_pad(pad, at), middle = hypot(at.x - pad->at.x, at.y - pad->at.y);
        if (fmax(pad->width, pad->height) > PAD_MOST || far > least || (far == least && middle >= least_middle)) continue;
        found = pad, least = far, least_middle = middle;
    }
    return found;
}

static uint32_t label(const Copper *copper, long x, long y) {
    if (x < 0 || y < 0 || x >= (long)copper->width || y >= (long)copper->height) return 0;
    return copper->labels[(size_t)y * copper->width + (size_t)x];
}

/* All that is around it is the same copper. */
static bool well_inside(const Copper *copper, long x, long y, long margin) {
    uint32_t net = label(copper, x, y);
    return label(copper, x - margin, y) == net && label(copper, x + margin, y) == net &&
           label(copper, x, y - margin) == net && label(copper, x, y + margin) == net;
}

/* The nearest copper, and a little inside it when that is not much farther. */
static bool nearest_copper(const Copper *copper, PlacePoint at, double reach, PlacePoint *to, uint32_t *net) {
    long cx = (long)floor(at.x * copper->scale), cy = (long)floor(at.y * copper->scale);
    long far = (long)ceil(reach * copper->scale), margin = (long)ceil(INSIDE * copper->scale);
    double least = INFINITY;
    for (long y = cy - far; y <= cy + far; y++)
        for (long x = cx - far; x <= cx + far; x++) {
            if (label(copper, x, y) == 0) continue;
            double away = hypot((double)(x - cx), (double)(y - cy));
            if (!well_inside(copper, x, y, margin)) away += 2 * (double)margin;
            if (away >= least || hypot((double)(x - cx), (double)(y - cy)) > (double)far) continue;
            least = away;
            *net = label(copper, x, y);
            *to = away == 0 ? at : (PlacePoint){((double)x + 0.5) / copper->scale, ((double)y + 0.5) / copper->scale};
        }
    return isfinite(least);
}

static void put_place(Call *call, json_t *object, const BenchBoard *board, const BoardFace *face, PlacePoint at,
                      uint32_t net, const char *on) {
    json_put(object, "at", boards_place(at));
    json_put(object, "on", json_string(on));
    json_put_text(object, "net", boards_net_name(call->arena, call->model->teardown.bench, board, face->net[net]));
}

void answer_snap(Call *call) {
    const Picture *picture = picture_find(call->model, call_argument(call, "id"));
    PlacePoint at, to;
    double reach;
    if (picture == NULL || !picture->straight || !number_said(call, "x", &at.x) || !number_said(call, "y", &at.y) ||
        !number_said(call, "reach", &reach) ||
        !(at.x >= 0 && at.x <= picture->width_mm && at.y >= 0 && at.y <= picture->height_mm)) {
        call_refuse(call, 404, "There is no copper there.");
        return;
    }
    const BenchBoard *board = &call->model->teardown.bench->photographed.at[picture->board];
    const BoardFace *face = &board->copper.face[picture->side];
    reach = fmin(fmax(reach, 0), REACH_MOST);
    json_t *object = json_object();
    uint32_t net = 0;
    const CopperPad *pad = nearest_pad(&face->copper, at, reach);
    if (pad != NULL)
        put_place(call, object, board, face, pad->at, pad->net, "pad");
    else if (nearest_copper(&face->copper, at, reach, &to, &net))
        put_place(call, object, board, face, to, net, "copper");
    json_finish(&call->out, object);
    call->answer->type = "application/json";
}
