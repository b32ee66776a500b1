/* unpick report DIR */
#include "cli/cli.h"

#include <string.h>
#include <sys/stat.h>

/* Where the page of that name goes unless said: into the folder, or beside a notes file given in its place. */
static const char *default_path(Arena *arena, const char *folder, const char *name) {
    struct stat info;
    Text path = text_of(folder);
    bool is_folder = stat(folder, &info) == 0 && S_ISDIR(info.st_mode);
    while (!is_folder && path.len > 0 && path.at[path.len - 1] != '/') path.len--;
    const char *slash = path.len == 0 || path.at[path.len - 1] == '/' ? "" : "/";
    return text_fmt(arena, "%.*s%s%s", TEXT_ARG(path), slash, name).at;
}

static CliExit save(Cli *cli, const char *path, const Out *page, const Bench *bench) {
    if (!cli_write(cli, path, page, "-o FILE puts the report elsewhere")) return CLI_UNREADABLE;
    out_fmt(&cli->out, "%s: %u parts", path, bench->parts.count);
    if (bench->conflicts.count > 0)
        out_fmt(&cli->out, ", %u contradiction%s to settle", bench->conflicts.count,
                bench->conflicts.count == 1 ? "" : "s");
    out_char(&cli->out, '\n');
    return CLI_DONE;
}

static CliExit run(Cli *cli, int argc, char **argv) {
    const struct option options[] = {{"json", no_argument, NULL, 'j'},          {"output", required_argument, NULL, 'o'},
                                     {"shelf", required_argument, NULL, 's'},   {"show", no_argument, NULL, 'w'},
                                     {"symbols", required_argument, NULL, 'y'}, {0}};
    const char *shelf = NULL, *path = NULL;
    bool json = false, show = false, ansi = false;
    for (int got; (got = cli_option(cli, argc, argv, options)) != 0;) {
        if (got < 0) return got == CLI_HELPED ? CLI_DONE : CLI_USAGE;
        if (got == 'j') json = true;
        if (got == 'w') show = true;
        if (got == 'y' && !cli_symbols(cli, optarg, &ansi)) return CLI_USAGE;
        if (got == 's') shelf = optarg;
        if (got == 'o') path = optarg;
    }
    if (!cli_words(cli, argc, 1, 1)) return CLI_USAGE;
    if (json && show) return cli_usage(cli, "--show is a page: there is no JSON of it");
    ReportTeardown teardown;
    CliExit code;
    if (!cli_open(cli, &(CliAsked){.folder = argv[optind], .shelf = shelf}, &teardown, &code)) return code;
    Out page = out_new(cli->arena);
    if (json)
        report_json(&page, teardown.reasoning);
    else if (show)
        report_show(&page, teardown.reasoning, teardown.sums, ansi, &cli->problems);
    else
        report_html(&page, teardown.reasoning, teardown.sums, ansi, &cli->problems);
    cli_tell_problems(cli);
    bool to_stdout = (json && path == NULL) || (path != NULL && strcmp(path, "-") == 0);
    if (to_stdout)
        cli->out = page;
    else
        code = save(cli, path != NULL ? path : default_path(cli->arena, argv[optind], show ? "show.html" : "report.html"),
                    &page, teardown.reasoning->bench);
    report_close(&teardown);
    return code;
}

const CliCommand CLI_REPORT = {
    "report", "write report.html",
    "usage: unpick report DIR [--show] [--symbols iec|ieee] [-o FILE] [--json] [--shelf FILE]\n\n"
    "Writes DIR/report.html: one self-contained file for reading, printing and sending on, with the evidence under every\n"
    "sentence. It loads nothing from anywhere. The old file is replaced only when the new one is whole.\n\n"
    "  --show             write DIR/show.html instead: for telling it to an audience, one idea a screen, turned by keys, "
    "touch or\n"
    "                     buttons; printed, it is the speaker's cue sheet with timing\n"
    "  --symbols WHICH    the schematic's: iec (60617, the default) or ieee (315)\n"
    "  -o, --output FILE  write there; - is standard output\n"
    "  --json             the same facts as JSON (doc/json.md), on standard output unless -o says otherwise\n"
    "  --shelf FILE       parts catalogue (default: $XDG_DATA_HOME/unpick/shelf.db)\n\n"
    "examples:\n"
    "  unpick report dispenser\n"
    "  unpick report dispenser -o /tmp/dispenser.html\n"
    "  unpick report dispenser --show\n\n"
    "exit: 0 written, 3 the notes can't be read or the report can't be written\n",
    run};
