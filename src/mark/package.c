/* Package outlines from the lore, the places of their pins, and lookup by any of their names.
 *
 *   package NAME
 *     also NAME ...
 *     SHAPE                                   one of the shapes below; says where the leads are
 *     style WORD                              when it is not the shape's own word
 *     body 4.9 x 3.9 mm [height 1.75 mm]      length along the rows, width;  round 5 mm height 11 mm
 *     pad 3.1 x 2.4 mm                        a thermal pad below
 *     seen often|seldom                       how common it is
 *     rated 125 mW                            of a resistor of this body
 *     heat 150 K/W [case 40 K/W]              from the junction to still air, and to the case
 *     source TEXT
 *
 *   chip 2 [foot 0.4 mm]                                    terminals at the ends of the body
 *   dual N pitch P span S [foot F] [through-hole]           two rows
 *   quad N pitch P span S [x S] [foot F] [rows A x B]       four rows; A pins on each upright side, B on each lying one
 *   sides pitch P span S [foot F] ; left 1 - 2 ; right - 3 -   by name from top to bottom, - is a gap
 *   inline N pitch P, radial 2 pitch P, axial 2 pitch P     one row, through the board
 *   array R x C pitch P [without A1 ...]                    a grid; rows are letters (JESD95: no I O Q S X Z)
 *
 * A lead's foot is the part that lies on the board; the pin's place is the middle of its foot. */
#include "mark/inside.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

enum { PINS_MOST = 2000, NAME_FOLDED_MOST = 48, SIDE_MOST = 64 };

typedef struct Outline {
    Line *line;
    MarkPackage package;
    LIST(MarkPin) pins;
    LIST(Text) aliases;
    double foot, pad, prior;
    Text left[SIDE_MOST], right[SIDE_MOST];
    uint32_t left_count, right_count;
    bool sided;
} Outline;

/* Upper-case letters and digits alone; 0 when it is empty or too long to be a package's name. */
static size_t fold_name(Text name, char *folded) {
    size_t len = 0;
    for (size_t i = 0; i < name.len; i++) {
        unsigned char c = (unsigned char)name.at[i];
        bool kept = isalnum(c) || c == '.' || c >= 0x80;
        if (kept && len == NAME_FOLDED_MOST) return 0;
        if (kept) folded[len++] = to_upper((char)c);
        if (!kept && c != '-' && c != ' ' && c != '_' && c != '/' && c != '(' && c != ')') return 0;
    }
    return len;
}

static void add_pin(Arena *arena, Outline *o, Text number, double x, double y) {
    MarkPin *pin = list_add(arena, &o->pins);
    *pin = (MarkPin){number, x, y};
}

static void add_numbered(Arena *arena, Outline *o, double x, double y) {
    add_pin(arena, o, text_fmt(arena, "%u", o->pins.count + 1), x, y);
}

/* Options after a shape's first words, in any order. */
static void take_options(Outline *o, uint32_t *rows, uint32_t *lying) {
    Line *line = o->line;
    while (line_more(line)) {
        double mm[2] = {0};
        if (line_take(line, "pitch"))
            o->package.pitch = line_mm(line);
        else if (line_take(line, "foot"))
            o->foot = line_mm(line);
        else if (line_take(line, "span")) {
            size_t count = line_sizes(line, mm, 2);
            o->package.span = mm[0];
            o->package.span_length = count == 2 ? mm[1] : 0;
        } else if (line_take(line, "through-hole"))
            o->package.through_hole = true;
        else if (rows != NULL && line_take(line, "rows")) {
            *rows = (uint32_t)line_quantity(line, UNIT_NONE, "a number of pins").value;
            if (!line_take(line, "x")) line_wrong(line, TEXT("the second number of pins is missing"), TEXT("x"));
            *lying = (uint32_t)line_quantity(line, UNIT_NONE, "a number of pins").value;
        } else
            line_wrong(line, TEXT("this word is not known here"), TEXT("pitch, span, foot, rows or through-hole"));
    }
}

static uint32_t take_count(Outline *o, const char *expected) {
    double count = line_quantity(o->line, UNIT_NONE, expected).value;
    if (!o->line->bad && !(count >= 1 && count <= PINS_MOST && count == floor(count)))
        line_wrong(o->line, TEXT("this is not a number of pins"), TEXT("1 to 2000"));
    return o->line->bad ? 0 : (uint32_t)count;
}

