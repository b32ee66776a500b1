/* Where a board lies in its photo, as told or as found; and whether that can be meant: a slip of the pen in a corner or in
 * the board's size would give nets all the same, only wrong ones. */
#include "copper/board_inside.h"

#include <math.h>

static const double OFF_MOST = 0.75; /* of the photo's width or height, a corner from its middle: a quarter beyond it */
static const double STRETCHED_MOST = 1.6; /* seen from 50 degrees aside; from further aside nobody reads a board */
/* Pixels a mm. On the sample photos made smaller the mean F1 was 0.99 at 20, 0.92 at 12, 0.78 at 8, 0.58 at 5. */
static const double FINE = 12, FINE_LEAST = 2;

/* The corners as told, in pixels of the file. False, with a problem, when they lie far off the photo. */
static bool on_photo(const FaceWork *work, double wide, double high, Diags *problems) {
    for (int i = 0; i < 4; i++) {
        PlacePoint at = work->seen.corners[i];
        if (fabs(at.x - wide / 2) <= OFF_MOST * wide && fabs(at.y - high / 2) <= OFF_MOST * high) continue;
        face_tell(problems, work, text_fmt(problems->arena, "the corner %.6g,%.6g lies far off the photo", at.x, at.y),
                  text_fmt(problems->arena, "corners in pixels of a photo of %g x %g", wide, high), (Text){0});
        return false;
    }
    return true;
}

/* Pixels of the file a mm, along the board's width and its height, by its corners. */
static void density(const FaceWork *work, double *across, double *down) {
    double side[4];
    for (int i = 0; i < 4; i++) {
        PlacePoint a = work->seen.corners[i], b = work->seen.corners[(i + 1) % 4];
        side[i] = hypot(a.x - b.x, a.y - b.y);
    }
    *across = (side[0] + side[2]) / 2 / work->asked->width_mm;
    *down = (side[1] + side[3]) / 2 / work->asked->height_mm;
}

static void tell_coarse(const FaceWork *work, double scale, Diags *problems) {
    face_tell(problems, work,
              text_fmt(problems->arena, "the board has only %.2g pixels a mm here: fine tracks and gaps are lost", scale),
              text_fmt(problems->arena, "%g or more, better 20", FINE),
              TEXT("come closer, or look whether its size and corners are right"));
}

void face_tell_place(const FaceWork *work, Diags *problems) {
    const BoardAsked *asked = work->asked;
    double across, down;
    density(work, &across, &down);
    double stretched = fmax(across, down) / fmin(across, down);
    if (asked->face[work->side].has_corners && stretched > STRETCHED_MOST)
        face_tell(problems, work,
                  text_fmt(problems->arena, "by its corners the board is stretched %.1f times one way", stretched),
                  text_fmt(problems->arena, "its width and height as seen in the photo; they were said to be %g x %g mm",
                           asked->width_mm, asked->height_mm),
                  TEXT("look whether the two, or the corners, are named a quarter turn wrong"));
    if (fmin(across, down) < FINE) tell_coarse(work, fmin(across, down), problems);
}

bool face_place(FaceWork *work, const Photo *photo, unsigned shrunk, BoardPlace *place, Diags *problems) {
    const BoardAsked *asked = work->asked;
    const BoardFaceAsked *face = &asked->face[work->side];
    PlacePoint corners[4];
    bool before = work->seen.placed, told = before || face->has_corners;
    if (!before && face->has_corners) {
        memcpy(work->seen.corners, face->corners, sizeof face->corners);
        work->seen.corners_sure = 1;
    }
    if (told && !before && !on_photo(work, (double)photo->width * shrunk, (double)photo->height * shrunk, problems))
        return false;
    for (int i = 0; i < 4; i++)
        corners[i] = (PlacePoint){work->seen.corners[i].x / shrunk, work->seen.corners[i].y / shrunk};
    if (!told && !place_find(photo, asked->width_mm, asked->height_mm, corners, &work->seen.corners_sure)) {
        face_tell(problems, work, TEXT("no board stands out from its background"),
                  text_fmt(problems->arena, "a board of %g x %g mm on a plain ground", asked->width_mm, asked->height_mm),
                  TEXT("say where its corners are in the photo, in pixels"));
        return false;
    }
    if (!place_from_corners(corners, asked->width_mm, asked->height_mm, photo->width, photo->height, place)) {
        face_tell(problems, work, TEXT("these are no four corners of a board"),
                  TEXT("top-left, top-right, bottom-right, bottom-left as seen in the photo, in pixels"),
                  TEXT("a bottom is seen mirrored: its top-left is what lies at the top left of its own photo"));
        return false;
    }
    for (int i = 0; i < 4 && !told; i++) work->seen.corners[i] = (PlacePoint){corners[i].x * shrunk, corners[i].y * shrunk};
    double across, down;
    density(work, &across, &down);
    if (fmin(across, down) < FINE_LEAST) {
        tell_coarse(work, fmin(across, down), problems);
        return false;
    }
    work->seen.placed = true;
    place_refine(photo, place);
    return true;
}
