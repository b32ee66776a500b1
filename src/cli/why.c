/* unpick why DIR CLAIM */
#include "cli/cli.h"

static CliExit run(Cli *cli, int argc, char **argv) {
    CliAsked asked;
    CliExit code;
    if (!cli_ask(cli, argc, argv, 2, &asked, &code)) return code;
    const char *claim = argc == optind + 2 ? argv[optind + 1] : "";
    if (!cli_is_text(claim)) return cli_usage(cli, "the claim is not text in UTF-8");
    ReportTeardown teardown;
    if (!cli_open(cli, &asked, &teardown, &code)) return code;
    bool known = asked.json ? report_why_json(&cli->out, teardown.reasoning, text_of(claim))
                      : report_why(&cli->out, teardown.reasoning, text_of(claim), cli_style());
    report_close(&teardown);
    return known ? CLI_DONE : CLI_NO;
}

const CliCommand CLI_WHY = {"why", "the tally of evidence behind one claim",
                            "usage: unpick why DIR [CLAIM | PART | PIN] [--json] [--shelf FILE]\n\n"
                            "Lists what speaks for and against a claim, in decibans, with the notes it stands in and the "
                            "lore that weighs it; the figures\n"
                            "with formula and source. A part or a pin lists the claims about it; neither lists all.\n\n"
                            "  --json        facts as JSON (doc/json.md)\n"
                            "  --shelf FILE  parts catalogue (default: $XDG_DATA_HOME/unpick/shelf.db)\n\n"
                            "examples:\n"
                            "  unpick why dispenser low-side-switch-bipolar:Q1\n"
                            "  unpick why dispenser Q1\n"
                            "  unpick why dispenser U1.5\n\n"
                            "exit: 0 done, 1 there is no such claim (the nearest are named), 3 the notes can't be read\n",
                            run};
