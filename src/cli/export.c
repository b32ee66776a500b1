/* unpick export DIR WHAT */
#include "cli/cli.h"

#include "report/export.h"

#include <stdlib.h>
#include <string.h>

typedef struct Asked {
    ReportExport what;
    const char *shelf, *path;
} Asked;

static bool take_side(Cli *cli, const char *said, ReportExport *what) {
    what->has_side = true;
    what->side = strcmp(said, "bottom") == 0 ? BOARD_BOTTOM : BOARD_TOP;
    if (what->side == BOARD_BOTTOM || strcmp(said, "top") == 0) return true;
    cli_usage(cli, "--side is top or bottom");
    return false;
}

static bool take_sheet(Cli *cli, const char *said, ReportExport *what) {
    char *end;
    long sheet = strtol(said, &end, 10);
    what->sheet = (uint32_t)sheet;
    if (end != said && *end == '\0' && sheet >= 1 && sheet <= UINT16_MAX) return true;
    cli_usage(cli, "--sheet is a number from 1");
    return false;
}

/* False, and said, when the command line is not understood. */
static bool take_options(Cli *cli, int argc, char **argv, Asked *asked, CliExit *code) {
    const struct option options[] = {{"out", required_argument, NULL, 'o'},
                                     {"board", required_argument, NULL, 'b'},
                                     {"side", required_argument, NULL, 'd'},
                                     {"sheet", required_argument, NULL, 'n'},
                                     {"shelf", required_argument, NULL, 's'},
                                     {"symbols", required_argument, NULL, 'y'},
                                     {0}};
    *code = CLI_USAGE;
    for (int got; (got = cli_option(cli, argc, argv, options)) != 0;) {
        if (got == CLI_HELPED) *code = CLI_DONE;
        if (got < 0) return false;
        if (got == 'o') asked->path = optarg;
        if (got == 's') asked->shelf = optarg;
        if (got == 'b') asked->what.board = text_of(optarg);
        if (got == 'd' && !take_side(cli, optarg, &asked->what)) return false;
        if (got == 'y' && !cli_symbols(cli, optarg, &asked->what.ansi)) return false;
        if (got == 'n' && !take_sheet(cli, optarg, &asked->what)) return false;
    }
    return cli_words(cli, argc, 2, 2);
}

static CliExit run(Cli *cli, int argc, char **argv) {
    Asked asked = {0};
    CliExit code;
    if (!take_options(cli, argc, argv, &asked, &code)) return code;
    asked.what.what = text_of(argv[optind + 1]);
    ReportTeardown teardown;
    if (!cli_open(cli, &(CliAsked){.folder = argv[optind], .shelf = asked.shelf}, &teardown, &code)) return code;
    Out file = out_new(cli->arena);
    bool made = report_export(&file, &teardown, &asked.what, &cli->problems);
    cli_tell_problems(cli);
    code = made ? CLI_DONE : CLI_NO;
    if (made && asked.path == NULL)
        cli->out = file;
    else if (made)
        code = cli_write(cli, asked.path, &file, NULL) ? CLI_DONE : CLI_UNREADABLE;
    report_close(&teardown);
    return code;
}

const CliCommand CLI_EXPORT = {
    "export", "parts, nets, copper and drawings in open formats",
    "usage: unpick export DIR WHAT [--out FILE] [--board NAME] [--side top|bottom] [--sheet N]\n                         "
    "[--symbols iec|ieee] [--shelf FILE]\n\n"
    "Writes one file to standard output, in a format that others read:\n\n"
    "  parts.csv      the parts table; a spreadsheet opens it, and nothing in it runs as a formula\n"
    "  nets.json      who is joined to whom\n"
    "  nets.ipc       the same with places, for boards whose copper is known: IPC-D-356A\n"
    "  copper.gbr     the copper of one side: Gerber X2\n"
    "  board.svg      one side of a board, with nets, parts and callouts\n"
    "  blocks.svg     the block diagram\n"
    "  schematic.svg  a sheet of the schematic\n"
    "  currents.svg   the supply's current in each mode, and which parts it goes to\n"
    "  battery.svg    a battery's volts over the time that it lasts\n"
    "  readings.svg   what the meter read, beside the sums and their ranges\n\n"
    "  --out FILE       write there; the old file is replaced only when the new one is whole\n"
    "  --board NAME     of which board (default: the first)\n"
    "  --side SIDE      top or bottom (default: the one that is known)\n"
    "  --sheet N        of the schematic (default: 1)\n"
    "  --symbols WHICH  of the schematic: iec (60617, the default) or ieee (315)\n"
    "  --shelf FILE     parts catalogue (default: $XDG_DATA_HOME/unpick/shelf.db)\n\n"
    "examples:\n"
    "  unpick export dispenser parts.csv --out parts.csv\n"
    "  unpick export dispenser board.svg --side bottom >board.svg\n\n"
    "exit: 0 written, 1 there is no such thing in this teardown, 3 the notes can't be read or the file can't be written\n",
    run};