/* `count` pins in a straight line centred on (x, y), a step of (dx, dy) between neighbours. */
static void add_row(Arena *arena, Outline *o, uint32_t count, double x, double y, double dx, double dy) {
    double first = -((double)count - 1) / 2;
    for (uint32_t i = 0; i < count; i++) add_numbered(arena, o, x + (first + i) * dx, y + (first + i) * dy);
}

static void shape_dual(Arena *arena, Outline *o) {
    uint32_t count = take_count(o, "a number of pins");
    take_options(o, NULL, NULL);
    if (count % 2 != 0) line_wrong(o->line, TEXT("two rows need an even number of pins"), TEXT(""));
    if (o->line->bad) return;
    double x = (o->package.span - o->foot) / 2, pitch = o->package.pitch;
    add_row(arena, o, count / 2, -x, 0, 0, pitch);
    add_row(arena, o, count / 2, x, 0, 0, -pitch);
}

static void shape_quad(Arena *arena, Outline *o) {
    uint32_t count = take_count(o, "a number of pins"), upright = count / 4, lying = count / 4;
    take_options(o, &upright, &lying);
    if (count != 2 * (upright + lying)) line_wrong(o->line, TEXT("the rows don't add up to the number of pins"), TEXT(""));
    if (o->line->bad) return;
    if (o->package.span_length == 0) o->package.span_length = o->package.span;
    double x = (o->package.span - o->foot) / 2, y = (o->package.span_length - o->foot) / 2, pitch = o->package.pitch;
    add_row(arena, o, upright, -x, 0, 0, pitch);
    add_row(arena, o, lying, 0, y, pitch, 0);
    add_row(arena, o, upright, x, 0, 0, -pitch);
    add_row(arena, o, lying, 0, -y, -pitch, 0);
}

static void shape_array(Arena *arena, Outline *o) {
    static const char letters[] = "ABCDEFGHJKLMNPRTUVWY"; /* JESD95: I, O, Q, S, X and Z are left out */
    uint32_t rows = take_count(o, "a number of rows");
    if (!line_take(o->line, "x")) line_wrong(o->line, TEXT("the number of columns is missing"), TEXT("x"));
    uint32_t columns = take_count(o, "a number of columns");
    if (!line_take(o->line, "pitch")) line_wrong(o->line, TEXT("the pitch is missing"), TEXT("pitch"));
    double pitch = o->package.pitch = line_mm(o->line);
    LIST(Text) without = {0};
    if (line_take(o->line, "without"))
        while (line_more(o->line)) list_push(arena, &without, line_text(o->line));
    if (rows >= sizeof letters) line_wrong(o->line, TEXT("too many rows"), TEXT("at most 20"));
    if (o->line->bad) return;
    for (uint32_t r = 0; r < rows; r++)
        for (uint32_t c = 0; c < columns; c++) {
            Text number = text_fmt(arena, "%c%u", letters[r], c + 1);
            bool left_out = false;
            for (uint32_t i = 0; i < without.count; i++) left_out |= text_same(without.at[i], number);
            if (!left_out) add_pin(arena, o, number, (c - (columns - 1) / 2.0) * pitch, (r - (rows - 1) / 2.0) * pitch);
        }
}

static void shape_row(Arena *arena, Outline *o) {
    uint32_t count = take_count(o, "a number of pins");
    o->package.through_hole = true;
    take_options(o, NULL, NULL);
    if (!o->line->bad) add_row(arena, o, count, 0, 0, o->package.pitch, 0);
}

/* A chip's terminals are placed once the body is known. */
static void shape_chip(Arena *arena, Outline *o) {
    if (take_count(o, "2") != 2) line_wrong(o->line, TEXT("a chip has two terminals"), TEXT("2"));
    take_options(o, NULL, NULL);
    if (!o->line->bad) add_row(arena, o, 2, 0, 0, 1, 0);
}

static void shape_sides(Arena *arena, Outline *o) {
    (void)arena;
    take_options(o, NULL, NULL);
    o->sided = !o->line->bad;
}

static const struct {
    const char *word;
    void (*read)(Arena *arena, Outline *outline);
} SHAPES[] = {
    {"chip", shape_chip},   {"dual", shape_dual},  {"quad", shape_quad},  {"sides", shape_sides},
    {"array", shape_array}, {"inline", shape_row}, {"radial", shape_row}, {"axial", shape_row},
};

