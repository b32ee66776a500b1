/* HTTP by libmicrohttpd: a thread for each connection, of which there are at most so many, so that any answer may take the
 * time it needs and none makes another wait. This file only carries: what is answered is decided in answer.c.
 *
 * A connection that is silent for some seconds is cut, and so is one that takes too long (guests.h); heads are limited by
 * the memory a connection has; a body is refused by its announced length, and cut where it grows longer than its path
 * takes. */
#include "page/body.h"
#include "page/guests.h"
#include "page/inside.h"

#include <arpa/inet.h>
#include <errno.h>
#include <netdb.h>
#include <netinet/tcp.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#include <microhttpd.h>

enum {
    CONNECTIONS_MOST = 96,
    CONNECTIONS_OF_ONE = 48, /* who comes over the network */
    SILENCE_S = 20,
    PATIENCE_S = 30,
    HEAD_BYTES = 32 * 1024,
    EVENT_BYTES = 16 * 1024, /* of an event, at once */
};

struct Server {
    Guests *guests;
    const char *policy;
    struct Door {
        Page *page;
        Guests *guests;
        PageDoor door;
        struct MHD_Daemon *daemon;
    } doors[PAGE_DOOR_COUNT];
};

/* A request as it comes in. */
typedef struct Incoming {
    Arena *arena;
    PageRequest request;
    Body body;
    uint64_t body_most;
} Incoming;

/* ---- answers ---- */

/* Scripts come from files of ours, never from within a page; the style that stands in our pages is known by its hash. */
static const char *policy(Arena *arena) {
    return text_fmt(arena,
                    "default-src 'none'; script-src 'self'; style-src %s; img-src 'self' blob:; connect-src 'self'; "
                    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
                    PAGE_STYLE_HASH)
        .at;
}

static void add_headers(struct MHD_Response *response, const char *policy, const PageAnswer *answer) {
    MHD_add_response_header(response, "Content-Type", answer->type);
    MHD_add_response_header(response, "Content-Security-Policy", policy);
    MHD_add_response_header(response, "X-Content-Type-Options", "nosniff");
    MHD_add_response_header(response, "Referrer-Policy", "no-referrer"); /* the address holds the key */
    MHD_add_response_header(response, "Cross-Origin-Resource-Policy", "same-origin");
    MHD_add_response_header(response, "Cache-Control",
                            answer->lasting ? "private, max-age=31536000, immutable" : "no-store");
    if (answer->packed) MHD_add_response_header(response, "Content-Encoding", "gzip");
    if (answer->location != NULL) MHD_add_response_header(response, "Location", answer->location);
}

static enum MHD_Result send_answer(struct MHD_Connection *connection, Page *page, struct MHD_Response *response,
                                   const PageAnswer *answer) {
    if (response == NULL) return MHD_NO;
    add_headers(response, page->server->policy, answer);
    enum MHD_Result result = MHD_queue_response(connection, answer->status, response);
    MHD_destroy_response(response);
    return result;
}

static enum MHD_Result send_text(struct MHD_Connection *connection, Page *page, const PageAnswer *answer) {
    void *bytes = (void *)(uintptr_t)answer->body.at; /* on the request's arena, which lasts as long */
    return send_answer(connection, page, MHD_create_response_from_buffer(answer->body.len, bytes, MHD_RESPMEM_PERSISTENT),
                       answer);
}

/* From the file to the socket by the system itself. */
static enum MHD_Result send_file(struct MHD_Connection *connection, Page *page, const PageAnswer *answer) {
    struct MHD_Response *response = MHD_create_response_from_fd64(answer->file_len, answer->file); /* which closes it */
    if (response == NULL) close(answer->file);
    return send_answer(connection, page, response, answer);
}

typedef struct Listener {
    Page *page;
    LiveSeen seen;
    Arena *arena; /* of the event that is being sent */
    Text event;   /* what is left of it */
} Listener;

