/* The options of `unpick copper`.
 *
 *   places = place { blank place }
 *   place  = number "," number
 *   size   = length "x" length     the unit stands after the second, or after both; mm when there is none */
#include "cli/copper_asked.h"

#include <math.h>
#include <stdlib.h>
#include <sys/stat.h>

enum { PLACES_MOST = 256 };
enum { ON_PHOTO = BOARD_SIDES, ON_COUNT }; /* besides top and bottom: on the side that PHOTO shows */
static const double BOARD_MOST_MM = 2000, PIXELS_MOST = 1e6, SCALE_LEAST = 1, SCALE_MOST = 200;

/* place; false when there is none at `at`. */
static bool take_place(const char **at, PlacePoint *place) {
    char *end;
    place->x = strtod(*at, &end);
    if (end == *at || *end != ',') return false;
    const char *second = end + 1;
    place->y = strtod(second, &end);
    bool taken = end != second && fabs(place->x) < PIXELS_MOST && fabs(place->y) < PIXELS_MOST;
    *at = end;
    return taken;
}

/* places: how many, 0 when they are not understood. */
static uint32_t take_places(const char *said, PlacePoint *places, uint32_t most) {
    uint32_t count = 0;
    for (const char *at = said;;) {
        while (*at == ' ') at++;
        if (*at == '\0') return count;
        if (count == most || !take_place(&at, &places[count])) return 0;
        if (*at != ' ' && *at != '\0') return 0;
        count++;
    }
}

/* length: mm, 0 when it is none; in `unit` metres when it has no unit of its own. */
static double length_of(Text said, double unit) {
    Quantity length;
    said = text_trim(said);
    if (said.len == 0 || quantity_parse(said, &length) != said.len) return 0;
    double metres = unit_same(length.unit, UNIT_METRE)  ? length.value
                    : unit_same(length.unit, UNIT_NONE) ? length.value * unit
                                                        : 0;
    return metres * 1000 > 0 && metres * 1000 <= BOARD_MOST_MM ? metres * 1000 : 0;
}

/* The unit of a length, in metres; mm when it has none. */
static double unit_of(Text said) {
    size_t digits = 0;
    said = text_trim(said);
    while (digits < said.len && strchr("0123456789.", said.at[digits]) != NULL) digits++;
    Unit unit;
    double factor;
    Text symbol = text_trim(text_sub(said, digits, said.len));
    return symbol.len > 0 && unit_parse(symbol, &unit, &factor) && unit_same(unit, UNIT_METRE) ? factor : 0.001;
}

/* What the options say, before it is known which side is which. */
typedef struct Taking {
    Cli *cli;
    CopperAsked *asked;
    const char *option; /* the name of the one that is being taken */
    unsigned on;        /* for which side what is said is meant */
    LIST(LayerHint) hints[ON_COUNT];
    LIST(CopperWord) words[ON_COUNT];
    LIST(BoardHoleAsked) holes;
    const char *back;
    PlacePoint corners[4], back_corners[4];
    bool has_corners, has_back_corners;
} Taking;

/* What an option was given is not what it takes. Returns false. */
static bool wrong(const Taking *taking, const char *expected) {
    cli_usage(taking->cli, "--%s \"%.80s%s\": expected %s", taking->option, optarg, strlen(optarg) > 80 ? "..." : "",
              expected);
    return false;
}

/* size */
static bool take_size(const char *said, BoardAsked *asked) {
    Text text = text_of(said);
    size_t by = text_find(text, TEXT("x"));
    if (by == SIZE_MAX) return false;
    Text second = text_sub(text, by + 1, text.len);
    asked->width_mm = length_of(text_sub(text, 0, by), unit_of(second));
    asked->height_mm = length_of(second, unit_of(second));
    return asked->width_mm > 0 && asked->height_mm > 0;
}

static bool add_word(Taking *taking, CopperWordSort sort, uint32_t least, uint32_t most) {
    static const char *const expected[] = {
        "", "a place in mm from the top left, such as 12.5,3",
        "two places in mm from the top left, such as \"12.5,3 14,3\"",
        "three places or more, at most 256, in mm from the top left, such as \"5,5 9,5 9,8 5,8\""};
    PlacePoint places[PLACES_MOST];
    Cli *cli = taking->cli;
    uint32_t count = take_places(optarg, places, most);
    if (count < least) return wrong(taking, expected[least]);
    PlacePoint *at = arena_many(cli->arena, PlacePoint, count);
    memcpy(at, places, count * sizeof *at);
    bool meter = sort == COPPER_JOINED || sort == COPPER_APART;
    CopperWord word = {.sort = sort, .at = at, .count = count, .meter = meter};
    list_push(cli->arena, &taking->words[taking->on], word);
    return true;
}

