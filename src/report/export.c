/* A teardown in open formats, one file each: CSV (RFC 4180), JSON (RFC 8259), SVG 2, Gerber X2, IPC-D-356A. */
#include "report/export.h"

#include "copper/export_board.h"
#include "draw/blocks.h"
#include "draw/board.h"
#include "draw/plot.h"
#include "draw/schematic.h"
#include "report/json.h"
#include "report/photo.h"

typedef struct Exporting {
    Out *out;
    Arena *arena;
    const ReportTeardown *teardown;
    const Bench *bench;
    const ReportExport *asked;
    Diags *problems;
} Exporting;

static bool refuse(const Exporting *e, Text message, const char *expected) {
    diag_add(e->problems, (Diag){.place.file = e->asked->what, .message = message, .expected = text_of(expected)});
    return false;
}

/* ---- lists ---- */

static bool parts_csv(const Exporting *e) {
    report_parts_csv(e->out, e->teardown->reasoning);
    return true;
}

static bool nets_json(const Exporting *e) {
    json_t *answer = json_answer(), *nets = json_array();
    for (uint32_t i = 0; i < e->bench->nets.count; i++) {
        const BenchNet *net = &e->bench->nets.at[i];
        json_t *object = json_object(), *pins = json_array();
        for (uint32_t k = 0; k < net->pin_count; k++)
            json_array_append_new(pins, json_of_text(bench_pin_name(e->arena, e->bench, net->pins[k])));
        json_put_text(object, "name", net->name);
        json_put(object, "named", json_boolean(net->named));
        json_put(object, "pins", pins);
        json_array_append_new(nets, object);
    }
    json_put(answer, "nets", nets);
    json_finish(e->out, answer);
    return true;
}

/* ---- boards ---- */

static bool find_board(const Exporting *e, uint32_t *number) {
    const Bench *bench = e->bench;
    for (uint32_t i = 0; i < bench->photographed.count; i++) {
        const BenchBoard *board = &bench->photographed.at[i];
        if ((e->asked->board.len > 0 && !text_same(board->name, e->asked->board)) || board->net == NULL) continue;
        *number = i;
        return true;
    }
    return refuse(e, TEXT("there is no board whose copper is known"),
                  "a board with a size and a photo of a side: photo A bottom a.jpg");
}

/* The side asked for, or the only one that is known. */
static bool find_side(const Exporting *e, const BoardCopper *copper, BoardSide *side) {
    *side = e->asked->has_side ? e->asked->side : copper->face[BOARD_TOP].known ? BOARD_TOP : BOARD_BOTTOM;
    if (!e->asked->has_side && copper->face[BOARD_TOP].known && copper->face[BOARD_BOTTOM].known)
        return refuse(e, TEXT("both sides of the board are known"), "--side top or --side bottom");
    return copper->face[*side].known || refuse(e, TEXT("the copper of this side is not known"), "a side with a photo");
}

/* By the board's own numbers: what the bench calls them. */
static Text *net_names(const Exporting *e, const BenchBoard *board) {
    Text *names = arena_many(e->arena, Text, board->copper.nets.count + 1);
    for (uint32_t i = 0; i < board->copper.nets.count; i++)
        if (board->net[i + 1] != BENCH_NONE) names[i] = e->bench->nets.at[board->net[i + 1]].name;
    return names;
}

static bool nets_ipc(const Exporting *e) {
    uint32_t number;
    if (!find_board(e, &number)) return false;
    const BenchBoard *board = &e->bench->photographed.at[number];
    export_board_ipc356(e->out, &board->copper, board->name, net_names(e, board));
    return true;
}

static bool copper_gbr(const Exporting *e) {
    uint32_t number;
    BoardSide side;
    if (!find_board(e, &number)) return false;
    const BenchBoard *board = &e->bench->photographed.at[number];
    if (!find_side(e, &board->copper, &side)) return false;
    ExportNames names = {board->name, board_names(e->arena, &board->copper, side, net_names(e, board)),
                         side == BOARD_BOTTOM};
    Copper face = export_board_face(e->arena, &board->copper, side);
    export_gerber(e->out, &face, &names);
    return true;
}

/* ---- drawings ---- */

static Text straightened(const Exporting *e, Text name, BoardSide side) {
    PagePhoto made = {0};
    for (uint32_t i = 0; i < e->bench->photographed.count && e->bench->folder.len > 0; i++) {
        Flat flat;
        if (!text_same(e->bench->photographed.at[i].name, name) ||
            !bench_flat(e->arena, e->bench, i, side, &flat, e->problems))
            continue;
        photo_page_pixels(e->arena, flat.width, flat.height, flat.rgb, PHOTO_BOARD_SIDE, SIZE_MAX, &made);
        flat_free(&flat);
    }
    return made.jpeg;
}

