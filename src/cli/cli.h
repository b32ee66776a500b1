/* The command line: what every command shares. One small file a command; main.c picks it. */
#ifndef UNPICK_CLI_CLI_H
#define UNPICK_CLI_CLI_H

#include "base/diag.h"
#include "report/report.h"

#include <getopt.h>

/* What the shell learns. */
typedef enum CliExit {
    CLI_DONE,
    CLI_NO,        /* the teardown has contradictions, or the answer is no */
    CLI_USAGE,     /* the command line was not understood */
    CLI_UNREADABLE /* an input that can't be read, or an output that can't be written */
} CliExit;

typedef struct Cli Cli;

typedef struct CliCommand {
    const char *name;
    const char *does;                                /* one line */
    const char *help;                                /* usage, options, examples */
    CliExit (*run)(Cli *cli, int argc, char **argv); /* argv[0] is the command's name */
} CliCommand;

struct Cli {
    Arena *arena;
    Diags problems;
    const CliCommand *command;
    Out out; /* goes to stdout at the end */
};

extern const CliCommand CLI_NEW, CLI_NOTE, CLI_LOOK, CLI_WHY, CLI_MARK, CLI_SHELF, CLI_COPPER, CLI_SUMS, CLI_REPORT, CLI_EXPORT, CLI_PAGE;

/* ---- options ---- */

/* The next option of getopt_long with these options besides --help: its value, 0 when there are no more, or -1 when it was
 * not understood (said). --help prints the help and gives CLI_HELPED. */
enum { CLI_HELPED = -2 };
int cli_option(Cli *cli, int argc, char **argv, const struct option *options);
/* The words after the options: how many there must be. False, and said, when they are fewer or more. */
bool cli_words(Cli *cli, int argc, int least, int most);
/* `what` in the right words: "unpick look: there is no ... ; see unpick look --help". Gives CLI_USAGE. */
CliExit cli_usage(Cli *cli, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* What --symbols said: iec or ieee, those of IEEE 315. False, and said, when neither. */
bool cli_symbols(Cli *cli, const char *said, bool *ansi);

/* ---- a teardown asked about: DIR [WORD] [--json] [--shelf FILE] ---- */

typedef struct CliAsked {
    const char *folder;
    const char *shelf; /* what --shelf said, or NULL */
    bool json;
} CliAsked;

/* Reads the command line of a command that has no options but these two. False when there is nothing more to do: help was
 * asked for, or it was not understood (said); *code tells which. */
bool cli_ask(Cli *cli, int argc, char **argv, int most_words, CliAsked *asked, CliExit *code);
/* Opens the teardown and tells its problems. False, with *code, when it can't be read; else report_close is owed. */
bool cli_open(Cli *cli, const CliAsked *asked, ReportTeardown *teardown, CliExit *code);
/* Writes a whole file in place of the old one. False, and said with the hint (may be NULL), when that can't be. */
bool cli_write(Cli *cli, const char *path, const Out *file, const char *hint);

/* ---- the terminal and the world ---- */

ReportStyle cli_style(void);
bool cli_is_text(const char *word); /* UTF-8 without control characters */
/* The catalogue: what --shelf said, or $XDG_DATA_HOME/unpick/shelf.db, or ~/.local/share/unpick/shelf.db; NULL when there
 * is no home. make_folder: make its folder when missing. */
const char *cli_catalogue(Cli *cli, const char *said, bool make_folder);
/* Prints and forgets the problems. True when there were some. */
bool cli_tell_problems(Cli *cli);
/* Writes all of it to stdout; false, and said, when that can't be. */
bool cli_flush(Cli *cli);

#endif
