/* The bench page: a teardown worked on in a browser. Everything the page does is a note; everything a note says is on the
 * page at once. The table of contents of this room:
 *   page.h   begin, serve, stop; one request answered without a socket
 *   inside.h what the files of this room share        web/  what the browser gets, compiled in
 *
 * Who may ask: the address of a page holds a key of 128 random bits, and no cookie exists that could be stolen or sent
 * along by another site. It listens to this machine only, unless told otherwise. Host and Origin are checked besides, so
 * that a page of another site that learnt the address still gets nowhere. A phone has a key of its own, at a door of its
 * own, that opens nothing but adding photos. */
#ifndef UNPICK_PAGE_PAGE_H
#define UNPICK_PAGE_PAGE_H

#include "base/diag.h"

typedef struct Page Page;

typedef struct PageSettings {
    const char *folder;    /* the teardown; NULL: the page offers to begin one in the current folder */
    const char *catalogue; /* as report_open takes it; NULL: the built-in families only */
    const char *address;   /* to listen on; NULL: 127.0.0.1 */
    uint16_t port;         /* 0: the folder's last one when it is free, else any */
    uint32_t patience;     /* seconds that a client has for each step; 0: 30 */
    bool phone;            /* also a door on the local network, for adding photos */
} PageSettings;

/* Reads the folder; nothing listens yet. NULL with a problem when it is no teardown. Settings are copied. */
Page *page_new(const PageSettings *settings, Diags *problems);
/* Listens, and watches the folder; comes back at once. False with a problem: the address is taken or is none of ours. */
bool page_start(Page *page, Diags *problems);
/* Where a browser finds it, `http://127.0.0.1:8017/KEY/`; from elsewhere, when it listens on all addresses, or empty; for a
 * phone, an address that can be opened once, or empty. */
Text page_address(Arena *arena, Page *page);
Text page_network_address(Arena *arena, Page *page);
Text page_phone_address(Arena *arena, Page *page);
/* Every answer under way is cut, every thread ended, all memory given back. NULL is fine. */
void page_stop(Page *page);

/* ---- one request, without a socket ---- */

typedef enum PageDoor { PAGE_DOOR_BENCH, PAGE_DOOR_PHONE, PAGE_DOOR_COUNT } PageDoor;

typedef struct PageArgument { /* of the query, `?name=value`, unescaped */
    Text name, value;
} PageArgument;

enum { PAGE_ARGUMENTS_MOST = 16 };

typedef struct PageRequest {
    PageDoor door;
    Text method, path; /* the path unescaped, from its `/` on, without the query */
    Text host, origin; /* headers; empty when not sent */
    PageArgument arguments[PAGE_ARGUMENTS_MOST];
    uint32_t argument_count;
    bool unpacks;       /* takes gzip */
    uint64_t announced; /* bytes of the body as the header says, 0: unsaid */
    Text body;
} PageRequest;

typedef struct PageAnswer {
    unsigned status;      /* of RFC 9110 */
    const char *type;     /* Content-Type */
    const char *location; /* where to go on, with 303; NULL */
    Text body;            /* on the arena, or text that lasts as long as the page */
    uint64_t file_len;    /* > 0: the body is this file instead, which is the receiver's to close */
    int file;
    bool packed;  /* body is gzip */
    bool lasting; /* a browser may keep it */
    bool live;    /* then comes what changes, for as long as somebody listens (server-sent events) */
} PageAnswer;

/* Whether it will be answered at all, judged before its body is read: false with the refusal. body_most: bytes of a body
 * that this path takes. */
bool page_admit(Page *page, Arena *arena, const PageRequest *request, uint64_t *body_most, PageAnswer *refusal);
/* Answers; what page_admit refuses is refused here too. */
void page_answer(Page *page, Arena *arena, const PageRequest *request, PageAnswer *answer);

#endif
