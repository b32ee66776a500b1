/* page: over its sockets: who reaches it, and what becomes of clients that take their time. */
#include "tests/page_fixture.h"

#include <arpa/inet.h>
#include <errno.h>
#include <ifaddrs.h>
#include <net/if.h>
#include <poll.h>
#include <stdio.h>
#include <sys/socket.h>
#include <time.h>

enum { PATIENCE = 1, SLACK = 4 /* seconds that a busy machine may be late */ };

typedef struct Open {
    Arena *arena;
    char base[64];
    const char *folder;
    Page *page;
    Text path; /* `/KEY/` */
    uint16_t port;
    char address[INET_ADDRSTRLEN];
} Open;

static void open_at(Open *open, const char *address) {
    Diags problems = diags_new(open->arena);
    open->page = page_new(&(PageSettings){.folder = open->folder, .address = address, .patience = PATIENCE}, &problems);
    assert_non_null(open->page);
    assert_true(page_start(open->page, &problems));
    Text said = page_address(open->arena, open->page);
    said = text_sub(said, strlen("http://"), said.len);
    size_t slash = text_find(said, TEXT("/")), colon = text_find(said, TEXT(":"));
    open->port = (uint16_t)atoi(text_cstring(open->arena, text_sub(said, colon + 1, slash - colon - 1)));
    open->path = text_sub(said, slash, said.len);
    snprintf(open->address, sizeof open->address, "%.*s", (int)colon, said.at);
}

static int set_up(void **state) {
    Arena *arena = arena_new();
    Open *open = arena_one(arena, Open);
    Diags problems = diags_new(arena);
    *open = (Open){.arena = arena};
    strcpy(open->base, "/tmp/unpick-socket-XXXXXX");
    if (mkdtemp(open->base) == NULL) return -1;
    open->folder = text_fmt(arena, "%s/fan", open->base).at;
    *state = open;
    return note_new_folder(open->folder, &problems) ? 0 : -1;
}

static int tear_down(void **state) {
    Open *open = *state;
    page_stop(open->page);
    int gone = system(text_fmt(open->arena, "rm -rf '%s'", open->base).at);
    arena_free(open->arena);
    return gone;
}

/* -1 with errno when it is refused. */
static int reach(const char *address, uint16_t port) {
    struct sockaddr_in to = {.sin_family = AF_INET, .sin_port = htons(port)};
    inet_pton(AF_INET, address, &to.sin_addr);
    int at = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    if (connect(at, (struct sockaddr *)&to, sizeof to) == 0) return at;
    int why = errno;
    close(at);
    errno = why;
    return -1;
}

static void send_all(int at, Text text) { assert_int_equal(send(at, text.at, text.len, MSG_NOSIGNAL), text.len); }

/* The status of the answer to one request on a connection of its own; 0: none came. */
static int status_of(Open *open, const char *host, const char *path) {
    char answer[64] = "";
    int at = reach(open->address, open->port);
    assert_true(at >= 0);
    send_all(at, text_fmt(open->arena, "GET %s HTTP/1.1\r\nHost: %s\r\nConnection: close\r\n\r\n", path, host));
    struct pollfd ready = {at, POLLIN, 0};
    if (poll(&ready, 1, 10000) == 1 && recv(at, answer, sizeof answer - 1, 0) < 0) answer[0] = '\0';
    close(at);
    return strncmp(answer, "HTTP/1.1 ", 9) == 0 ? atoi(answer + 9) : 0;
}

static const char *own_host(Open *open) { return text_fmt(open->arena, "%s:%u", open->address, open->port).at; }
static const char *own_path(Open *open, const char *path) {
    return text_fmt(open->arena, "%.*s%s", TEXT_ARG(open->path), path).at;
}

