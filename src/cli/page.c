/* unpick page [DIR] */
#include "cli/cli.h"

#include "page/page.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool take_port(Cli *cli, PageSettings *settings) {
    char *end;
    long port = strtol(optarg, &end, 10);
    settings->port = (uint16_t)port;
    if (*optarg != '\0' && *end == '\0' && port > 0 && port <= UINT16_MAX) return true;
    cli_usage(cli, "--port wants a number from 1 to 65535, not \"%s\"", optarg);
    return false;
}

static void tell(Cli *cli, Page *page, const PageSettings *settings) {
    Text phone = page_phone_address(cli->arena, page), network = page_network_address(cli->arena, page);
    if (settings->address != NULL && strncmp(settings->address, "127.", 4) != 0 && strcmp(settings->address, "::1") != 0)
        fprintf(stderr,
                "ATTENTION: the bench page can be reached from the network at %s, unencrypted; whoever learns the address "
                "below can read and write this teardown.\n",
                settings->address);
    printf("Open in a browser: %.*s\n", TEXT_ARG(page_address(cli->arena, page)));
    if (network.len > 0) printf("From elsewhere:    %.*s\n", TEXT_ARG(network));
    if (phone.len > 0)
        fprintf(stderr,
                "ATTENTION: a phone on the local network can add photos at the address below, unencrypted, once.\n");
    if (phone.len > 0) printf("On a phone, once:  %.*s\n", TEXT_ARG(phone));
    printf("End with Ctrl+C; every note is on the disk already.\n");
    fflush(stdout);
}

/* The signals that end it are waited for, here and in no other thread. */
static sigset_t block_signals(void) {
    sigset_t set;
    sigemptyset(&set);
    sigaddset(&set, SIGINT);
    sigaddset(&set, SIGTERM);
    sigaddset(&set, SIGHUP);
    pthread_sigmask(SIG_BLOCK, &set, NULL);
    signal(SIGPIPE, SIG_IGN);
    return set;
}

static CliExit serve(Cli *cli, const PageSettings *settings) {
    sigset_t set = block_signals();
    Page *page = page_new(settings, &cli->problems);
    bool started = page != NULL && page_start(page, &cli->problems);
    cli_tell_problems(cli);
    if (started) {
        int got;
        tell(cli, page, settings);
        sigwait(&set, &got);
    }
    page_stop(page);
    return started ? CLI_DONE : CLI_UNREADABLE;
}

static CliExit run(Cli *cli, int argc, char **argv) {
    const struct option options[] = {{"listen", required_argument, NULL, 'l'},
                                     {"port", required_argument, NULL, 'p'},
                                     {"phone", no_argument, NULL, 'f'},
                                     {"shelf", required_argument, NULL, 's'},
                                     {0}};
    PageSettings settings = {0};
    const char *shelf = NULL;
    for (int got; (got = cli_option(cli, argc, argv, options)) != 0;) {
        if (got < 0) return got == CLI_HELPED ? CLI_DONE : CLI_USAGE;
        if (got == 'l') settings.address = optarg;
        if (got == 'f') settings.phone = true;
        if (got == 's') shelf = optarg;
        if (got == 'p' && !take_port(cli, &settings)) return CLI_USAGE;
    }
    if (!cli_words(cli, argc, 0, 1)) return CLI_USAGE;
    settings.folder = optind < argc ? argv[optind] : NULL;
    settings.catalogue = cli_catalogue(cli, shelf, false);
    return serve(cli, &settings);
}

const CliCommand CLI_PAGE = {"page", "work on a teardown in a browser",
                             "usage: unpick page [DIR] [--listen ADDRESS] [--port N] [--phone] [--shelf FILE]\n\n"
                             "Serves DIR as a page to work on: the photo on the table, the notebook beside it, what is "
                             "known so far. Whatever is done\n"
                             "there is a note in DIR/notes.txt, and a change of that file by an editor shows at once. "
                             "Without DIR the page offers to\n"
                             "begin a teardown in the current folder, or to look at an invented one.\n\n"
                             "Only this machine can reach it, at an address with a key that it prints; the same key and "
                             "port serve again next time.\n\n"
                             "  --listen ADDRESS  an address of this machine to listen on instead of 127.0.0.1: then the "
                             "network can reach the page,\n"
                             "                    unencrypted, and the key in its address is all that protects it\n"
                             "  --port N          the port (default: the last one, or any that is free)\n"
                             "  --shelf FILE      parts catalogue (default: $XDG_DATA_HOME/unpick/shelf.db)\n\n"
                             "examples:\n"
                             "  unpick page dispenser\n"
                             "  unpick page dispenser --port 8017\n\n"
                             "exit: 0 ended, 3 the notes can't be read or the port is taken\n",
                             run};
