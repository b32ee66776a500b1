/* unpick note DIR "..." */
#include "cli/cli.h"

#include <stdio.h>
#include <string.h>

/* Appends one note; what happened is told at once, since the next may be long in coming. */
static CliExit append(Cli *cli, const char *folder, Text text) {
    uint32_t line = 0;
    bool done = note_append(folder, text, &line, &cli->problems);
    const Diag *first = cli->problems.list.count > 0 ? &cli->problems.list.at[0] : NULL;
    bool of_file = !done && first != NULL && first->place.file.len > 0 && first->place.line == 0; /* else: of the note */
    cli_tell_problems(cli);
    if (done) out_fmt(&cli->out, "line %u\n", line);
    return done ? CLI_DONE : of_file ? CLI_UNREADABLE : CLI_NO;
}

/* One line of stdin without its newline. Of a line longer than a note can be, the beginning, one byte too long, so that it
 * is refused with its place. False at the end. */
static bool read_line(char *buffer, size_t room, Text *line) {
    size_t len = 0;
    int c = getchar();
    if (c == EOF) return false;
    for (; c != EOF && c != '\n'; c = getchar())
        if (len < room) buffer[len++] = (char)c;
    *line = (Text){buffer, len};
    return true;
}

static CliExit append_stdin(Cli *cli, const char *folder) {
    char *buffer = arena_many(cli->arena, char, NOTE_LINE_MOST + 1);
    CliExit worst = CLI_DONE;
    Text line;
    while (read_line(buffer, NOTE_LINE_MOST + 1, &line)) {
        Text text = text_trim(line);
        if (text.len == 0 || text.at[0] == '#') continue;
        CliExit code = append(cli, folder, text);
        if (!cli_flush(cli)) return CLI_UNREADABLE;
        cli->out.len = 0;
        if (code > worst) worst = code;
        if (code == CLI_UNREADABLE) break;
    }
    return worst;
}

static CliExit run(Cli *cli, int argc, char **argv) {
    const struct option options[] = {{0}};
    int got = cli_option(cli, argc, argv, options);
    if (got != 0) return got == CLI_HELPED ? CLI_DONE : CLI_USAGE;
    if (!cli_words(cli, argc, 2, INT16_MAX)) return CLI_USAGE;
    const char *folder = argv[optind];
    if (argc == optind + 2 && strcmp(argv[optind + 1], "-") == 0) return append_stdin(cli, folder);
    CliExit worst = CLI_DONE;
    for (int i = optind + 1; i < argc; i++) {
        CliExit code = append(cli, folder, text_of(argv[i]));
        if (code > worst) worst = code;
    }
    return worst;
}

const CliCommand CLI_NOTE = {"note", "check a note and append it",
                             "usage: unpick note DIR NOTE...\n"
                             "       unpick note DIR -\n\n"
                             "Checks each NOTE; appends it to DIR/notes.txt only if it can be understood, and prints its "
                             "line number once it is safe on\n"
                             "disk. A refused note is shown with what was expected, and nothing of it is kept. - reads "
                             "notes from standard input, one a\n"
                             "line; blank lines and comments are passed over.\n\n"
                             "examples:\n"
                             "  unpick note dispenser 'part R1 0805 marked \"101\"'\n"
                             "  unpick note dispenser 'join U1.8 R1.1 by meter' 'read v(VBAT) = 6.21 V in idle by meter'\n"
                             "  unpick note dispenser - < seen-today.txt\n\n"
                             "exit: 0 all appended, 1 a note was refused, 3 the notes can't be read or written\n",
                             run};