static bool take_shape(Arena *arena, Outline *o) {
    for (size_t i = 0; i < sizeof SHAPES / sizeof SHAPES[0]; i++) {
        if (!text_is(o->line->line->word, SHAPES[i].word)) continue;
        if (o->package.style.len == 0) o->package.style = text_of(SHAPES[i].word);
        SHAPES[i].read(arena, o);
        return true;
    }
    return false;
}

static void take_side(Outline *o, Text *side, uint32_t *count) {
    while (line_more(o->line) && *count < SIDE_MOST) side[(*count)++] = line_text(o->line);
    line_end(o->line);
}

static void take_body(Outline *o) {
    double mm[2] = {0};
    bool round = text_is(o->line->line->word, "round");
    if (line_sizes(o->line, mm, round ? 1 : 2) != (round ? 1 : 2))
        line_wrong(o->line, TEXT("a body has two sizes, a round one has one"), TEXT("4.9 x 3.9 mm"));
    o->package.body_length = mm[0];
    o->package.body_width = round ? mm[0] : mm[1];
    if (line_take(o->line, "height")) o->package.body_height = line_mm(o->line);
    line_end(o->line);
}

static void take_seen(const Marks *marks, Outline *o) {
    bool often = line_take(o->line, "often");
    if (!often && !line_take(o->line, "seldom"))
        line_wrong(o->line, TEXT("this is not how common it is"), TEXT("often, seldom"));
    o->prior = weight_of(marks, often ? "package-often" : "package-seldom");
    line_end(o->line);
}

static void take_heat(Outline *o) {
    static const Unit kelvin_per_watt = {.K = 1, .m = -2, .kg = -1, .s = 3};
    o->package.heat = line_quantity(o->line, kelvin_per_watt, "how much hotter a watt makes it, such as 150 K/W").value;
    if (line_take(o->line, "case")) o->package.heat_case = line_quantity(o->line, kelvin_per_watt, "such as 40 K/W").value;
    line_end(o->line);
}

static void take_line(Arena *arena, const Marks *marks, Outline *o) {
    Line *line = o->line;
    Text word = line->line->word;
    double mm[2] = {0};
    if (take_shape(arena, o)) return;
    if (text_is(word, "also"))
        while (line_more(line)) list_push(arena, &o->aliases, line_text(line));
    else if (text_is(word, "style"))
        o->package.style = line_text(line), line_end(line);
    else if (text_is(word, "body") || text_is(word, "round"))
        take_body(o);
    else if (text_is(word, "pad"))
        line_sizes(line, mm, 2), line_end(line), o->pad = mm[0];
    else if (text_is(word, "left"))
        take_side(o, o->left, &o->left_count);
    else if (text_is(word, "right"))
        take_side(o, o->right, &o->right_count);
    else if (text_is(word, "seen"))
        take_seen(marks, o);
    else if (text_is(word, "heat"))
        take_heat(o);
    else if (text_is(word, "rated"))
        o->package.rated = line_quantity(line, UNIT_WATT, "watts, such as 125 mW").value, line_end(line);
    else if (text_is(word, "source"))
        o->package.source = line_text(line), line_end(line);
    else {
        line->lexer = line_start(line->lore, line->line).lexer;
        lex_start(&line->lexer, line->line->text);
        line_wrong(line, TEXT("a package has no such line"),
                   TEXT("also, style, body, round, pad, seen, rated, heat, source or a shape (chip, dual, quad, sides, inline, ...)"));
    }
}

/* Pins of the two sides, in the order of their numbers; a gap keeps its place. */
static void place_sides(Arena *arena, Outline *o) {
    double x = (o->package.span - o->foot) / 2;
    for (int right = 0; right < 2; right++) {
        const Text *side = right ? o->right : o->left;
        uint32_t count = right ? o->right_count : o->left_count;
        for (uint32_t i = 0; i < count; i++)
            if (!text_is(side[i], "-"))
                add_pin(arena, o, side[i], right ? x : -x, (i - (count - 1) / 2.0) * o->package.pitch);
    }
    for (uint32_t i = 1; i < o->pins.count; i++)
        for (uint32_t k = i; k > 0 && text_number(o->pins.at[k].number) < text_number(o->pins.at[k - 1].number); k--) {
            MarkPin swap = o->pins.at[k];
            o->pins.at[k] = o->pins.at[k - 1], o->pins.at[k - 1] = swap;
        }
}

