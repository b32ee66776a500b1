/* The schematic as it follows from the notes now: JSON of its sheets, each an SVG that the page lays on the table. Drawn when it is
 * asked for, so that a note does not wait for it. */
#include "page/inside.h"

#include "base/json.h"

void answer_schematic(Call *call) {
    json_t *object = json_object(), *sheets = json_array();
    Text mode = TEXT("");
    bool volts = false;
    const ReportTeardown *teardown = &call->model->teardown;
    const Schematic *schematic =
        call->model->open ? report_schematic(call->arena, teardown->reasoning, teardown->sums, &mode, &volts) : NULL;
    for (uint32_t i = 0; schematic != NULL && i < schematic->sheets.count; i++) {
        const SchematicSheet *sheet = &schematic->sheets.at[i];
        json_t *told = json_object();
        Out svg = out_new(call->arena);
        schematic_svg(&svg, schematic, i, text_fmt(call->arena, "sheet-%u", i + 1));
        json_put_text(told, "title", sheet->title);
        json_put(told, "width", json_real(sheet->box.right - sheet->box.left));
        json_put(told, "height", json_real(sheet->box.bottom - sheet->box.top));
        json_put_text(told, "svg", out_text(&svg));
        json_array_append_new(sheets, told);
    }
    json_put(object, "sheets", sheets);
    json_put(object, "volts", json_boolean(volts));
    json_put_text(object, "mode", mode);
    json_finish(&call->out, object);
    call->answer->type = "application/json";
}