static bool take_place_only(Taking *taking, PlacePoint *place) {
    return take_places(optarg, place, 1) == 1 || wrong(taking, "a place in mm from the top left, such as 12.5,3");
}

static bool add_hint(Taking *taking, bool copper) {
    PlacePoint place;
    if (!take_place_only(taking, &place)) return false;
    list_push(taking->cli->arena, &taking->hints[taking->on], ((LayerHint){place, copper}));
    return true;
}

static bool add_hole(Taking *taking, BoardPlating plating) {
    PlacePoint place;
    if (!take_place_only(taking, &place)) return false;
    list_push(taking->cli->arena, &taking->holes, ((BoardHoleAsked){.at = place, .plating = plating}));
    return true;
}

static bool take_corners(Taking *taking, PlacePoint corners[4], bool *has) {
    *has = take_places(optarg, corners, 4) == 4;
    return *has || wrong(taking, "the four corners in pixels, top-left first, clockwise, as seen: \"x,y x,y x,y x,y\"");
}

static bool take_on(Taking *taking) {
    bool bottom = strcmp(optarg, "bottom") == 0;
    taking->on = bottom ? BOARD_BOTTOM : BOARD_TOP;
    return bottom || strcmp(optarg, "top") == 0 || wrong(taking, "top or bottom");
}

static bool take_scale(Taking *taking) {
    char *end;
    double scale = taking->asked->scale = strtod(optarg, &end);
    if (*end == '\0' && scale >= SCALE_LEAST && scale <= SCALE_MOST) return true;
    Text expected = text_fmt(taking->cli->arena, "%g to %g pixels a mm", SCALE_LEAST, SCALE_MOST);
    return wrong(taking, text_cstring(taking->cli->arena, expected));
}

/* What is said of the copper. */
static bool take_word(Taking *taking, int got) {
    switch (got) {
    case '1':
        return add_hint(taking, true);
    case '0':
        return add_hint(taking, false);
    case 'J':
        return add_word(taking, COPPER_JOINED, 2, 2);
    case 'A':
        return add_word(taking, COPPER_APART, 2, 2);
    case 'C':
        return add_word(taking, COPPER_CUT, 1, 1);
    case 'B':
        return add_word(taking, COPPER_BRIDGE, 2, 2);
    case 'H':
        return add_word(taking, COPPER_HIDDEN, 3, PLACES_MOST);
    case 'P':
        return add_hole(taking, BOARD_PLATED);
    case 'U':
        return add_hole(taking, BOARD_BARE);
    default:
        return take_on(taking);
    }
}

static bool take_option(Taking *taking, int got) {
    CopperAsked *asked = taking->asked;
    switch (got) {
    case 'm':
        return take_size(optarg, &asked->board) || wrong(taking, "the board's width and height as seen, such as 46.5x21mm");
    case 'k':
        return take_corners(taking, taking->corners, &taking->has_corners);
    case 'K':
        return take_corners(taking, taking->back_corners, &taking->has_back_corners);
    case 's':
        return take_scale(taking);
    case 'u':
        asked->side = BOARD_BOTTOM;
        return true;
    case 'j':
        return asked->json = true;
    case 'p':
        return asked->board.coarse = true;
    default:
        return take_word(taking, got);
    }
}

/* ---- to what board_trace takes ---- */

/* Places as PHOTO shows them to the top's. */
static void mirror(Taking *taking) {
    double width = taking->asked->board.width_mm;
    for (unsigned on = 0; on < ON_COUNT; on++) {
        for (uint32_t i = 0; i < taking->hints[on].count; i++)
            taking->hints[on].at[i].at.x = width - taking->hints[on].at[i].at.x;
        for (uint32_t i = 0; i < taking->words[on].count; i++) {
            const CopperWord *word = &taking->words[on].at[i];
            PlacePoint *at = arena_many(taking->cli->arena, PlacePoint, word->count);
            for (uint32_t k = 0; k < word->count; k++) at[k] = (PlacePoint){width - word->at[k].x, word->at[k].y};
            taking->words[on].at[i].at = at;
        }
    }
    for (uint32_t i = 0; i < taking->holes.count; i++) taking->holes.at[i].at.x = width - taking->holes.at[i].at.x;
}

