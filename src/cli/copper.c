/* unpick copper PHOTO: the photos of a board's sides to its nets, in words, JSON and files. */
#include "cli/copper_asked.h"

#include "base/file.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static void say(const char *format, ...) __attribute__((format(printf, 1, 2)));
static void say(const char *format, ...) {
    va_list args;
    fputs("unpick copper: ", stderr);
    va_start(args, format);
    vfprintf(stderr, format, args);
    va_end(args);
    fputc('\n', stderr);
}

/* The last part of a path, without its ending. */
static Text name_of(const char *path) {
    const char *slash = strrchr(path, '/');
    Text name = text_of(slash == NULL ? path : slash + 1);
    size_t dot = text_find(name, TEXT("."));
    return dot == SIZE_MAX || dot == 0 ? name : text_sub(name, 0, dot);
}

/* What one run knows. */
typedef struct Run {
    Cli *cli;
    const CopperAsked *asked;
    const BoardCopper *board;
    Text name;
} Run;

static bool write_text(const char *path, const Out *out) {
    if (file_write(path, out_text(out))) return true;
    say("%s: can't be written: %s", path, strerror(errno));
    return false;
}

/* The picture and the copper of one side; a path NULL: not asked for. */
static bool write_side(const Run *run, BoardSide side, const char *svg, const char *gerber) {
    bool done = true;
    Out out = out_new(run->cli->arena);
    if ((svg == NULL && gerber == NULL) || !run->board->face[side].known) return svg == NULL && gerber == NULL;
    ExportNames names = {run->name, board_names(out.arena, run->board, side, NULL), side == BOARD_BOTTOM};
    if (svg != NULL) {
        Flat flat;
        bool seen = board_flat(&run->asked->board, run->board, side, &flat, &run->cli->problems);
        export_svg(&out, &run->board->face[side].copper, &names, seen ? &flat : NULL);
        if (seen) flat_free(&flat);
        done &= write_text(svg, &out);
    }
    if (gerber != NULL) {
        Copper copper = export_board_face(out.arena, run->board, side);
        out = out_new(run->cli->arena);
        export_gerber(&out, &copper, &names);
        done &= write_text(gerber, &out);
    }
    return done;
}

static bool write_files(const Run *run) {
    const CopperAsked *asked = run->asked;
    BoardSide other = asked->side == BOARD_TOP ? BOARD_BOTTOM : BOARD_TOP;
    bool done = run->board->face[asked->side].known || asked->labels == NULL;
    if (asked->labels != NULL && done &&
        !(done = export_board_labels(asked->labels, run->board, asked->side, asked->scale)))
        say("%s: can't be written: %s", asked->labels, strerror(errno));
    done &= write_side(run, asked->side, asked->svg, asked->gerber);
    done &= write_side(run, other, asked->back_svg, asked->back_gerber);
    if (asked->netlist == NULL) return done;
    Out netlist = out_new(run->cli->arena);
    export_board_ipc356(&netlist, run->board, run->name, NULL);
    return write_text(asked->netlist, &netlist) && done;
}

/* What one photo shows, with places as it shows them. */
static void tell_one(const Run *run) {
    BoardSide side = run->asked->side;
    const BoardFace *face = &run->board->face[side];
    ExportNames names = {.board = run->name, .bottom = side == BOARD_BOTTOM};
    ExportFound found = {.has_corners = true, .corners_sure = face->corners_sure};
    memcpy(found.corners, face->corners, sizeof found.corners);
    if (run->asked->json)
        export_json(&run->cli->out, &face->copper, &names, &found);
    else
        export_text(&run->cli->out, &face->copper, &names, &found);
}

static CliExit tell(const Run *run) {
    CliExit exit = run->board->conflicts.count > 0 ? CLI_NO : CLI_DONE;
    if (!run->asked->two_sided)
        tell_one(run);
    else if (run->asked->json)
        export_board_json(&run->cli->out, run->board, run->name);
    else
        export_board_text(&run->cli->out, run->board);
    for (BoardSide side = 0; side < BOARD_SIDES; side++) /* one side of two is an answer, but not all of it */
        if (run->asked->board.face[side].photo != NULL && !run->board->face[side].known)
            exit = run->board->face[side].unplaced && exit != CLI_UNREADABLE ? CLI_NO : CLI_UNREADABLE;
    return write_files(run) ? exit : CLI_UNREADABLE;
}

