/* Readings as text for a terminal. */
#include "mark/inside.h"

void mark_print(Out *out, MarkReadings readings) {
    if (readings.count == 0) {
        out_lit(out, "no reading by the standards");
        if (readings.refused.len > 0) out_fmt(out, ": %.*s", TEXT_ARG(readings.refused));
        out_char(out, '\n');
    }
    for (uint32_t i = 0; i < readings.count; i++) {
        const MarkReading *r = &readings.at[i];
        out_fmt(out, "%2u. %.*s: %.*s", i + 1, TEXT_ARG(r->kind), TEXT_ARG(r->says));
        if (readings.count > 1) {
            out_lit(out, "  (");
            probability_print(out, mark_share(readings, i));
            out_char(out, ')');
        }
        out_char(out, '\n');
        for (uint32_t k = 0; k < r->field_count; k++)
            out_fmt(out, "    %.*s: %.*s\n", TEXT_ARG(r->fields[k].name), TEXT_ARG(r->fields[k].value));
        out_fmt(out, "    by %.*s\n", TEXT_ARG(r->standard));
        if (r->assumed.len > 0) out_fmt(out, "    assumed: %.*s\n", TEXT_ARG(r->assumed));
    }
}