/* An address by which others could reach this machine, IPv4; false when it has none. */
static bool network_address(char said[INET_ADDRSTRLEN]) {
    struct ifaddrs *all;
    bool found = false;
    if (getifaddrs(&all) != 0) return false;
    for (const struct ifaddrs *at = all; at != NULL && !found; at = at->ifa_next)
        found = at->ifa_addr != NULL && at->ifa_addr->sa_family == AF_INET && (at->ifa_flags & IFF_LOOPBACK) == 0 &&
                (at->ifa_flags & IFF_UP) != 0 &&
                inet_ntop(AF_INET, &((const struct sockaddr_in *)(const void *)at->ifa_addr)->sin_addr, said,
                          INET_ADDRSTRLEN) != NULL;
    freeifaddrs(all);
    return found;
}

/* ---- who reaches it ---- */

static void only_this_machine_reaches_it(void **state) {
    Open *open = *state;
    char network[INET_ADDRSTRLEN];
    open_at(open, NULL);
    assert_int_equal(status_of(open, own_host(open), own_path(open, "notes")), 200);
    if (!network_address(network)) skip();
    assert_int_equal(reach(network, open->port), -1);
    assert_int_equal(errno, ECONNREFUSED);
}

static void beyond_it_the_key_and_the_name_are_asked_for_as_well(void **state) {
    Open *open = *state;
    char network[INET_ADDRSTRLEN];
    if (!network_address(network)) skip();
    open_at(open, network);
    assert_string_equal(open->address, network);
    assert_int_equal(status_of(open, own_host(open), own_path(open, "notes")), 200);
    assert_int_equal(status_of(open, own_host(open), "/"), 403);
    assert_int_equal(status_of(open, own_host(open), "/00000000000000000000000000000000/notes"), 403);
    assert_int_equal(status_of(open, text_fmt(open->arena, "evil.example:%u", open->port).at, own_path(open, "notes")),
                     421);
    assert_int_equal(status_of(open, text_fmt(open->arena, "127.0.0.1:%u", open->port).at, own_path(open, "notes")), 421);
}

static void on_all_addresses_it_answers_to_digits_and_to_no_name(void **state) {
    Open *open = *state;
    open_at(open, "0.0.0.0");
    assert_int_equal(status_of(open, own_host(open), own_path(open, "notes")), 200);
    assert_int_equal(status_of(open, text_fmt(open->arena, "192.0.2.7:%u", open->port).at, own_path(open, "notes")), 200);
    assert_int_equal(status_of(open, text_fmt(open->arena, "evil.example:%u", open->port).at, own_path(open, "notes")),
                     421);
    assert_int_equal(
        status_of(open, text_fmt(open->arena, "192.0.2.7.evil.example:%u", open->port).at, own_path(open, "notes")), 421);
}

/* ---- clients that take their time ---- */

