/* Drawings as they follow from the notes now: JSON of their sheets, each an SVG that the page lays on the table or among
 * the findings. Drawn when they are asked for, so that a note does not wait for them. */
#include "page/inside.h"

#include "draw/blocks.h"

static void finish(Call *call, json_t *object, json_t *sheets) {
    json_put(object, "sheets", sheets);
    json_finish(&call->out, object);
    call->answer->type = "application/json";
}

void answer_schematic(Call *call) {
    json_t *object = json_object(), *sheets = json_array();
    Text mode = TEXT("");
    bool volts = false;
    const ReportTeardown *teardown = &call->model->teardown;
    const Schematic *schematic =
        call->model->open ? report_schematic(call->arena, teardown->reasoning, teardown->sums, &mode, &volts) : NULL;
    for (uint32_t i = 0; schematic != NULL && i < schematic->sheets.count; i++) {
        json_t *told = json_object();
        Out svg = out_new(call->arena);
        schematic_svg(&svg, schematic, i, text_fmt(call->arena, "sheet-%u", i + 1));
        json_put_text(told, "title", schematic->sheets.at[i].title);
        json_put_text(told, "svg", out_text(&svg));
        json_array_append_new(sheets, told);
    }
    json_put(object, "volts", json_boolean(volts));
    json_put_text(object, "mode", mode);
    finish(call, object, sheets);
}

/* Drawn once for each model: Graphviz, which places the boxes, serves one at a time. */
static Text blocks_of(Call *call) {
    Page *page = call->page;
    const ReportTeardown *teardown = &call->model->teardown;
    Out svg = out_new(call->arena);
    Diags problems = diags_new(call->arena);
    BlocksAsked asked = {.reasoning = teardown->reasoning, .sums = teardown->sums, .id = TEXT("blocks"), .alone = true};
    pthread_mutex_lock(&page->drawing);
    bool drawn = page->blocks.len > 0 && page->blocks_version == call->model->version;
    if (drawn)
        out_add(&svg, out_text(&page->blocks));
    else if (call->model->open)
        draw_blocks(&svg, &asked, &problems);
    if (!drawn) {
        page->blocks.len = 0; /* the room it has is used again */
        page->blocks_version = call->model->version;
        out_add(&page->blocks, out_text(&svg));
    }
    pthread_mutex_unlock(&page->drawing);
    return out_text(&svg);
}

void answer_blocks(Call *call) {
    json_t *sheets = json_array();
    Text svg = blocks_of(call);
    if (svg.len > 0) {
        json_t *told = json_object();
        json_put_text(told, "svg", svg);
        json_array_append_new(sheets, told);
    }
    finish(call, json_object(), sheets);
}
