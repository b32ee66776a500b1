/* The bench page at the demo, from the outside, over its socket: the first view, from a note to the findings, tiles a
 * second, and what many requests leave behind. Run in the top of the tree. */
#include "bench/measure.h"

#include "base/file.h"
#include "note/note.h"
#include "page/page.h"

#include <arpa/inet.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

typedef struct Client {
    Arena *arena;
    Page *page;
    Text host, path; /* `127.0.0.1:8017`, `/KEY/` */
    int socket;
} Client;

static void give_up(const char *why) {
    fprintf(stderr, "bench_page: %s\n", why);
    exit(1);
}

static int connected(const Client *client) {
    struct sockaddr_in to = {.sin_family = AF_INET, .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    to.sin_port = htons((uint16_t)atoi(strchr(client->host.at, ':') + 1));
    int at = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    if (at < 0 || connect(at, (struct sockaddr *)&to, sizeof to) != 0) give_up("can't connect");
    return at;
}

/* One request on the connection kept open; the bytes of the answer's body, which it throws away but for the first ones. */
static size_t ask(Client *client, const char *method, const char *path, const char *body, char *start, size_t room) {
    static char buffer[1 << 16]; /* the bench's own; one thread */
    Text head =
        text_fmt(client->arena, "%s %.*s%s HTTP/1.1\r\nHost: %.*s\r\nOrigin: http://%.*s\r\nContent-Length: %zu\r\n\r\n%s",
                 method, TEXT_ARG(client->path), path, TEXT_ARG(client->host), TEXT_ARG(client->host), strlen(body), body);
    if (write(client->socket, head.at, head.len) != (ssize_t)head.len) give_up("can't ask");
    size_t have = 0, length = 0, from = 0;
    while (from == 0 || have < from + length) {
        ssize_t got =
            read(client->socket, buffer + (from == 0 ? have : 0), from == 0 ? sizeof buffer - 1 - have : sizeof buffer);
        if (got <= 0) give_up("the answer breaks off");
        have += (size_t)got;
        if (from > 0) continue;
        buffer[have] = '\0';
        char *end = strstr(buffer, "\r\n\r\n"), *said = strcasestr(buffer, "Content-Length:");
        if (end == NULL) continue;
        from = (size_t)(end - buffer) + 4;
        length = said == NULL ? 0 : strtoul(said + strlen("Content-Length:"), NULL, 10);
        if (start != NULL) snprintf(start, room, "%s", buffer + from);
    }
    return length;
}

static void say(const char *name, double value, const char *unit, double bar, bool less) {
    char said[64], wanted[64];
    snprintf(said, sizeof said, "%.3g %s", value, unit);
    snprintf(wanted, sizeof wanted, "%s%.3g %s", less ? "<" : ">", bar, unit);
    measure_print(name, said, wanted, "-", "-", less ? value <= bar : value >= bar);
}

static Client open_demo(Arena *arena, char *folder) {
    Diags problems = diags_new(arena);
    if (mkdtemp(folder) == NULL ||
        system(text_fmt(arena, "cp -r demo/dispenser/notes.txt demo/dispenser/photos %s", folder).at) != 0)
        give_up("no copy of the demo; run it in the top of the tree");
    Client client = {.arena = arena, .page = page_new(&(PageSettings){.folder = folder}, &problems)};
    if (client.page == NULL || !page_start(client.page, &problems)) give_up("no page");
    Text address = page_address(arena, client.page);
    address = text_sub(address, strlen("http://"), address.len);
    size_t slash = text_find(address, TEXT("/"));
    client.host = text_copy(arena, text_sub(address, 0, slash));
    client.host = text_of(text_cstring(arena, client.host));
    client.path = text_sub(address, slash, address.len);
    client.socket = connected(&client);
    return client;
}

/* All that a browser asks for before it shows the page: the page, what it names, and the boards. */
static void first_view(Client *client) {
    enum { PAGE_MOST = 1 << 16 };
    char *page = arena_take(client->arena, PAGE_MOST);
    double from = measure_seconds();
    ask(client, "GET", "", "", page, PAGE_MOST);
    ask(client, "GET", "boards", "", NULL, 0);
    for (char *at = page; (at = strstr(at, "=\"web/")) != NULL;) {
        at += strlen("=\"");
        char *end = strchr(at, '"');
        if (end == NULL) break;
        *end = '\0';
        ask(client, "GET", at, "", NULL, 0);
        at = end + 1;
    }
    say("page: first view, answers", (measure_seconds() - from) * 1e3, "ms", 100, true);
}

/* Of what is shown: the number that the page carries in its first line. */
static unsigned long long version(Client *client) {
    char told[256];
    ask(client, "GET", "", "", told, sizeof told);
    const char *at = strstr(told, "data-version=\"");
    return at == NULL ? 0 : strtoull(at + strlen("data-version=\""), NULL, 10);
}

/* Seconds until the page has got that far since. */
static double until(Client *client, unsigned long long wanted, double from) {
    while (version(client) < wanted && measure_seconds() - from < 10) usleep(500);
    return measure_seconds() - from;
}

static Text question(Arena *arena, int i) { return text_fmt(arena, "ask \"what of the %dth?\"%c", i, 0); }
static Text part(Arena *arena, int i) { return text_fmt(arena, "part R%d 0805 10k%c", 900 + i, 0); }
static Text net(Arena *arena, int i) { return text_fmt(arena, "net N%d R%d.1%c", 900 + i, 900 + i, 0); } /* all sums anew */

/* The line shows first, then what follows from it: each is a version of its own. */
static void note_to_findings(Client *client, const char *what, Text (*note)(Arena *arena, int i)) {
    enum { TIMES = 20 };
    double line = 0, all = 0, best = 1e9;
    for (int i = 0; i < TIMES; i++) {
        unsigned long long before = version(client);
        Text said = note(client->arena, i);
        double from = measure_seconds();
        ask(client, "POST", "add", said.at, NULL, 0);
        line += until(client, before + 1, from);
        double took = until(client, before + 2, from);
        all += took;
        if (took < best) best = took;
        usleep(50000);
    }
    say(text_fmt(client->arena, "page: %s to its line, mean%c", what, 0).at, line / TIMES * 1e3, "ms", 50, true);
    say(text_fmt(client->arena, "page: %s to findings, 32 parts, mean%c", what, 0).at, all / TIMES * 1e3, "ms", 50, true);
    say(text_fmt(client->arena, "page: %s to findings, 32 parts, best%c", what, 0).at, best * 1e3, "ms", 50, true);
}

static void many(Client *client) {
    enum { WARM = 500, REQUESTS = 10000 };
    for (int i = 0; i < WARM; i++) ask(client, "GET", "findings", "", NULL, 0);
    double before = measure_peak_mib(), from = measure_seconds();
    for (int i = 0; i < REQUESTS; i++) ask(client, "GET", i % 2 == 0 ? "findings" : "complete?typed=join%20Q", "", NULL, 0);
    say("page: requests a second, one connection", REQUESTS / (measure_seconds() - from), "/s", 1000, false);
    say("page: memory more after 10000 requests", measure_peak_mib() - before, "MiB", 2, true);
}

static void tiles(Client *client) {
    enum { TIMES = 2000 };
    char told[4096], path[128];
    ask(client, "GET", "boards", "", told, sizeof told);
    const char *id = strstr(told, "\"id\":\"");
    if (id == NULL) give_up("there is no picture");
    Text picture = text_copy(client->arena, text_sub(text_of(id), strlen("\"id\":\""), 16));
    snprintf(path, sizeof path, "picture?id=%s", picture.at);
    for (double from = measure_seconds();
         measure_seconds() - from < 30 && (ask(client, "GET", path, "", told, sizeof told), strstr(told, "true") == NULL);)
        usleep(20000);
    snprintf(path, sizeof path, "tile?id=%s&level=0&x=0&y=0", picture.at);
    double from = measure_seconds();
    size_t bytes = 0;
    for (int i = 0; i < TIMES; i++) bytes += ask(client, "GET", path, "", NULL, 0);
    if (bytes / TIMES < 1000) give_up("that was no tile");
    say("page: cached tiles a second, one connection", TIMES / (measure_seconds() - from), "/s", 500, false);
}

int main(void) {
    Arena *arena = arena_new();
    char folder[] = "/tmp/unpick-bench-page-XXXXXX";
    Client client = open_demo(arena, folder);
    first_view(&client);
    note_to_findings(&client, "a question", question);
    note_to_findings(&client, "a part", part);
    note_to_findings(&client, "a net", net);
    tiles(&client);
    many(&client);
    close(client.socket);
    page_stop(client.page);
    int gone = system(text_fmt(arena, "rm -rf '%s'", folder).at);
    arena_free(arena);
    return gone;
}