static bool board_svg(const Exporting *e) {
    for (uint32_t i = 0; i < e->bench->boards.count; i++) {
        Text name = e->bench->boards.at[i];
        if (e->asked->board.len > 0 && !text_same(name, e->asked->board)) continue;
        for (BoardSide side = 0; side < BOARD_SIDES; side++) {
            if ((e->asked->has_side && side != e->asked->side) || !draw_board_shows(e->bench, name, side)) continue;
            BoardView view = {e->teardown->reasoning, name, side, straightened(e, name, side), TEXT("board"), true};
            return draw_board(e->out, &view);
        }
    }
    return refuse(e, TEXT("there is no such board to draw"),
                  "a board with a size, and a photo or parts that are placed on it");
}

static bool blocks_svg(const Exporting *e) {
    BlocksAsked asked = {e->teardown->reasoning, e->teardown->sums, TEXT("blocks"), true};
    return draw_blocks(e->out, &asked, e->problems);
}

static bool schematic_svg_sheet(const Exporting *e) {
    SchematicAsked asked = {.reasoning = e->teardown->reasoning, .ansi = e->asked->ansi};
    const Schematic *schematic = schematic_draw(e->arena, &asked);
    uint32_t sheet = e->asked->sheet == 0 ? 1 : e->asked->sheet;
    if (sheet > schematic->sheets.count)
        return refuse(e,
                      text_fmt(e->arena, "the schematic has %u sheet%s", schematic->sheets.count,
                               schematic->sheets.count == 1 ? "" : "s"),
                      "--sheet with a number from 1 up to that");
    schematic_svg(e->out, schematic, sheet - 1, TEXT("schematic"));
    return true;
}

/* ---- plots ---- */

static PlotAsked plot_asked(const Exporting *e, Text id) { return (PlotAsked){.sums = e->teardown->sums, .id = id, .alone = true}; }

static bool currents_svg(const Exporting *e) {
    PlotAsked asked = plot_asked(e, TEXT("currents"));
    return draw_currents(e->out, &asked) ||
           refuse(e, TEXT("no current from a supply is known in any mode"),
                  "a battery or a source, and a circuit that can be solved: unpick sums says what is missing");
}

static bool battery_svg(const Exporting *e) {
    PlotAsked asked = plot_asked(e, TEXT("battery"));
    return draw_battery(e->out, &asked, 0) ||
           refuse(e, TEXT("no battery's life can be told"),
                  "a battery of known cells, and how long each mode lasts: duty pumping 2 s per 30 min");
}

static bool readings_svg(const Exporting *e) {
    PlotAsked asked = plot_asked(e, TEXT("readings"));
    return draw_ranges(e->out, &asked) || refuse(e, TEXT("no reading can be set beside the sums"),
                                                 "readings of volts or amperes: read v(VDD) = 6.2 V in idle by meter");
}

/* ---- all of them ---- */

static const struct {
    Text what;
    bool (*write)(const Exporting *e);
} EXPORTS[] = {{TEXT_INIT("parts.csv"), parts_csv},
               {TEXT_INIT("nets.json"), nets_json},
               {TEXT_INIT("nets.ipc"), nets_ipc},
               {TEXT_INIT("copper.gbr"), copper_gbr},
               {TEXT_INIT("board.svg"), board_svg},
               {TEXT_INIT("blocks.svg"), blocks_svg},
               {TEXT_INIT("schematic.svg"), schematic_svg_sheet},
               {TEXT_INIT("currents.svg"), currents_svg},
               {TEXT_INIT("battery.svg"), battery_svg},
               {TEXT_INIT("readings.svg"), readings_svg}};
enum { EXPORT_COUNT = sizeof EXPORTS / sizeof *EXPORTS };

/* Their names: "parts.csv, ... or readings.svg". */
static Text expected(Arena *arena) {
    Out out = out_new(arena);
    for (size_t i = 0; i < EXPORT_COUNT; i++) {
        out_add(&out, i == 0 ? TEXT("") : i + 1 == EXPORT_COUNT ? TEXT(" or ") : TEXT(", "));
        out_add(&out, EXPORTS[i].what);
    }
    return out_text(&out);
}

bool report_export(Out *out, const ReportTeardown *teardown, const ReportExport *asked, Diags *problems) {
    Exporting e = {out, out->arena, teardown, teardown->bench, asked, problems};
    Text names[EXPORT_COUNT];
    for (size_t i = 0; i < EXPORT_COUNT; i++) {
        names[i] = EXPORTS[i].what;
        if (text_same(EXPORTS[i].what, asked->what)) return EXPORTS[i].write(&e);
    }
    Text near = text_nearest(asked->what, names, EXPORT_COUNT);
    diag_add(problems,
             (Diag){.place.file = asked->what,
                    .message = TEXT("is nothing that can be exported"),
                    .expected = expected(problems->arena),
                    .hint = near.len == 0 ? near : text_fmt(problems->arena, "did you mean `%.*s`?", TEXT_ARG(near))});
    return false;
}
