/* unpick new DIR */
#include "cli/cli.h"

static CliExit run(Cli *cli, int argc, char **argv) {
    const struct option options[] = {{0}};
    int got = cli_option(cli, argc, argv, options);
    if (got != 0) return got == CLI_HELPED ? CLI_DONE : CLI_USAGE;
    if (!cli_words(cli, argc, 1, 1)) return CLI_USAGE;
    bool done = note_new_folder(argv[optind], &cli->problems);
    cli_tell_problems(cli);
    if (!done) return CLI_UNREADABLE;
    out_fmt(&cli->out,
            "%s/notes.txt is ready. Begin with what it is:\n  unpick note %s 'product \"what it is\" household'\n",
            argv[optind], argv[optind]);
    return CLI_DONE;
}

const CliCommand CLI_NEW = {
    "new", "start a teardown folder",
    "usage: unpick new DIR\n\n"
    "Makes DIR, a teardown folder, with a notes file that says how to go on. DIR may exist if it is empty.\n\n"
    "example:\n"
    "  unpick new dispenser\n",
    run};
