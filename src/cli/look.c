/* unpick look DIR */
#include "cli/cli.h"

static CliExit run(Cli *cli, int argc, char **argv) {
    const struct option options[] = {{"json", no_argument, NULL, 'j'}, {"shelf", required_argument, NULL, 's'}, {0}};
    const char *shelf = NULL;
    bool json = false;
    for (int got; (got = cli_option(cli, argc, argv, options)) != 0;) {
        if (got < 0) return got == CLI_HELPED ? CLI_DONE : CLI_USAGE;
        if (got == 'j') json = true;
        if (got == 's') shelf = optarg;
    }
    if (!cli_words(cli, argc, 1, 1)) return CLI_USAGE;
    ReportTeardown teardown;
    bool open = report_open(cli->arena, argv[optind], cli_catalogue(cli, shelf, false), &teardown, &cli->problems);
    cli_tell_problems(cli);
    if (!open) return CLI_UNREADABLE;
    if (json)
        report_json(&cli->out, teardown.reasoning);
    else
        report_look(&cli->out, teardown.reasoning, cli_style());
    CliExit code = teardown.reasoning->bench->conflicts.count > 0 ? CLI_NO : CLI_DONE;
    report_close(&teardown);
    return code;
}

const CliCommand CLI_LOOK = {
    "look", "hazards, how it works, contradictions, what is open",
    "usage: unpick look DIR [--json] [--shelf FILE]\n\n"
    "Tells what the notes of DIR and the photos of its boards amount to: hazards first, then how the product works from power\n"
    "to output, its parts, the copper of its boards, what was left out to save money, contradictions with every note "
    "involved,\n"
    "and the questions still open. Notes and photos that can't be understood are named on standard error; all others "
    "count.\n\n"
    "  --json        facts as JSON (doc/json.md)\n"
    "  --shelf FILE  parts catalogue (default: $XDG_DATA_HOME/unpick/shelf.db)\n\n"
    "examples:\n"
    "  unpick look dispenser\n"
    "  unpick look dispenser --json | jq '.claims[] | select(.p < 0.8) | .says'\n\n"
    "exit: 0 done, 1 the notes contradict each other, 3 the notes can't be read\n",
    run};
