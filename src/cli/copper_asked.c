/* The options of `unpick copper`.
 *
 *   places = place { blank place }
 *   place  = number "," number
 *   size   = length "x" length     the unit stands after the second, or after both; mm when there is none */
#include "cli/copper_asked.h"

#include <math.h>
#include <stdlib.h>

enum { PLACES_MOST = 256 };
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

/* size */
static bool take_size(const char *said, CopperAsked *asked) {
    Text text = text_of(said);
    size_t by = text_find(text, TEXT("x"));
    if (by == SIZE_MAX) return false;
    Text second = text_sub(text, by + 1, text.len);
    asked->width_mm = length_of(text_sub(text, 0, by), unit_of(second));
    asked->height_mm = length_of(second, unit_of(second));
    return asked->width_mm > 0 && asked->height_mm > 0;
}

static bool add_word(Cli *cli, CopperAsked *asked, CopperWordSort sort, uint32_t least, uint32_t most) {
    PlacePoint places[PLACES_MOST];
    uint32_t count = take_places(optarg, places, most);
    if (count < least) {
        cli_usage(cli, "\"%s\": expected %u place%s in mm from the top left, such as \"12.5,3\"%s", optarg, least,
                  least == 1 ? "" : "s", least > 1 ? ", with a blank between" : "");
        return false;
    }
    PlacePoint *at = arena_many(cli->arena, PlacePoint, count);
    memcpy(at, places, count * sizeof *at);
    bool meter = sort == COPPER_JOINED || sort == COPPER_APART;
    list_push(cli->arena, &asked->words, ((CopperWord){.sort = sort, .at = at, .count = count, .meter = meter}));
    return true;
}

static bool add_hint(Cli *cli, CopperAsked *asked, bool copper) {
    PlacePoint place;
    if (take_places(optarg, &place, 1) != 1) {
        cli_usage(cli, "\"%s\": expected a place in mm from the top left, such as 12.5,3", optarg);
        return false;
    }
    list_push(cli->arena, &asked->hints, ((LayerHint){place, copper}));
    return true;
}

static bool take_corners(Cli *cli, CopperAsked *asked) {
    asked->has_corners = take_places(optarg, asked->corners, 4) == 4;
    if (!asked->has_corners)
        cli_usage(cli,
                  "\"%s\": expected the four corners in pixels, top-left first, clockwise, as seen: \"x,y x,y x,y x,y\"",
                  optarg);
    return asked->has_corners;
}

static bool take_scale(Cli *cli, CopperAsked *asked) {
    char *end;
    asked->scale = strtod(optarg, &end);
    if (*end == '\0' && asked->scale >= SCALE_LEAST && asked->scale <= SCALE_MOST) return true;
    cli_usage(cli, "\"%s\": expected %g to %g pixels a mm", optarg, SCALE_LEAST, SCALE_MOST);
    return false;
}

static bool take_option(Cli *cli, CopperAsked *asked, int got) {
    switch (got) {
    case 'm':
        if (take_size(optarg, asked)) return true;
        cli_usage(cli, "\"%s\": expected the board's width and height as seen, such as 46.5x21mm", optarg);
        return false;
    case 'k':
        return take_corners(cli, asked);
    case 's':
        return take_scale(cli, asked);
    case 'u':
        return asked->bottom = true;
    case 'p':
        return asked->preview = true;
    case 'j':
        return asked->json = true;
    case '1':
        return add_hint(cli, asked, true);
    case '0':
        return add_hint(cli, asked, false);
    case 'J':
        return add_word(cli, asked, COPPER_JOINED, 2, 2);
    case 'A':
        return add_word(cli, asked, COPPER_APART, 2, 2);
    case 'C':
        return add_word(cli, asked, COPPER_CUT, 1, 1);
    case 'B':
        return add_word(cli, asked, COPPER_BRIDGE, 2, 2);
    case 'H':
        return add_word(cli, asked, COPPER_HIDDEN, 3, PLACES_MOST);
    case 'l':
        asked->labels = optarg;
        return true;
    case 'v':
        asked->svg = optarg;
        return true;
    case 'g':
        asked->gerber = optarg;
        return true;
    default:
        asked->netlist = optarg;
        return true;
    }
}

bool copper_asked(Cli *cli, int argc, char **argv, CopperAsked *asked, bool *helped) {
    const struct option options[] = {{"board", required_argument, NULL, 'm'},
                                     {"corners", required_argument, NULL, 'k'},
                                     {"scale", required_argument, NULL, 's'},
                                     {"bottom", no_argument, NULL, 'u'},
                                     {"json", no_argument, NULL, 'j'},
                                     {"preview", no_argument, NULL, 'p'},
                                     {"copper", required_argument, NULL, '1'},
                                     {"bare", required_argument, NULL, '0'},
                                     {"joined", required_argument, NULL, 'J'},
                                     {"apart", required_argument, NULL, 'A'},
                                     {"cut", required_argument, NULL, 'C'},
                                     {"bridge", required_argument, NULL, 'B'},
                                     {"hidden", required_argument, NULL, 'H'},
                                     {"labels", required_argument, NULL, 'l'},
                                     {"svg", required_argument, NULL, 'v'},
                                     {"gerber", required_argument, NULL, 'g'},
                                     {"netlist", required_argument, NULL, 'n'},
                                     {0}};
    *asked = (CopperAsked){0};
    *helped = false;
    for (int got; (got = cli_option(cli, argc, argv, options)) != 0;) {
        *helped = got == CLI_HELPED;
        if (got < 0 || !take_option(cli, asked, got)) return false;
    }
    if (!cli_words(cli, argc, 1, 1)) return false;
    if (asked->width_mm > 0) return true;
    cli_usage(cli, "how big is the board? --board 46.5x21mm says its width and height as seen");
    return false;
}
