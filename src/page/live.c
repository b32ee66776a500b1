/* What tells an open page that something changed: server-sent events (WHATWG HTML, "Server-sent events"), each the whole
 * state, so that a listener that missed some has missed nothing. */
#include "page/inside.h"

#include <errno.h>
#include <stdio.h>
#include <time.h>

enum { SIGN_OF_LIFE_S = 10 /* so that a listener who is gone is noticed */ };

size_t live_next(Page *page, LiveSeen *seen, char *buffer, size_t room) {
    struct timespec until;
    clock_gettime(CLOCK_MONOTONIC, &until);
    until.tv_sec += SIGN_OF_LIFE_S;
    pthread_mutex_lock(&page->lock);
    int late = 0;
    while (seen->begun && !page->stopping && late != ETIMEDOUT && seen->version == page->version &&
           seen->pictures == page->pictures && seen->busy == page->busy)
        late = pthread_cond_timedwait(&page->changed, &page->lock, &until);
    bool stopping = page->stopping;
    *seen = (LiveSeen){page->version, page->pictures, page->busy, true};
    pthread_mutex_unlock(&page->lock);
    if (stopping) return 0;
    int len = snprintf(buffer, room, "retry: 500\ndata: {\"version\": %llu, \"pictures\": %llu, \"busy\": %s}\n\n",
                       (unsigned long long)seen->version, (unsigned long long)seen->pictures, seen->busy ? "true" : "false");
    return len > 0 && (size_t)len < room ? (size_t)len : 0;
}

void answer_live(Call *call) {
    call->answer->type = "text/event-stream";
    call->answer->live = true;
}