static ssize_t next_bytes(void *given, uint64_t at, char *buffer, size_t room) {
    Listener *listener = given;
    (void)at;
    if (listener->event.len == 0) {
        arena_free(listener->arena);
        listener->arena = arena_new();
        listener->event = live_next(listener->page, listener->arena, &listener->seen);
        if (listener->event.len == 0) return MHD_CONTENT_READER_END_OF_STREAM;
    }
    Text sent = text_sub(listener->event, 0, room);
    memcpy(buffer, sent.at, sent.len);
    listener->event = text_sub(listener->event, sent.len, listener->event.len);
    return (ssize_t)sent.len;
}

static void forget(void *given) {
    Listener *listener = given;
    arena_free(listener->arena);
    free(listener);
}

/* The last piece of an event is small: by Nagle's algorithm (RFC 896) it would wait for word of the one before it. */
static void send_at_once(struct MHD_Connection *connection) {
    const union MHD_ConnectionInfo *info = MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CONNECTION_FD);
    int on = 1;
    if (info != NULL) setsockopt(info->connect_fd, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on); /* else it is late, no more */
}

static enum MHD_Result send_live(struct MHD_Connection *connection, Page *page, const PageRequest *request,
                                 const PageAnswer *answer) {
    Listener *listener = calloc(1, sizeof *listener); /* freed by the response, which may outlast the request */
    if (listener == NULL) return MHD_NO;
    send_at_once(connection);
    *listener = (Listener){.page = page, .seen = live_seen(request), .arena = arena_new()};
    return send_answer(connection, page,
                       MHD_create_response_from_callback(MHD_SIZE_UNKNOWN, EVENT_BYTES, next_bytes, listener, forget),
                       answer);
}

/* ---- guests ---- */

static void on_connection(void *given, struct MHD_Connection *connection, void **kept,
                          enum MHD_ConnectionNotificationCode code) {
    struct Door *door = given;
    if (code == MHD_CONNECTION_NOTIFY_STARTED) {
        const union MHD_ConnectionInfo *info = MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CONNECTION_FD);
        *kept = info == NULL ? NULL : guests_come(door->guests, info->connect_fd);
    } else {
        guests_go(door->guests, *kept);
        *kept = NULL;
    }
}

static Guest *guest_of(struct MHD_Connection *connection) {
    const union MHD_ConnectionInfo *info = MHD_get_connection_info(connection, MHD_CONNECTION_INFO_SOCKET_CONTEXT);
    return info == NULL ? NULL : info->socket_context;
}

/* ---- requests ---- */

static enum MHD_Result add_argument(void *given, enum MHD_ValueKind kind, const char *name, size_t name_len,
                                    const char *value, size_t value_len) {
    Incoming *in = given;
    (void)kind;
    if (in->request.argument_count == PAGE_ARGUMENTS_MOST) return MHD_NO;
    in->request.arguments[in->request.argument_count++] =
        (PageArgument){text_copy(in->arena, (Text){name, name_len}),
                       text_copy(in->arena, value == NULL ? TEXT("") : (Text){value, value_len})};
    return MHD_YES;
}

static Text header(Incoming *in, struct MHD_Connection *connection, const char *name) {
    return text_copy(in->arena, text_of(MHD_lookup_connection_value(connection, MHD_HEADER_KIND, name)));
}

static Incoming *take_head(const struct Door *door, struct MHD_Connection *connection, const char *url,
                           const char *method) {
    Arena *arena = arena_new();
    Incoming *in = arena_one(arena, Incoming);
    *in = (Incoming){.arena = arena, .body = body_new(arena)};
    in->request = (PageRequest){
        .door = door->door,
        .method = text_copy(arena, text_of(method)),
        .path = text_copy(arena, text_of(url)),
        .host = header(in, connection, MHD_HTTP_HEADER_HOST),
        .origin = header(in, connection, MHD_HTTP_HEADER_ORIGIN),
        .unpacks = text_find(header(in, connection, MHD_HTTP_HEADER_ACCEPT_ENCODING), TEXT("gzip")) != SIZE_MAX,
        .announced = strtoull(header(in, connection, MHD_HTTP_HEADER_CONTENT_LENGTH).at, NULL, 10)};
    MHD_get_connection_values_n(connection, MHD_GET_ARGUMENT_KIND, add_argument, in);
    return in;
}

