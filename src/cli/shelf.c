/* unpick shelf load|find */
#include "cli/cli.h"

#include <stdlib.h>
#include <string.h>

enum { MATCHES_MOST = 10 };

typedef struct Asked {
    const char *package, *shelf;
    uint32_t pins;
    bool json;
} Asked;

static CliExit load(Cli *cli, const ReportKnowledge *knows, const char *file, const char *catalogue) {
    uint32_t rows = 0;
    bool done = shelf_load(knows->shelf, file, &rows, &cli->problems);
    cli_tell_problems(cli);
    if (!done) return CLI_UNREADABLE;
    out_fmt(&cli->out, "%u part%s loaded into %s\n", rows, rows == 1 ? "" : "s", catalogue);
    return CLI_DONE;
}

static CliExit find(Cli *cli, const ReportKnowledge *knows, const char *marking, const Asked *asked) {
    ShelfMatch matches[MATCHES_MOST];
    ShelfQuery query = {text_of(marking), text_of(asked->package), asked->pins};
    size_t count = shelf_find(knows->shelf, cli->arena, query, matches, MATCHES_MOST);
    if (asked->json)
        report_matches_json(&cli->out, text_of(marking), matches, count);
    else
        report_matches(&cli->out, matches, count, cli_style());
    return count > 0 ? CLI_DONE : CLI_NO;
}

static bool take_pins(Cli *cli, Asked *asked) {
    enum { PINS_MOST = 10000 };
    char *end;
    long pins = strtol(optarg, &end, 10);
    asked->pins = (uint32_t)pins;
    if (*optarg != '\0' && *end == '\0' && pins > 0 && pins <= PINS_MOST) return true;
    cli_usage(cli, "--pins wants a number of pins, not \"%s\"", optarg);
    return false;
}

static CliExit run(Cli *cli, int argc, char **argv) {
    const struct option options[] = {{"package", required_argument, NULL, 'p'},
                                     {"pins", required_argument, NULL, 'n'},
                                     {"shelf", required_argument, NULL, 's'},
                                     {"json", no_argument, NULL, 'j'},
                                     {0}};
    Asked asked = {0};
    for (int got; (got = cli_option(cli, argc, argv, options)) != 0;) {
        if (got < 0) return got == CLI_HELPED ? CLI_DONE : CLI_USAGE;
        if (got == 'p') asked.package = optarg;
        if (got == 's') asked.shelf = optarg;
        if (got == 'j') asked.json = true;
        if (got == 'n' && !take_pins(cli, &asked)) return CLI_USAGE;
    }
    if (!cli_words(cli, argc, 2, 2)) return CLI_USAGE;
    const char *what = argv[optind], *word = argv[optind + 1];
    bool loads = strcmp(what, "load") == 0;
    if (!loads && strcmp(what, "find") != 0) return cli_usage(cli, "the shelf can load or find, not \"%s\"", what);
    if (!loads && !cli_is_text(word)) return cli_usage(cli, "the marking is not text in UTF-8");
    const char *catalogue = cli_catalogue(cli, asked.shelf, loads);
    if (loads && catalogue == NULL) return cli_usage(cli, "there is no home folder for the catalogue: say --shelf FILE");
    ReportKnowledge knows;
    bool open = report_know(cli->arena, NULL, catalogue, &knows, &cli->problems);
    cli_tell_problems(cli);
    if (!open) return CLI_UNREADABLE;
    CliExit code = loads ? load(cli, &knows, word, catalogue) : find(cli, &knows, word, &asked);
    report_forget(&knows);
    return code;
}

const CliCommand CLI_SHELF = {
    "shelf", "the parts catalogue: load parts, find a part by its marking",
    "usage: unpick shelf find MARKING [--package PACKAGE] [--pins N] [--shelf FILE] [--json]\n"
    "       unpick shelf load FILE.csv [--shelf FILE]\n\n"
    "find names the parts whose marking this may be, best first, also when characters are wrong, missing or look alike; ? "
    "stands\n"
    "for a character that can't be read, * for a stretch of them. load takes a table of parts, all or nothing, into the\n"
    "catalogue; its columns go by name.\n\n"
    "  --package PACKAGE  the package it stands on: SO-8, SOT-23\n"
    "  --pins N           how many pins\n"
    "  --shelf FILE       the catalogue (default: $XDG_DATA_HOME/unpick/shelf.db)\n"
    "  --json             facts as JSON (doc/json.md)\n\n"
    "examples:\n"
    "  unpick shelf find LM35B --pins 8\n"
    "  unpick shelf find 'J3?' --package SOT-23\n"
    "  unpick shelf load my-parts.csv\n\n"
    "exit: 0 found or loaded, 1 nothing found, 3 the table or the catalogue can't be read\n",
    run};
