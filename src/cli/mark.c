/* unpick mark TEXT, unpick mark --body AxB */
#include "cli/cli.h"

enum { FITS_MOST = 8 };

typedef struct Asked {
    const char *kind, *package;
    MarkMeasured measured;
    bool measures, json, kinds;
} Asked;

static CliExit list_kinds(Cli *cli) {
    size_t count;
    const Text *kinds = mark_kinds(&count);
    for (size_t i = 0; i < count; i++) out_fmt(&cli->out, "%.*s\n", TEXT_ARG(kinds[i]));
    return CLI_DONE;
}

static bool known_kind(Cli *cli, const char *kind) {
    size_t count;
    const Text *kinds = mark_kinds(&count);
    for (size_t i = 0; i < count; i++)
        if (text_is(kinds[i], kind)) return true;
    Text near = text_nearest(text_of(kind), kinds, count);
    if (near.len > 0)
        cli_usage(cli, "there is no kind \"%s\"; did you mean \"%.*s\"?", kind, TEXT_ARG(near));
    else
        cli_usage(cli, "there is no kind \"%s\"; unpick mark --kinds lists them", kind);
    return false;
}

static CliExit fit(Cli *cli, const Marks *marks, const Asked *asked) {
    MarkFit fits[FITS_MOST];
    size_t count = mark_package_rank(cli->arena, marks, asked->measured, fits, FITS_MOST);
    if (asked->json)
        report_fits_json(&cli->out, fits, count);
    else
        report_fits(&cli->out, fits, count, cli_style());
    return count > 0 ? CLI_DONE : CLI_NO;
}

static CliExit read_marking(Cli *cli, const Marks *marks, const Asked *asked, const char *marking) {
    MarkContext context = {.kind = text_of(asked->kind), .package = text_of(asked->package)};
    MarkReadings readings = mark_read(cli->arena, marks, text_of(marking), context);
    if (asked->json)
        report_mark_json(&cli->out, text_of(marking), readings);
    else
        report_mark(&cli->out, text_of(marking), readings, cli_style());
    return readings.count > 0 ? CLI_DONE : CLI_NO;
}

/* One option into what is asked; false, and said, when its value is no measure. */
static bool take_option(Cli *cli, Asked *asked, int got) {
    static const char *const measures[] = {"body", "pitch", "leads", "span", "height"};
    if (got == 'a') asked->kind = optarg;
    if (got == 'p') asked->package = optarg;
    if (got == 'j') asked->json = true;
    if (got == 'k') asked->kinds = true;
    if (got < '0' || got > '4') return true;
    asked->measures = true;
    if (mark_measure(text_of(measures[got - '0']), text_of(optarg), &asked->measured, &cli->problems)) return true;
    cli_tell_problems(cli);
    return false;
}

static CliExit run(Cli *cli, int argc, char **argv) {
    const struct option options[] = {{"as", required_argument, NULL, 'a'},     {"package", required_argument, NULL, 'p'},
                                     {"json", no_argument, NULL, 'j'},         {"kinds", no_argument, NULL, 'k'},
                                     {"body", required_argument, NULL, '0'},   {"pitch", required_argument, NULL, '1'},
                                     {"leads", required_argument, NULL, '2'},  {"span", required_argument, NULL, '3'},
                                     {"height", required_argument, NULL, '4'}, {0}};
    Asked asked = {0};
    for (int got; (got = cli_option(cli, argc, argv, options)) != 0;) {
        if (got < 0) return got == CLI_HELPED ? CLI_DONE : CLI_USAGE;
        if (!take_option(cli, &asked, got)) return CLI_USAGE;
    }
    if (asked.kinds) return list_kinds(cli);
    if (!cli_words(cli, argc, asked.measures ? 0 : 1, asked.measures ? 0 : 1)) return CLI_USAGE;
    if (asked.kind != NULL && !known_kind(cli, asked.kind)) return CLI_USAGE;
    if (!asked.measures && !cli_is_text(argv[optind])) return cli_usage(cli, "the marking is not text in UTF-8");
    Lore *lore = lore_new(cli->arena);
    lore_add_builtin(lore);
    const Marks *marks = marks_new(cli->arena, lore);
    return asked.measures ? fit(cli, marks, &asked) : read_marking(cli, marks, &asked, argv[optind]);
}

const CliCommand CLI_MARK = {"mark", "what a marking may mean; which package has these measures",
                             "usage: unpick mark TEXT [--as KIND] [--package PACKAGE] [--json]\n"
                             "       unpick mark --body AxB [--pitch MM] [--leads N] [--span MM] [--height MM] [--json]\n\n"
                             "Lists all readings that a marking may have, likeliest first, with the standard that says so "
                             "and what was assumed. With\n"
                             "measures instead of a marking: the packages that fit.\n\n"
                             "  --as KIND          only readings of this kind; --kinds lists the kinds\n"
                             "  --package PACKAGE  the package it stands on: 0805, SOT-23, radial\n"
                             "  --body AxB         body, either order: 5.0x6.2mm; --height is its third measure\n"
                             "  --pitch MM         distance of neighbouring leads: 1.27mm, 50mil\n"
                             "  --leads N          how many leads\n"
                             "  --span MM          over the tips of the leads\n"
                             "  --json             facts as JSON (doc/json.md)\n\n"
                             "examples:\n"
                             "  unpick mark 472\n"
                             "  unpick mark 01C --package 0603\n"
                             "  unpick mark 'yellow violet red gold' --as resistor\n"
                             "  unpick mark --body 5.0x6.2mm --pitch 1.27mm --leads 8\n\n"
                             "exit: 0 read, 1 no code reads so, or no package fits\n",
                             run};
