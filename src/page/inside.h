/* What the files of this room share. Private to the room. */
#ifndef UNPICK_PAGE_INSIDE_H
#define UNPICK_PAGE_INSIDE_H

#include "base/json.h"
#include "page/markup.h"
#include "page/page.h"
#include "page/pictures.h"
#include "report/report.h"

#include <pthread.h>

enum { KEY_LENGTH = 32 /* hex digits */ };
typedef struct PageKey {
    char hex[KEY_LENGTH + 1];
} PageKey;

/* ---- the model: one reading of the folder (model.c) ---- */

/* What was read and made of it at one moment. Nothing is changed once it is published, so that any number of answers can be
 * taken from it at once; who takes one holds it, and the last to let go frees it. */
typedef struct PageModel {
    Arena *arena;
    uint64_t version;   /* grows, also from one run of the program to the next */
    uint64_t signature; /* of the files it was read from */
    bool open;          /* else only the problems count */
    ReportTeardown teardown;
    Diags problems;
    Text content;                    /* of notes.txt */
    Text notes, findings, boards;    /* rendered: HTML, HTML, JSON */
    const struct LineClaims *claims; /* of each line; size claim_lines + 1 */
    uint32_t claim_lines;
    PictureList pictures;
    unsigned holders;           /* under the page's lock */
    struct PageModel *borrowed; /* the model before, of which this one has all but its notes; NULL */
    struct PageModel *summed;   /* the model that its sums were done for, when they were taken over; NULL */
} PageModel;

typedef LIST(const ReasonClaim *) ClaimList;
typedef struct LineClaims {
    ClaimList list;
} LineClaims;

/* `before`: whose sums are taken over where they would come out the same; NULL: none. Then it takes over the caller's hold
 * of it (`summed`). */
PageModel *model_read(Page *page, PageModel *before, uint64_t version);
/* The notes as they stand now beside what was made of those before: at once, while model_read takes its time. Takes over
 * the caller's hold of `before`. NULL, and the hold is the caller's still, when the notes can't be read. */
PageModel *model_ahead(const char *folder, PageModel *before, uint64_t version);

/* ---- the page ---- */

typedef struct Watch Watch;
typedef struct Server Server;
typedef struct Cutter Cutter;

struct Page {
    Arena *arena;
    const char *catalogue, *address;
    uint16_t port;
    bool port_asked, phone;
    uint32_t patience;  /* 0: as usual */
    const char *folder; /* NULL until there is one; set once, under the lock */
    PageKey key, phone_key;
    PageKey phone_once;         /* under the lock; empty once it has been used */
    Text host[PAGE_DOOR_COUNT]; /* `127.0.0.1:8017`: what a Host header must say; empty: no such door */

    pthread_mutex_t lock;
    pthread_cond_t changed; /* the model, busy, or stopping */
    PageModel *model;       /* NULL without a folder */
    uint64_t version;
    uint64_t pictures; /* grows when one has been cut into tiles */
    bool busy;         /* the folder is being read */
    bool stopping;

    ReportKeep *keep; /* of who reads the folder: the first time page.c, then the watch */

    pthread_mutex_t drawing; /* what draws blocks, one at a time, and the last that were drawn */
    Out blocks;
    uint64_t blocks_version;

    const Text *packed; /* size PAGE_ASSET_COUNT; NULL until it listens; an empty one: sent plain */

    Watch *watch;
    Server *server;
    Cutter *cutter;
};

/* `127.0.0.1:8017`, `[::1]:8017` */
Text page_host(Arena *arena, const char *address, uint16_t port);
Text page_host_of(Page *page, PageDoor door); /* what a Host header must say; empty: no such door */
PageModel *page_hold(Page *page);             /* NULL without a folder */
PageModel *page_hold_summed(Page *page);      /* the one that its model's sums were done for */
void page_let_go(Page *page, PageModel *model);
/* A folder for a page that had none. */
void page_take_folder(Page *page, const char *folder);

/* ---- what happens beside the answers ---- */

/* Of the files that a model is read from, their names, sizes and times: another one when something changed. */
uint64_t watch_signature(const char *folder);
/* watch.c: a thread that reads the folder again when something in it changed, and publishes the model. */
bool watch_start(Page *page, Diags *problems);
void watch_poke(Page *page); /* a note was added: look now */
void watch_stop(Page *page);

/* cutter.c: a thread that cuts pictures into tiles as they are asked for. */
bool cutter_start(Page *page, Diags *problems);
void cutter_stop(Page *page);