static void give_face(Taking *taking, BoardSide side, const char *photo, bool has_corners, const PlacePoint corners[4]) {
    BoardFaceAsked *face = &taking->asked->board.face[side];
    Arena *arena = taking->cli->arena;
    if (side == taking->asked->side) { /* what was said without --on is meant for it */
        for (uint32_t i = 0; i < taking->words[ON_PHOTO].count; i++)
            list_push(arena, &taking->words[side], taking->words[ON_PHOTO].at[i]);
        for (uint32_t i = 0; i < taking->hints[ON_PHOTO].count; i++)
            list_push(arena, &taking->hints[side], taking->hints[ON_PHOTO].at[i]);
    }
    *face = (BoardFaceAsked){.photo = photo, .has_corners = has_corners};
    memcpy(face->corners, corners, sizeof face->corners);
    face->words = taking->words[side].at, face->word_count = taking->words[side].count;
    face->hints = taking->hints[side].at, face->hint_count = taking->hints[side].count;
}

static bool on_board(const Taking *taking, PlacePoint mm) {
    const BoardAsked *board = &taking->asked->board;
    if (mm.x >= 0 && mm.y >= 0 && mm.x <= board->width_mm && mm.y <= board->height_mm) return true;
    cli_usage(taking->cli, "%g,%g lies off the board, which is %g x %g mm", mm.x, mm.y, board->width_mm, board->height_mm);
    return false;
}

/* What is said of a place off the board is a slip. Only what is hidden may reach beyond its edge. */
static bool all_on_board(const Taking *taking) {
    bool on = true;
    for (unsigned side = 0; side < ON_COUNT; side++) {
        for (uint32_t i = 0; i < taking->hints[side].count && on; i++) on = on_board(taking, taking->hints[side].at[i].at);
        for (uint32_t i = 0; i < taking->words[side].count && on; i++) {
            const CopperWord *word = &taking->words[side].at[i];
            for (uint32_t k = 0; k < word->count && word->sort != COPPER_HIDDEN && on; k++)
                on = on_board(taking, word->at[k]);
        }
    }
    for (uint32_t i = 0; i < taking->holes.count && on; i++) on = on_board(taking, taking->holes.at[i].at);
    return on;
}

static bool same_place(PlacePoint a, PlacePoint b) { return a.x == b.x && a.y == b.y; }

static bool said_twice(const Taking *taking, PlacePoint at, const char *one, const char *other) {
    cli_usage(taking->cli, "%g,%g is said to be %s and %s: expected one of the two", at.x, at.y, one, other);
    return false;
}

/* One place is not both: whichever came last would win without a word. */
static bool of_one_mind(const Taking *taking) {
    for (unsigned on = 0; on < ON_COUNT; on++)
        for (uint32_t i = 0; i < taking->hints[on].count; i++)
            for (uint32_t k = 0; k < i; k++) {
                const LayerHint *a = &taking->hints[on].at[i], *b = &taking->hints[on].at[k];
                if (a->copper != b->copper && same_place(a->at, b->at)) return said_twice(taking, a->at, "copper", "bare");
            }
    for (uint32_t i = 0; i < taking->holes.count; i++)
        for (uint32_t k = 0; k < i; k++) {
            const BoardHoleAsked *a = &taking->holes.at[i], *b = &taking->holes.at[k];
            if (a->plating != b->plating && same_place(a->at, b->at))
                return said_twice(taking, a->at, "a plated hole", "a bare one");
        }
    return true;
}

/* Whether two names are one file, so that writing the one would lose the other. */
static bool one_file(const char *a, const char *b) {
    struct stat one, other;
    bool there = stat(a, &one) == 0 && stat(b, &other) == 0;
    if (!there) return strcmp(a, b) == 0;
    return S_ISREG(one.st_mode) && one.st_dev == other.st_dev && one.st_ino == other.st_ino;
}

/* Nothing is written over a photo, nor over what is written beside it. */
static bool files_apart(const Taking *taking, const char *photo) {
    const CopperAsked *asked = taking->asked;
    const char *const files[] = {photo,           taking->back,  asked->labels,      asked->svg,
                                 asked->back_svg, asked->gerber, asked->back_gerber, asked->netlist};
    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++)
        for (size_t k = 0; k < i; k++) {
            if (files[i] == NULL || files[k] == NULL || !one_file(files[i], files[k])) continue;
            cli_usage(taking->cli,
                      i == 1  ? "%s is both sides: expected a photo of each"
                      : k < 2 ? "%s is a photo, and would be written over: expected another name"
                              : "%s is to be two files: expected a name for each",
                      files[i]);
            return false;
        }
    return true;
}