static double seconds(void) {
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

/* Sends a byte now and then; whether it was cut before long. */
static bool is_cut(int at, const char *bytes) {
    double from = seconds();
    for (size_t i = 0; seconds() - from < PATIENCE + 1 + SLACK; i++) {
        char got[256];
        struct pollfd ready = {at, POLLIN, 0};
        if (bytes[i % strlen(bytes)] != '.' && send(at, &bytes[i % strlen(bytes)], 1, MSG_NOSIGNAL) < 0) return true;
        if (poll(&ready, 1, 100) == 1 && recv(at, got, sizeof got, 0) <= 0) return true;
    }
    return false;
}

static void who_says_nothing_is_cut(void **state) {
    Open *open = *state;
    open_at(open, NULL);
    int at = reach(open->address, open->port);
    assert_true(is_cut(at, "."));
    close(at);
}

static void who_sends_a_head_byte_by_byte_is_cut(void **state) {
    Open *open = *state;
    open_at(open, NULL);
    int at = reach(open->address, open->port);
    send_all(at, text_fmt(open->arena, "GET %s HTTP/1.1\r\nHost: %s\r\nX-Slow: ", own_path(open, ""), own_host(open)));
    assert_true(is_cut(at, "z"));
    close(at);
}

static void who_sends_a_note_byte_by_byte_is_cut_and_nothing_is_kept(void **state) {
    Open *open = *state;
    open_at(open, NULL);
    int at = reach(open->address, open->port);
    send_all(at, text_fmt(open->arena,
                          "POST %s HTTP/1.1\r\nHost: %s\r\nOrigin: http://%s\r\nContent-Length: 9000\r\n\r\nask \"",
                          own_path(open, "add"), own_host(open), own_host(open)));
    assert_true(is_cut(at, "z"));
    close(at);
    Text notes;
    assert_true(file_read(open->arena, text_fmt(open->arena, "%s/notes.txt", open->folder).at, NOTE_FILE_MOST, &notes));
    assert_lacks(notes, "ask \"z");
}

static void who_listens_is_not_cut(void **state) {
    Open *open = *state;
    open_at(open, NULL);
    int at = reach(open->address, open->port);
    send_all(at, text_fmt(open->arena, "GET %s HTTP/1.1\r\nHost: %s\r\n\r\n", own_path(open, "live"), own_host(open)));
    assert_false(is_cut(at, "."));
    close(at);
}

/* What has come until this is in it; the test fails when it doesn't come. */
static Text heard_until(Open *open, int at, const char *wanted) {
    Out heard = out_new(open->arena);
    struct pollfd ready = {at, POLLIN, 0};
    char some[4096];
    while (text_find(out_text(&heard), text_of(wanted)) == SIZE_MAX) {
        assert_int_equal(poll(&ready, 1, 10000), 1);
        ssize_t got = recv(at, some, sizeof some, 0);
        assert_true(got > 0);
        out_add(&heard, (Text){some, (size_t)got});
    }
    return out_text(&heard);
}

static void who_listens_is_told_notes_and_findings_with_the_event(void **state) {
    Open *open = *state;
    Diags problems = diags_new(open->arena);
    uint32_t line;
    open_at(open, NULL);
    int at = reach(open->address, open->port);
    send_all(at, text_fmt(open->arena, "GET %s HTTP/1.1\r\nHost: %s\r\n\r\n", own_path(open, "live"), own_host(open)));
    assert_holds(heard_until(open, at, "\"busy\":false"), "\"notes\":"); /* it has not said what it has seen */
    assert_true(note_append(open->folder, TEXT("part U1 SOP-8"), &line, &problems));
    heard_until(open, at, "part U1 SOP-8</code>");
    heard_until(open, at, "1 noted");
    close(at);
}

/* As many as there may be at once, none of which ever ends its request: after a while there is room again. */
static void a_crowd_that_only_waits_keeps_nobody_out_for_long(void **state) {
    enum { CROWD = 96 };
    Open *open = *state;
    int crowd[CROWD], status = 0;
    open_at(open, NULL);
    for (int i = 0; i < CROWD; i++) crowd[i] = reach(open->address, open->port);
    for (double from = seconds(); status != 200 && seconds() - from < PATIENCE + 1 + SLACK;) {
        status = status_of(open, own_host(open), own_path(open, "notes"));
        usleep(100000);
    }
    assert_int_equal(status, 200);
    for (int i = 0; i < CROWD; i++)
        if (crowd[i] >= 0) close(crowd[i]);
}

#define with_folder(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void) {
    const struct CMUnitTest tests[] = {
        with_folder(only_this_machine_reaches_it),
        with_folder(beyond_it_the_key_and_the_name_are_asked_for_as_well),
        with_folder(on_all_addresses_it_answers_to_digits_and_to_no_name),
        with_folder(who_says_nothing_is_cut),
        with_folder(who_sends_a_head_byte_by_byte_is_cut),
        with_folder(who_sends_a_note_byte_by_byte_is_cut_and_nothing_is_kept),
        with_folder(who_listens_is_not_cut),
        with_folder(who_listens_is_told_notes_and_findings_with_the_event),
        with_folder(a_crowd_that_only_waits_keeps_nobody_out_for_long),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