static void place_chip(Outline *o) {
    double span = o->package.span > 0 ? o->package.span : o->package.body_length;
    for (uint32_t i = 0; i < o->pins.count; i++) o->pins.at[i].x = (i == 0 ? -1 : 1) * (span - o->foot) / 2;
}

/* Outer sizes at turn 0: rows stand upright where there are two or four; otherwise the length lies along x. */
static void set_size(MarkPackage *p, bool upright) {
    p->size_x = fmax(upright ? p->body_width : p->body_length, p->span);
    p->size_y = fmax(upright ? p->body_length : p->body_width, p->span_length);
    for (uint32_t i = 0; i < p->pin_count; i++) { /* the leads of a lying body are bent beyond it */
        p->size_x = fmax(p->size_x, 2 * fabs(p->pins[i].x));
        p->size_y = fmax(p->size_y, 2 * fabs(p->pins[i].y));
    }
}

static void finish(Arena *arena, Outline *o, bool chip, bool upright) {
    MarkPackage *p = &o->package;
    if (o->sided) place_sides(arena, o);
    if (chip) place_chip(o);
    for (uint32_t i = 0; i < o->pins.count; i++) p->leads += !text_is(o->pins.at[i].number, "TAB");
    if (o->pad > 0) add_pin(arena, o, TEXT("EP"), 0, 0);
    p->pins = o->pins.at;
    p->pin_count = o->pins.count;
    p->aliases = o->aliases.at;
    p->alias_count = o->aliases.count;
    set_size(p, upright);
}

static void add_name(Marks *marks, Text name, uint32_t package) {
    char folded[NAME_FOLDED_MOST];
    size_t len = fold_name(name, folded);
    if (len == 0) return;
    uint32_t number = names_find(marks->package_names, (Text){folded, len});
    if (number == NAME_NONE) {
        names_add(marks->package_names, text_copy(marks->arena, (Text){folded, len}));
        list_push(marks->arena, &marks->package_of, package);
    } else {
        marks->package_of.at[number] = package; /* a later entry, such as the person's own, wins */
    }
}

void package_load(Marks *marks, Lore *lore, const LoreEntry *entry) {
    Line line = line_start(lore, &entry->head);
    Outline outline = {.line = &line}, *o = &outline;
    o->package.name = line_text(&line);
    line_end(&line);
    bool bad = line.bad, chip = false, upright = false;
    for (uint32_t i = 0; i < entry->line_count; i++) {
        line = line_start(lore, &entry->lines[i]);
        take_line(marks->arena, marks, o);
        bad |= line.bad;
        chip |= text_is(line.line->word, "chip");
        upright |= text_is(line.line->word, "dual") || text_is(line.line->word, "quad") ||
                   text_is(line.line->word, "sides") || text_is(line.line->word, "array");
    }
    line = line_start(lore, &entry->head);
    finish(marks->arena, o, chip, upright);
    if (!bad && o->package.pin_count == 0) line_wrong(&line, TEXT("this package has no leads"), TEXT("a shape"));
    if (!bad && o->package.body_length <= 0) line_wrong(&line, TEXT("this package has no body"), TEXT("body or round"));
    if (bad || line.bad) return;
    list_push(marks->arena, &marks->packages, o->package);
    list_push(marks->arena, &marks->package_priors, o->prior);
    add_name(marks, o->package.name, marks->packages.count - 1);
    for (uint32_t i = 0; i < o->aliases.count; i++) add_name(marks, o->aliases.at[i], marks->packages.count - 1);
}

const MarkPackage *mark_package(const Marks *marks, Text name) {
    char folded[NAME_FOLDED_MOST];
    size_t len = name.len > 2 * NAME_FOLDED_MOST ? 0 : fold_name(name, folded);
    if (len == 0) return NULL;
    uint32_t number = names_find(marks->package_names, (Text){folded, len});
    return number == NAME_NONE ? NULL : &marks->packages.at[marks->package_of.at[number]];
}

const MarkPackage *mark_packages(const Marks *marks, size_t *count) {
    *count = marks->packages.count;
    return marks->packages.at;
}

double package_prior(const Marks *marks, const MarkPackage *package) {
    return marks->package_priors.at[package - marks->packages.at];
}