/* serve.c: libmicrohttpd, a thread a connection, at most so many. */
bool serve_start(Page *page, Diags *problems);
void serve_stop(Page *page);
/* live.c: what a listener has seen, at first as it says; and the next event for it, once there is one or it is time for a
 * sign of life; empty when the page stops. */
typedef struct LiveSeen {
    uint64_t version, pictures;
    bool busy, begun;
} LiveSeen;
LiveSeen live_seen(const PageRequest *request);
Text live_next(Page *page, Arena *arena, LiveSeen *seen);

/* key.c */
bool key_make(PageKey *key); /* false: the system has no random bytes to give */
bool key_is(const PageKey *key, Text said);
/* The key and the port of the last time, from derived/, so that an open page finds its way back. */
void key_recall(const char *folder, PageKey *key, uint16_t *port);
void key_keep(const char *folder, const PageKey *key, uint16_t port);

/* phone.c: where a phone could reach this machine; whether it came with the address that opens once, which is then spent.
 */
Text phone_network_address(Arena *arena);
bool phone_exchange(Page *page, Text key);

/* ---- answers ---- */

/* One request being answered. */
typedef struct Call {
    Page *page;
    Arena *arena;
    const PageRequest *request;
    PageModel *model; /* held; NULL without a folder */
    PageAnswer *answer;
    Out out; /* becomes the body */
} Call;

Text request_argument(const PageRequest *request, const char *name); /* empty when there is none */
Text call_argument(const Call *call, const char *name);
uint32_t call_number(const Call *call, const char *name); /* UINT32_MAX when there is none, or more than six digits */
void call_refuse(Call *call, unsigned status, const char *why);

/* handlers, one file a subject; the table that names them is in answer.c */
void answer_bench(Call *call); /* bench.c: the page as a whole */
void answer_begin(Call *call); /* begin.c: a page without a folder */
void answer_begun(Call *call);
void answer_notes(Call *call); /* notes.c */
void answer_line(Call *call);
void answer_findings(Call *call); /* findings.c */
void answer_why(Call *call);      /* why.c */
void answer_add(Call *call);      /* add.c: a note appended */
void answer_check(Call *call);    /* a note only looked at */
void answer_complete(Call *call); /* complete.c */
void answer_boards(Call *call);   /* boards.c */
void answer_copper(Call *call);
void answer_picture(Call *call); /* cutter.c */
void answer_tile(Call *call);
void answer_schematic(Call *call); /* drawing.c */
void answer_blocks(Call *call);
void answer_more(Call *call);
void answer_numbers(Call *call); /* tables.c */
void answer_parts(Call *call);
void answer_light(Call *call);   /* light.c */
void answer_snap(Call *call);    /* snap.c */
void answer_outline(Call *call); /* outline.c */
void answer_photo(Call *call);   /* photos.c */
void answer_invite(Call *call);  /* phone.c */
void answer_phone(Call *call);
void answer_live(Call *call);

/* ---- what several of them need ---- */

const Picture *picture_find(const PageModel *model, Text id); /* cutter.c; NULL when there is none such */
bool numbers_any(const Sums *sums);                           /* whether there is a figure to show */
json_t *boards_place(PlacePoint at);
/* By which a board's net lights up: the bench's name, or one of its own where no pin and no name is on it; empty for net 0.
 */
Text boards_net_name(Arena *arena, const Bench *bench, const BenchBoard *board, uint32_t net);
/* noted.c: what the notes say of places on a straightened picture; callouts on any. */
json_t *noted_parts(const Bench *bench, const Picture *picture);
json_t *noted_shapes(const Bench *bench, const Picture *picture);
json_t *noted_callouts(const Bench *bench, const Picture *picture);

/* rendered once a model */
void render_notes(Out *out, const PageModel *model);
void render_findings(Out *out, const PageModel *model);
void render_boards(Out *out, const PageModel *model);

/* ---- what the browser gets, compiled in (assets.c by the build) ---- */

typedef struct PageAsset {
    const char *name; /* `web/bench.css` */
    const char *bytes;
    size_t len;
} PageAsset;
extern const PageAsset PAGE_ASSETS[];
extern const size_t PAGE_ASSET_COUNT;
const char *asset_type(Text name); /* NULL: a piece of answers, not for browsers */
void pack_assets(Page *page);      /* pack.c */
Text asset(const char *name);
extern const char PAGE_STYLE_HASH[]; /* of web/bench.css, for the policy */

/* shell.c: a shell written up to the mark `<!--name-->`, or, for the style, with it; what is behind the mark. */
Text shell_until(Out *out, Text shell, const char *mark);
Text shell_styled(Out *out, Text shell);

#endif
