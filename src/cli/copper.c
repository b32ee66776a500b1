/* unpick copper PHOTO --board AxB: a photo of one board side to its nets. */
#include "base/file.h"
#include "cli/copper_asked.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

static const double SURE_ENOUGH = 0.5; /* of corners found: below, a person should look */

static void say(const char *format, ...) __attribute__((format(printf, 1, 2)));
static void say(const char *format, ...) {
    va_list args;
    fputs("unpick copper: ", stderr);
    va_start(args, format);
    vfprintf(stderr, format, args);
    va_end(args);
    fputc('\n', stderr);
}

/* Where the board is: as told, or as found; corners are said in pixels of the file, of which `shrunk` are one here. */
static bool find_place(const CopperAsked *asked, const char *path, const Photo *photo, unsigned shrunk, BoardPlace *place,
                       ExportFound *found) {
    PlacePoint corners[4];
    *found = (ExportFound){.has_corners = true, .corners_sure = 1};
    for (int k = 0; k < 4; k++) corners[k] = (PlacePoint){asked->corners[k].x / shrunk, asked->corners[k].y / shrunk};
    if (!asked->has_corners && !place_find(photo, asked->width_mm, asked->height_mm, corners, &found->corners_sure)) {
        say("%s: no board stands out from its background; say where it is: --corners \"x,y x,y x,y x,y\"", path);
        return false;
    }
    for (int k = 0; k < 4; k++) found->corners[k] = (PlacePoint){corners[k].x * shrunk, corners[k].y * shrunk};
    if (!place_from_corners(corners, asked->width_mm, asked->height_mm, photo->width, photo->height, place)) {
        say("%s: these are no four corners of a board; expected top-left, top-right, bottom-right, bottom-left as seen",
            path);
        return false;
    }
    if (found->corners_sure < SURE_ENOUGH)
        say("%s: the corners are a guess; look at them with --svg, and say better ones with --corners", path);
    place_refine(photo, place);
    return true;
}

static bool straighten(Cli *cli, const CopperAsked *asked, const char *path, Flat *flat, ExportFound *found,
                       CliExit *exit) {
    Photo photo;
    BoardPlace place;
    unsigned shrunk = 1;
    double scale = asked->preview ? flat_coarse_scale(asked->width_mm, asked->height_mm) : LAYER_SCALE;
    *exit = CLI_UNREADABLE;
    if (!(asked->preview ? photo_read_small(path, FLAT_COARSE_PHOTO, &photo, &shrunk, &cli->problems)
                         : photo_read(path, &photo, &cli->problems))) {
        cli_tell_problems(cli);
        return false;
    }
    bool done = find_place(asked, path, &photo, shrunk, &place, found);
    if (!done) *exit = CLI_NO;
    if (done && !(done = flat_from_photo(&photo, &place, scale, flat)))
        say("%s: the board can't be straightened: too little of it is in the photo", path);
    photo_free(&photo);
    return done;
}

static bool write_text(const char *path, const Out *out) {
    if (file_write(path, out_text(out))) return true;
    say("%s: can't be written: %s", path, strerror(errno));
    return false;
}

static bool write_files(Cli *cli, const CopperAsked *asked, const Copper *copper, const ExportNames *names,
                        const Flat *flat) {
    bool done = true;
    if (asked->labels != NULL && !(done = export_labels(asked->labels, copper, asked->scale)))
        say("%s: can't be written: %s", asked->labels, strerror(errno));
    Out svg = out_new(cli->arena), gerber = out_new(cli->arena), netlist = out_new(cli->arena);
    if (asked->svg != NULL) export_svg(&svg, copper, names, flat);
    if (asked->gerber != NULL) export_gerber(&gerber, copper, names);
    if (asked->netlist != NULL) export_ipc356(&netlist, copper, names);
    done &= asked->svg == NULL || write_text(asked->svg, &svg);
    done &= asked->gerber == NULL || write_text(asked->gerber, &gerber);
    done &= asked->netlist == NULL || write_text(asked->netlist, &netlist);
    return done;
}

