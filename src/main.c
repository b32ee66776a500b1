/* The command line: picks the command, prints what it answered, says with the exit code how it went. */
#include "cli/cli.h"

#include "unpick.h"

#include <malloc.h>
#include <stdio.h>
#include <string.h>

static const CliCommand *const COMMANDS[] = {&CLI_NEW,  &CLI_NOTE,   &CLI_LOOK, &CLI_WHY,    &CLI_MARK,
                                            &CLI_SHELF, &CLI_COPPER, &CLI_SUMS, &CLI_REPORT, &CLI_EXPORT,
                                            &CLI_PAGE};
enum { COMMAND_COUNT = sizeof COMMANDS / sizeof *COMMANDS };

static void say_help(Out *out) {
    out_lit(out, "unpick: a bench for taking electronic products apart and understanding them.\n\n"
                 "usage: unpick COMMAND ...\n\n");
    for (size_t i = 0; i < COMMAND_COUNT; i++) out_fmt(out, "  %-8s %s\n", COMMANDS[i]->name, COMMANDS[i]->does);
    out_lit(out, "  help     this page, or that of a command\n\n"
                 "unpick COMMAND --help says more. Every command that prints facts takes --json.\n"
                 "exit: 0 done, 1 contradictions or the answer is no, 2 usage, 3 something can't be read or written\n");
}

static const CliCommand *command_named(const char *name) {
    for (size_t i = 0; i < COMMAND_COUNT; i++)
        if (strcmp(COMMANDS[i]->name, name) == 0) return COMMANDS[i];
    return NULL;
}

static CliExit say_unknown(const char *name) {
    Text names[COMMAND_COUNT + 1] = {[COMMAND_COUNT] = TEXT("help")};
    for (size_t i = 0; i < COMMAND_COUNT; i++) names[i] = text_of(COMMANDS[i]->name);
    Text near = text_nearest(text_of(name), names, COMMAND_COUNT + 1);
    fprintf(stderr, "unpick: there is no command \"%s\"", name);
    if (near.len > 0) fprintf(stderr, "; did you mean \"%.*s\"?", TEXT_ARG(near));
    fprintf(stderr, "\nSee: unpick help\n");
    return CLI_USAGE;
}

static CliExit say_help_of(Cli *cli, const char *name) {
    const CliCommand *command = command_named(name);
    if (command == NULL) return say_unknown(name);
    out_add(&cli->out, text_of(command->help));
    return CLI_DONE;
}

static CliExit run(Cli *cli, int argc, char **argv) {
    const char *name = argc > 1 ? argv[1] : "";
    if (argc < 2) {
        say_help(&cli->out);
        return CLI_USAGE;
    }
    if (strcmp(name, "--version") == 0) {
        out_lit(&cli->out, "unpick " UNPICK_VERSION "\n");
        return CLI_DONE;
    }
    if (strcmp(name, "help") == 0 || strcmp(name, "--help") == 0 || strcmp(name, "-h") == 0) {
        if (argc > 2) return say_help_of(cli, argv[2]);
        say_help(&cli->out);
        return CLI_DONE;
    }
    cli->command = command_named(name);
    return cli->command == NULL ? say_unknown(name) : cli->command->run(cli, argc - 1, argv + 1);
}

/* What is as large as a part of a picture goes back to the system when it is freed. Left alone, glibc keeps ever larger pieces
 * for later: a quarter of a photo's whole memory. */
static void give_back_what_is_large(void) {
#ifdef M_MMAP_THRESHOLD
    enum { LARGE = 256 * 1024 };
    mallopt(M_MMAP_THRESHOLD, LARGE);
#endif
}

int main(int argc, char **argv) {
    give_back_what_is_large();
    Arena *arena = arena_new();
    Cli cli = {.arena = arena, .problems = diags_new(arena), .out = out_new(arena)};
    CliExit code = run(&cli, argc, argv);
    if (!cli_flush(&cli)) code = CLI_UNREADABLE;
    arena_free(arena);
    return (int)code;
}