static enum MHD_Result on_request(void *given, struct MHD_Connection *connection, const char *url, const char *method,
                                  const char *version, const char *upload, size_t *upload_size, void **kept) {
    const struct Door *door = given;
    PageAnswer answer = {0};
    (void)version;
    if (*kept == NULL) {
        Incoming *in = *kept = take_head(door, connection, url, method);
        bool admitted = page_admit(door->page, in->arena, &in->request, &in->body_most, &answer);
        guest_may_take(guest_of(connection), in->body_most > 0 && admitted ? in->request.announced : 0);
        return admitted ? MHD_YES : send_text(connection, door->page, &answer);
    }
    Incoming *in = *kept;
    if (*upload_size > 0) {
        bool taken = body_take(&in->body, (Text){upload, *upload_size}, in->body_most);
        *upload_size = 0;
        return taken ? MHD_YES : MHD_NO; /* cut: nobody announces little and sends much by mistake */
    }
    if (!body_whole(&in->body, &in->request.body)) return MHD_NO;
    guest_may_stay(guest_of(connection)); /* it waits for us now */
    page_answer(door->page, in->arena, &in->request, &answer);
    if (!answer.live) guest_may_take(guest_of(connection), answer.body.len + answer.file_len);
    if (answer.file_len > 0) return send_file(connection, door->page, &answer);
    return answer.live ? send_live(connection, door->page, &in->request, &answer)
                       : send_text(connection, door->page, &answer);
}

static void on_done(void *given, struct MHD_Connection *connection, void **kept, enum MHD_RequestTerminationCode code) {
    Incoming *in = *kept;
    (void)given, (void)code;
    guest_may_take(guest_of(connection), 0); /* until it has told the next one */
    if (in != NULL) {
        body_free(&in->body);
        arena_free(in->arena);
    }
    *kept = NULL;
}

/* ---- doors ---- */

/* A NUL is left as it was written: it would end the path before its end. */
static size_t unescape(void *given, struct MHD_Connection *connection, char *text) {
    (void)given, (void)connection;
    return strstr(text, "%00") != NULL ? strlen(text) : MHD_http_unescape(text);
}

static struct addrinfo *look_up(const char *address, uint16_t port) {
    struct addrinfo wanted = {.ai_flags = AI_NUMERICHOST | AI_NUMERICSERV | AI_PASSIVE, .ai_socktype = SOCK_STREAM}, *found;
    Arena *arena = arena_new();
    bool there = getaddrinfo(address, text_fmt(arena, "%u", port).at, &wanted, &found) == 0;
    arena_free(arena);
    return there ? found : NULL;
}

static bool is_loopback(const char *address) { return strncmp(address, "127.", 4) == 0 || strcmp(address, "::1") == 0; }