/* The last part of a path, without its ending. */
static Text name_of(const char *path) {
    const char *slash = strrchr(path, '/');
    Text name = text_of(slash == NULL ? path : slash + 1);
    size_t dot = text_find(name, TEXT("."));
    return dot == SIZE_MAX || dot == 0 ? name : text_sub(name, 0, dot);
}

static CliExit trace(Cli *cli, const CopperAsked *asked, const char *path, const Flat *flat, const ExportFound *found) {
    Layers layers;
    Copper copper;
    ExportNames names = {.board = name_of(path), .bottom = asked->bottom};
    if (!layers_from_flat(flat, asked->hints.at, asked->hints.count, &layers)) {
        say("%s: its copper can't be told", path);
        return CLI_UNREADABLE;
    }
    bool traced = copper_trace(cli->arena, &layers, asked->words.at, asked->words.count, &copper);
    layers_free(&layers);
    if (!traced) {
        say("%s: its copper can't be traced", path);
        return CLI_UNREADABLE;
    }
    CliExit exit = copper.conflicts.count > 0 ? CLI_NO : CLI_DONE;
    if (asked->json)
        export_json(&cli->out, &copper, &names, found);
    else
        export_text(&cli->out, &copper, &names, found);
    if (!write_files(cli, asked, &copper, &names, flat)) exit = CLI_UNREADABLE;
    copper_free(&copper);
    return exit;
}

static CliExit run(Cli *cli, int argc, char **argv) {
    CopperAsked asked;
    ExportFound found;
    Flat flat;
    CliExit exit;
    bool helped;
    if (!copper_asked(cli, argc, argv, &asked, &helped)) return helped ? CLI_DONE : CLI_USAGE;
    const char *path = argv[optind];
    if (!straighten(cli, &asked, path, &flat, &found, &exit)) return exit;
    exit = trace(cli, &asked, path, &flat, &found);
    flat_free(&flat);
    return exit;
}

const CliCommand CLI_COPPER = {
    "copper", "a photo of a board side to its copper nets",
    "usage: unpick copper PHOTO --board AxB [options]\n\n"
    "Finds the copper in a photo (JPEG, PNG, WebP, HEIC) of one side of a board, in millimetres from its top-left corner "
    "as\n"
    "seen, and lists the places where a meter should settle whether two pieces are joined.\n\n"
    "  --board AxB         width and height as seen: 46.5x21mm, 2x1inch\n"
    "  --corners PLACES    its corners in the photo, pixels: top-left first, clockwise; else they are looked for\n"
    "  --bottom            the photo shows the bottom: what is written is mirrored into the top's view\n"
    "  --copper X,Y        here is copper, a spot of 0.2 mm; --bare X,Y: here is none\n"
    "  --joined \"X,Y X,Y\"  a meter beeped between the two; --apart \"X,Y X,Y\": it did not\n"
    "  --cut X,Y           a track is cut here\n"
    "  --bridge \"X,Y X,Y\"  solder or a wire joins the two\n"
    "  --hidden PLACES     nothing can be seen within this outline\n"
    "  --labels FILE.png   16-bit grey, 0 no copper, n net n; --scale S: pixels a mm\n"
    "  --svg FILE          nets and doubts over the straightened photo\n"
    "  --gerber FILE       the copper as Gerber X2; --netlist FILE: IPC-D-356A\n"
    "  --preview           a first look, at once: at half the scale, thin tracks and gaps are often missed\n"
    "  --json              facts as JSON (doc/json.md)\n\n"
    "examples:\n"
    "  unpick copper bottom.jpg --board 46.5x21mm --bottom --svg bottom.svg\n"
    "  unpick copper bottom.jpg --board 46.5x21mm --joined \"3.2,4.1 18.7,4.4\" --gerber bottom.gbl\n\n"
    "exit: 0 traced, 1 no board was found, or what was said contradicts what is seen, 3 something can't be read or "
    "written\n",
    run};
