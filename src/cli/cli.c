/* What the commands share: options, problems on stderr, the terminal's width and colour, the catalogue's place. */
#include "cli/cli.h"

#include "base/file.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <unistd.h>

/* ---- options ---- */

CliExit cli_usage(Cli *cli, const char *format, ...) {
    va_list args;
    fprintf(stderr, "unpick %s: ", cli->command->name);
    va_start(args, format);
    vfprintf(stderr, format, args);
    va_end(args);
    fprintf(stderr, "\nSee: unpick %s --help\n", cli->command->name);
    return CLI_USAGE;
}

int cli_option(Cli *cli, int argc, char **argv, const struct option *options) {
    enum { HELP = 1, OPTIONS_MOST = 40 };
    struct option all[OPTIONS_MOST + 2] = {{"help", no_argument, NULL, HELP}};
    for (size_t i = 0; i < OPTIONS_MOST && options[i].name != NULL; i++) all[i + 1] = options[i];
    opterr = 0;
    int got = getopt_long(argc, argv, ":ho:", all, NULL);
    if (got == -1) return 0;
    if (got == HELP || got == 'h') {
        out_add(&cli->out, text_of(cli->command->help));
        return CLI_HELPED;
    }
    bool taken = got != '?' && got != ':';
    for (size_t i = 0; got == 'o' && (taken = options[i].name != NULL) && options[i].val != 'o'; i++) continue;
    if (taken) return got;
    const char *word = argv[optind - 1];
    if (got == ':')
        cli_usage(cli, "%s wants a value", word);
    else
        cli_usage(cli, "there is no option %s", word);
    return -1;
}

bool cli_words(Cli *cli, int argc, int least, int most) {
    int words = argc - optind;
    if (words >= least && words <= most) return true;
    cli_usage(cli, words < least ? "something is missing" : "that is more than it takes");
    return false;
}

bool cli_symbols(Cli *cli, const char *said, bool *ansi) {
    *ansi = strcmp(said, "ieee") == 0;
    if (*ansi || strcmp(said, "iec") == 0) return true;
    cli_usage(cli, "--symbols is iec or ieee");
    return false;
}

/* ---- a teardown asked about ---- */

bool cli_ask(Cli *cli, int argc, char **argv, int most_words, CliAsked *asked, CliExit *code) {
    const struct option options[] = {{"json", no_argument, NULL, 'j'}, {"shelf", required_argument, NULL, 's'}, {0}};
    *asked = (CliAsked){0};
    for (int got; (got = cli_option(cli, argc, argv, options)) != 0;) {
        *code = got == CLI_HELPED ? CLI_DONE : CLI_USAGE;
        if (got < 0) return false;
        if (got == 'j') asked->json = true;
        if (got == 's') asked->shelf = optarg;
    }
    *code = CLI_USAGE;
    if (!cli_words(cli, argc, 1, most_words)) return false;
    asked->folder = argv[optind];
    return true;
}

bool cli_open(Cli *cli, const CliAsked *asked, ReportTeardown *teardown, CliExit *code) {
    bool open = report_open(cli->arena, asked->folder, cli_catalogue(cli, asked->shelf, false), teardown, &cli->problems);
    cli_tell_problems(cli);
    *code = open ? CLI_DONE : CLI_UNREADABLE;
    return open;
}

bool cli_write(Cli *cli, const char *path, const Out *file, const char *hint) {
    if (file_write(path, out_text(file))) return true;
    diag_add(&cli->problems, (Diag){.place.file = text_of(path),
                                    .message = text_fmt(cli->arena, "can't be written: %s", strerror(errno)),
                                    .hint = text_of(hint == NULL ? "" : hint)});
    cli_tell_problems(cli);
    return false;
}

/* ---- the terminal ---- */

static uint32_t terminal_columns(void) {
    enum { NO_TERMINAL = 100 };
    const char *said = getenv("COLUMNS");
    long columns = said == NULL ? 0 : strtol(said, NULL, 10);
    struct winsize size;
    if (columns <= 0 && isatty(STDOUT_FILENO) && ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0) columns = size.ws_col;
    return columns <= 0 || columns > UINT16_MAX ? NO_TERMINAL : (uint32_t)columns;
}

ReportStyle cli_style(void) {
    const char *no_color = getenv("NO_COLOR"), *term = getenv("TERM");
    bool plain = (no_color != NULL && no_color[0] != '\0') || (term != NULL && strcmp(term, "dumb") == 0);
    return (ReportStyle){.columns = terminal_columns(), .colour = !plain && isatty(STDOUT_FILENO)};
}

bool cli_is_text(const char *word) {
    Text text = text_of(word);
    for (size_t i = 0; i < text.len; i++)
        if ((unsigned char)text.at[i] < 0x20 || text.at[i] == 0x7F) return false;
    return text_bad_byte(text) == text.len;
}

/* ---- files ---- */

/* Every folder on the way to a file. */
static void make_folders(char *path) {
    for (char *slash = strchr(path + 1, '/'); slash != NULL; slash = strchr(slash + 1, '/')) {
        *slash = '\0';
        mkdir(path, 0777); /* if this fails, so does opening the file, and that is said */
        *slash = '/';
    }
}

const char *cli_catalogue(Cli *cli, const char *said, bool make_folder) {
    if (said != NULL) return said;
    const char *data = getenv("XDG_DATA_HOME"), *home = getenv("HOME");
    char *path = NULL;
    if (data != NULL && data[0] == '/') /* a relative one is to be ignored: XDG Base Directory Specification 0.8 */
        path = text_cstring(cli->arena, text_fmt(cli->arena, "%s/unpick/shelf.db", data));
    else if (home != NULL && home[0] == '/')
        path = text_cstring(cli->arena, text_fmt(cli->arena, "%s/.local/share/unpick/shelf.db", home));
    if (path != NULL && make_folder) make_folders(path);
    return path;
}

/* ---- what is said ---- */

static bool write_to(FILE *file, Text text) { return fwrite(text.at, 1, text.len, file) == text.len && fflush(file) == 0; }

bool cli_tell_problems(Cli *cli) {
    Out out = out_new(cli->arena);
    bool any = cli->problems.list.count > 0;
    diags_print(&out, &cli->problems);
    write_to(stderr, out_text(&out));
    cli->problems = diags_new(cli->arena);
    return any;
}

bool cli_flush(Cli *cli) {
    if (write_to(stdout, out_text(&cli->out))) return true;
    fprintf(stderr, "unpick: can't write the answer: %s\n", strerror(errno));
    return false;
}
