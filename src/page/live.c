/* What tells an open page that something changed: server-sent events (WHATWG HTML, "Server-sent events"), each the whole
 * state, so that a listener that missed some has missed nothing. A new model comes with its notes and findings, so that who
 * listens has them without asking; while it is still being worked out, with the notes alone. */
#include "page/inside.h"

#include <errno.h>
#include <time.h>

enum { SIGN_OF_LIFE_S = 10 /* so that a listener who is gone is noticed */, VERSION_DIGITS_MOST = 19 };

/* Waits for news, or until it is time for a sign of life; the model, held, or NULL when the page stops. */
static PageModel *wait_for_news(Page *page, LiveSeen *seen) {
    struct timespec until;
    clock_gettime(CLOCK_MONOTONIC, &until);
    until.tv_sec += SIGN_OF_LIFE_S;
    pthread_mutex_lock(&page->lock);
    int late = 0;
    while (seen->begun && !page->stopping && late != ETIMEDOUT && seen->version == page->version &&
           seen->pictures == page->pictures && seen->busy == page->busy)
        late = pthread_cond_timedwait(&page->changed, &page->lock, &until);
    PageModel *model = page->stopping ? NULL : page->model;
    if (model != NULL) model->holders++;
    seen->pictures = page->pictures, seen->busy = page->busy, seen->begun = true;
    pthread_mutex_unlock(&page->lock);
    return model;
}

Text live_next(Page *page, Arena *arena, LiveSeen *seen) {
    PageModel *model = wait_for_news(page, seen);
    if (model == NULL) return TEXT("");
    Out event = out_new(arena);
    json_t *news = json_object();
    json_put(news, "version", json_integer((json_int_t)model->version));
    json_put(news, "pictures", json_integer((json_int_t)seen->pictures));
    json_put(news, "busy", json_boolean(seen->busy));
    if (model->version != seen->version) {
        json_put_text(news, "notes", model->notes);
        if (!seen->busy) json_put_text(news, "findings", model->findings);
    }
    seen->version = model->version;
    page_let_go(page, model);
    out_lit(&event, "retry: 500\ndata: ");
    json_finish_line(&event, news);
    out_char(&event, '\n');
    return out_text(&event);
}

LiveSeen live_seen(const PageRequest *request) {
    Text said = request_argument(request, "version");
    LiveSeen seen = {0};
    if (said.len > VERSION_DIGITS_MOST || !text_all_digits(said)) return seen;
    for (size_t i = 0; i < said.len; i++) seen.version = 10 * seen.version + (uint64_t)(said.at[i] - '0');
    return seen;
}

void answer_live(Call *call) {
    call->answer->type = "text/event-stream";
    call->answer->live = true;
}