/* What was left out, in words; NULL: nothing. */
static const char *left_out(const Taking *taking, BoardSide other) {
    const CopperAsked *asked = taking->asked;
    bool said = taking->words[other].count > 0 || taking->hints[other].count > 0 || taking->has_back_corners ||
                asked->back_svg != NULL || asked->back_gerber != NULL;
    if (!(asked->board.width_mm > 0)) return "how big is the board? --board 46.5x21mm says its width and height as seen";
    if (said && !asked->two_sided) return "something was said of the other side; --back PHOTO says where it is seen";
    if (asked->scale > 0 && asked->labels == NULL)
        return "--scale says how fine the labels are: expected --labels FILE.png as well";
    return NULL;
}

static bool finish(Taking *taking, const char *photo) {
    CopperAsked *asked = taking->asked;
    BoardSide other = asked->side == BOARD_TOP ? BOARD_BOTTOM : BOARD_TOP;
    asked->two_sided = taking->back != NULL;
    const char *lacks = left_out(taking, other);
    if (lacks != NULL) cli_usage(taking->cli, "%s", lacks);
    if (lacks != NULL || !all_on_board(taking) || !of_one_mind(taking) || !files_apart(taking, photo)) return false;
    if (!asked->two_sided && asked->side == BOARD_BOTTOM) mirror(taking);
    give_face(taking, asked->side, photo, taking->has_corners, taking->corners);
    if (asked->two_sided) give_face(taking, other, taking->back, taking->has_back_corners, taking->back_corners);
    asked->board.holes = taking->holes.at, asked->board.hole_count = taking->holes.count;
    return true;
}

/* Options that name a file or a folder: where its name goes. */
static const char **path_option(Taking *taking, int got) {
    CopperAsked *asked = taking->asked;
    switch (got) {
    case 'b':
        return &taking->back;
    case 'c':
        return &asked->board.cache;
    case 'l':
        return &asked->labels;
    case 'v':
        return &asked->svg;
    case 'V':
        return &asked->back_svg;
    case 'g':
        return &asked->gerber;
    case 'G':
        return &asked->back_gerber;
    case 'n':
        return &asked->netlist;
    default:
        return NULL;
    }
}

bool copper_asked(Cli *cli, int argc, char **argv, CopperAsked *asked, bool *helped) {
    const struct option options[] = {
        {"board", required_argument, NULL, 'm'},   {"corners", required_argument, NULL, 'k'},
        {"back", required_argument, NULL, 'b'},    {"back-corners", required_argument, NULL, 'K'},
        {"scale", required_argument, NULL, 's'},   {"bottom", no_argument, NULL, 'u'},
        {"preview", no_argument, NULL, 'p'},       {"json", no_argument, NULL, 'j'},
        {"on", required_argument, NULL, 'O'},      {"copper", required_argument, NULL, '1'},
        {"bare", required_argument, NULL, '0'},    {"joined", required_argument, NULL, 'J'},
        {"apart", required_argument, NULL, 'A'},   {"cut", required_argument, NULL, 'C'},
        {"bridge", required_argument, NULL, 'B'},  {"hidden", required_argument, NULL, 'H'},
        {"hole", required_argument, NULL, 'P'},    {"bare-hole", required_argument, NULL, 'U'},
        {"cache", required_argument, NULL, 'c'},   {"labels", required_argument, NULL, 'l'},
        {"svg", required_argument, NULL, 'v'},     {"back-svg", required_argument, NULL, 'V'},
        {"gerber", required_argument, NULL, 'g'},  {"back-gerber", required_argument, NULL, 'G'},
        {"netlist", required_argument, NULL, 'n'}, {0}};
    *asked = (CopperAsked){0};
    Taking taking = {.cli = cli, .asked = asked, .on = ON_PHOTO};
    *helped = false;
    for (int got; (got = cli_option(cli, argc, argv, options)) != 0;) {
        *helped = got == CLI_HELPED;
        const char **path = path_option(&taking, got);
        for (size_t i = 0; i + 1 < sizeof options / sizeof options[0]; i++)
            if (options[i].val == got) taking.option = options[i].name;
        if (path != NULL && *optarg == '\0') return wrong(&taking, "a name");
        if (path != NULL) *path = optarg;
        if (path == NULL && (got < 0 || !take_option(&taking, got))) return false;
    }
    return cli_words(cli, argc, 1, 1) && finish(&taking, argv[optind]);
}
