/* unpick look DIR */
#include "cli/cli.h"

static CliExit run(Cli *cli, int argc, char **argv) {
    CliAsked asked;
    CliExit code;
    ReportTeardown teardown;
    if (!cli_ask(cli, argc, argv, 1, &asked, &code) || !cli_open(cli, &asked, &teardown, &code)) return code;
    if (asked.json)
        report_json(&cli->out, teardown.reasoning);
    else
        report_look(&cli->out, teardown.reasoning, cli_style());
    code = teardown.reasoning->bench->conflicts.count > 0 ? CLI_NO : CLI_DONE;
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