/* What is asked to be kept and can't be is said before the work, not after. */
static bool can_keep(const char *folder) {
    struct stat info;
    if (folder == NULL || mkdir(folder, 0777) == 0) return true;
    if (stat(folder, &info) == 0 && !S_ISDIR(info.st_mode))
        errno = ENOTDIR;
    else if (access(folder, W_OK | X_OK) == 0)
        return true;
    say("%s: nothing can be kept there: %s", folder, strerror(errno));
    return false;
}

static CliExit run(Cli *cli, int argc, char **argv) {
    CopperAsked asked;
    BoardCopper board;
    bool helped;
    if (!copper_asked(cli, argc, argv, &asked, &helped)) return helped ? CLI_DONE : CLI_USAGE;
    if (!can_keep(asked.board.cache)) return CLI_UNREADABLE;
    bool traced = board_trace(cli->arena, &asked.board, &board, &cli->problems);
    CliExit exit = board.face[asked.side].unplaced ? CLI_NO : CLI_UNREADABLE;
    if (traced) {
        Run all = {cli, &asked, &board, name_of(argv[optind])};
        exit = tell(&all);
        board_free(&board);
    }
    cli_tell_problems(cli);
    return exit;
}

const CliCommand CLI_COPPER = {
    "copper", "photos of a board's sides to its copper nets",
    "usage: unpick copper PHOTO --board AxB [options]\n\n"
    "Finds the copper in a photo (JPEG, PNG, WebP, HEIC) of one side of a board, in millimetres from its top-left corner "
    "as\n"
    "seen, and lists the places where a meter should settle whether two pieces are joined. With --back, both sides: "
    "brought\n"
    "together by their holes, joined through plated ones; all places are then from the top-left corner seen from the "
    "top.\n\n"
    "  --board AxB         width and height as seen: 46.5x21mm, 2x1inch\n"
    "  --corners PLACES    its corners in the photo, pixels: top-left first, clockwise; else they are looked for\n"
    "  --bottom            the photo shows the bottom: what is written is mirrored into the top's view\n"
    "  --back PHOTO        the other side; --back-corners PLACES: its corners in that photo, as seen there\n"
    "  --copper X,Y        here is copper, and so where it looks alike; --bare X,Y: here is none\n"
    "  --joined \"X,Y X,Y\"  a meter beeped between the two; --apart \"X,Y X,Y\": it did not\n"
    "  --cut X,Y           a track is cut here\n"
    "  --bridge \"X,Y X,Y\"  solder or a wire joins the two\n"
    "  --hidden PLACES     nothing can be seen within this outline\n"
    "  --preview           a first look, at once: the larger the board the coarser; thin tracks and gaps may be missed\n"
    "  --on top|bottom     what is said from here on is meant for that side, else for the one PHOTO shows\n"
    "  --hole X,Y          a plated hole, which joins the sides; --bare-hole X,Y: one that does not\n"
    "  --labels FILE.png   16-bit grey, 0 no copper, n net n; --scale S: pixels a mm\n"
    "  --svg FILE          nets and doubts over the straightened photo; --back-svg FILE: of the other\n"
    "  --gerber FILE       the copper as Gerber X2; --back-gerber FILE: of the other side\n"
    "  --netlist FILE      IPC-D-356A, of both sides where both are known\n"
    "  --cache FOLDER      keeps what a photo gave, so that the same costs nothing the second time\n"
    "  --json              facts as JSON (doc/json.md)\n\n"
    "examples:\n"
    "  unpick copper bottom.jpg --board 46.5x21mm --bottom --svg bottom.svg\n"
    "  unpick copper top.jpg --back bottom.jpg --board 46.5x21mm --hole 12.3,4.5 --netlist board.ipc\n\n"
    "exit: 0 traced, 1 no board was found, or what was said contradicts what is seen, 3 something can't be read or "
    "written\n",
    run};
