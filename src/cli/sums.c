/* unpick sums DIR */
#include "cli/cli.h"

static CliExit run(Cli *cli, int argc, char **argv) {
    CliAsked asked;
    CliExit code;
    ReportTeardown teardown;
    if (!cli_ask(cli, argc, argv, 1, &asked, &code) || !cli_open(cli, &asked, &teardown, &code)) return code;
    if (asked.json)
        report_sums_json(&cli->out, teardown.sums);
    else
        report_sums(&cli->out, teardown.sums, cli_style());
    code = teardown.sums->differ > 0 ? CLI_NO : CLI_DONE;
    report_close(&teardown);
    return code;
}

const CliCommand CLI_SUMS = {
    "sums", "volts, currents and powers in each mode, beside the meter",
    "usage: unpick sums DIR [--json] [--shelf FILE]\n\n"
    "Solves the circuit of DIR in each mode that its notes name: volts of every net, current and power of every part, with what\n"
    "95 of 100 such products do and the worst that all tolerances together can. Readings of v, i and p are set beside what the\n"
    "parts and all other readings make of them; where one differs, single mistakes that would explain it are ranked, and the\n"
    "reading that would settle it is named. Pins of chips are open unless a `drive` note says otherwise.\n\n"
    "  --json        facts as JSON (doc/json.md)\n"
    "  --shelf FILE  parts catalogue (default: $XDG_DATA_HOME/unpick/shelf.db)\n\n"
    "examples:\n"
    "  unpick sums dispenser\n"
    "  unpick sums dispenser --json | jq '.explanations[0].says'\n\n"
    "exit: 0 done, 1 a reading differs from the sums, 3 the notes can't be read\n",
    run};
