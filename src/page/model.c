/* One reading of the folder: the teardown opened on an arena of its own, and what is shown of it rendered once, so that an
 * answer is a copy. */
#include "page/inside.h"

#include "base/file.h"

static void count_in(Arena *arena, LineClaims *lines, uint32_t line_count, const ReasonClaim *claim) {
    for (uint32_t i = 0; i < claim->because_count; i++)
        for (uint32_t k = 0; k < claim->because[i].line_count; k++) {
            uint32_t line = claim->because[i].lines[k];
            if (line > line_count) continue;
            ClaimList *list = &lines[line].list;
            if (list->count == 0 || list->at[list->count - 1] != claim) list_push(arena, list, claim);
        }
}

/* Which claims each line bears. */
static const LineClaims *line_claims(Arena *arena, const Reasoning *reasoning, uint32_t line_count) {
    LineClaims *lines = arena_many(arena, LineClaims, line_count + 1);
    for (uint32_t i = 0; i < reasoning->hazards.count; i++) count_in(arena, lines, line_count, &reasoning->hazards.at[i]);
    for (uint32_t i = 0; i < reasoning->claims.count; i++) count_in(arena, lines, line_count, &reasoning->claims.at[i]);
    return lines;
}

static Text rendered(const PageModel *model, void (*render)(Out *out, const PageModel *model)) {
    Out out = out_new(model->arena);
    render(&out, model);
    return out_text(&out);
}

PageModel *model_read(Page *page, PageModel *before, uint64_t version) {
    Arena *arena = arena_new();
    const char *folder = page->folder;
    PageModel *model = arena_one(arena, PageModel);
    *model = (PageModel){.arena = arena,
                         .version = version,
                         .signature = watch_signature(folder), /* before: what changes meanwhile is read again */
                         .holders = 1,
                         .problems = diags_new(arena)};
    const ReportBefore kept = {page->keep, before != NULL && before->open ? &before->teardown : NULL};
    model->open = report_open_after(arena, folder, page->catalogue, kept, &model->teardown, &model->problems) &&
                  file_read(arena, text_fmt(arena, "%s/notes.txt", folder).at, NOTE_FILE_MOST, &model->content);
    if (model->open) {
        model->claim_lines = model->teardown.notebook->lines;
        model->claims = line_claims(arena, model->teardown.reasoning, model->claim_lines);
    }
    if (model->teardown.again) model->summed = before;
    if (model->open) model->pictures = picture_list(arena, folder, model->teardown.bench);
    model->notes = rendered(model, render_notes);
    model->findings = rendered(model, render_findings);
    model->boards = rendered(model, render_boards);
    return model;
}

PageModel *model_ahead(const char *folder, PageModel *before, uint64_t version) {
    Arena *arena = arena_new();
    PageModel *model = arena_one(arena, PageModel);
    Diags problems = diags_new(arena);
    *model = (PageModel){.arena = arena, /* not all of it at once: others are counting its holders */
                         .version = version,
                         .open = before->open,
                         .teardown = before->teardown,
                         .problems = before->problems,
                         .content = before->content,
                         .findings = before->findings,
                         .boards = before->boards,
                         .claims = before->claims,
                         .claim_lines = before->claim_lines,
                         .pictures = before->pictures,
                         .holders = 1,
                         .borrowed = before};
    const char *path = text_fmt(arena, "%s/notes.txt", folder).at;
    model->teardown.notebook = note_read_folder(arena, folder, &problems);
    if (!before->open || model->teardown.notebook == NULL || !file_read(arena, path, NOTE_FILE_MOST, &model->content)) {
        arena_free(arena);
        return NULL;
    }
    if (!text_same(before->content, text_sub(model->content, 0, before->content.len)))
        model->claim_lines = 0; /* lines have moved: which bears what is told when it is known */
    model->notes = rendered(model, render_notes);
    return model;
}

static void model_free(PageModel *model) {
    if (model->open && model->borrowed == NULL) report_close(&model->teardown);
    arena_free(model->arena);
}

/* ---- holding ---- */

PageModel *page_hold(Page *page) {
    pthread_mutex_lock(&page->lock);
    PageModel *model = page->model;
    if (model != NULL) model->holders++;
    pthread_mutex_unlock(&page->lock);
    return model;
}

PageModel *page_hold_summed(Page *page) {
    pthread_mutex_lock(&page->lock);
    PageModel *model = page->model;
    while (model != NULL && model->borrowed != NULL) model = model->borrowed;
    if (model != NULL && model->summed != NULL) model = model->summed;
    if (model != NULL) model->holders++;
    pthread_mutex_unlock(&page->lock);
    return model;
}

void page_let_go(Page *page, PageModel *model) {
    while (model != NULL) {
        pthread_mutex_lock(&page->lock);
        bool last = --model->holders == 0;
        pthread_mutex_unlock(&page->lock);
        if (!last) return;
        PageModel *next = model->borrowed != NULL ? model->borrowed : model->summed; /* never both */
        model_free(model);
        model = next;
    }
}