/* Opens a door at an address, at this port or, 0, at any; NULL: errno. */
static struct MHD_Daemon *open_door(struct Door *door, const char *address, uint16_t port) {
    struct addrinfo *at = look_up(address, port);
    if (at == NULL) {
        errno = EADDRNOTAVAIL;
        return NULL;
    }
    unsigned flags = MHD_USE_INTERNAL_POLLING_THREAD | MHD_USE_THREAD_PER_CONNECTION | MHD_USE_POLL | MHD_USE_ITC;
    bool own = door->door == PAGE_DOOR_BENCH && is_loopback(address);
    struct MHD_Daemon *daemon = MHD_start_daemon(
        flags | (at->ai_family == AF_INET6 ? MHD_USE_IPv6 : 0), port, NULL, NULL, on_request, door, MHD_OPTION_SOCK_ADDR,
        at->ai_addr, MHD_OPTION_NOTIFY_COMPLETED, on_done, NULL, MHD_OPTION_NOTIFY_CONNECTION, on_connection, door,
        MHD_OPTION_UNESCAPE_CALLBACK, unescape, NULL, MHD_OPTION_CONNECTION_LIMIT, (unsigned)CONNECTIONS_MOST,
        MHD_OPTION_PER_IP_CONNECTION_LIMIT, own ? (unsigned)CONNECTIONS_MOST : (unsigned)CONNECTIONS_OF_ONE,
        MHD_OPTION_CONNECTION_TIMEOUT, (unsigned)SILENCE_S, MHD_OPTION_CONNECTION_MEMORY_LIMIT, (size_t)HEAD_BYTES,
        MHD_OPTION_LISTENING_ADDRESS_REUSE, 1U, MHD_OPTION_END);
    freeaddrinfo(at);
    return daemon;
}

static uint16_t port_of(struct MHD_Daemon *daemon) {
    const union MHD_DaemonInfo *info = MHD_get_daemon_info(daemon, MHD_DAEMON_INFO_BIND_PORT);
    return info == NULL ? 0 : info->port;
}

/* The door is open already, and who comes asks under this name. */
static void open_host(Page *page, PageDoor door, Text host) {
    pthread_mutex_lock(&page->lock);
    page->host[door] = host;
    pthread_mutex_unlock(&page->lock);
}

static bool open_for_phones(Page *page, Diags *problems) {
    struct Door *door = &page->server->doors[PAGE_DOOR_PHONE];
    const char *address = text_cstring(page->arena, phone_network_address(page->arena));
    *door = (struct Door){.page = page, .guests = page->server->guests, .door = PAGE_DOOR_PHONE};
    if (address[0] != '\0') door->daemon = open_door(door, address, 0);
    if (door->daemon != NULL) {
        open_host(page, PAGE_DOOR_PHONE, page_host(page->arena, address, port_of(door->daemon)));
        return true;
    }
    diag_add(problems, (Diag){.message = TEXT("no phone can reach this machine"),
                              .expected = TEXT("an IPv4 address on a local network"),
                              .hint = TEXT("join the network that the phone is in, or leave out --phone")});
    return false;
}

/* A port that somebody asked for must be had; the one of the last time need not. */
bool serve_start(Page *page, Diags *problems) {
    Server *server = arena_one(page->arena, Server);
    server->policy = policy(page->arena);
    server->guests = guests_new(page->patience > 0 ? page->patience : PATIENCE_S, problems);
    if (server->guests == NULL) return false;
    page->server = server;
    struct Door *bench = &server->doors[PAGE_DOOR_BENCH];
    *bench = (struct Door){.page = page, .guests = server->guests, .door = PAGE_DOOR_BENCH};
    pack_assets(page);
    bench->daemon = open_door(bench, page->address, page->port);
    if (bench->daemon == NULL && !page->port_asked && page->port != 0) bench->daemon = open_door(bench, page->address, 0);
    if (bench->daemon == NULL) {
        diag_add(problems, (Diag){.message = text_fmt(problems->arena, "can't listen on %s, port %u: %s", page->address,
                                                      page->port, strerror(errno)),
                                  .expected = TEXT("a numeric address of this machine and a free port"),
                                  .hint = TEXT("is another bench page open there?")});
        return false;
    }
    page->port = port_of(bench->daemon);
    open_host(page, PAGE_DOOR_BENCH, page_host(page->arena, page->address, page->port));
    return !page->phone || open_for_phones(page, problems);
}

void serve_stop(Page *page) {
    if (page->server == NULL) return;
    for (PageDoor door = 0; door < PAGE_DOOR_COUNT; door++)
        if (page->server->doors[door].daemon != NULL) MHD_stop_daemon(page->server->doors[door].daemon);
    guests_free(page->server->guests);
    page->server = NULL;
}
