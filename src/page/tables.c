/* The sums as tables, a column a mode: volts of the nets, currents and powers of the parts, each with the range that 95 of
 * 100 such products keep, and beside it what the meter read. Rendered when somebody opens it, since no note waits for it
 * then. */
#include "page/inside.h"

typedef struct Numbers {
    Out *out;
    Arena *arena;
    const Sums *sums;
    const Bench *bench;
} Numbers;

/* One sort of figure: what its rows are and which function of `read` it stands beside. */
typedef struct Table {
    const char *title, *first, *function;
    Unit unit;
    bool nets; /* rows are nets, else parts */
    const SumsFigure *(*of)(const SumsMode *mode, uint32_t row);
} Table;

static const SumsFigure *volts(const SumsMode *mode, uint32_t net) { return &mode->volts[net]; }
static const SumsFigure *current(const SumsMode *mode, uint32_t part) { return &mode->current[part]; }
static const SumsFigure *power(const SumsMode *mode, uint32_t part) { return &mode->power[part]; }

static Text number(Arena *arena, uint32_t value) { return text_fmt(arena, "%u", value); }

/* ---- the meter ---- */

static bool is_in_row(const Table *table, const BenchReading *reading, uint32_t row) {
    BenchAbout about = table->nets ? BENCH_ABOUT_NET : BENCH_ABOUT_PART;
    return reading->about_what == about && reading->about_count == 1 && reading->about[0] == row &&
           text_is(reading->function, table->function);
}

static void say_read(Numbers *n, const SumsCompared *compared) {
    const BenchReading *reading = &n->bench->readings.at[compared->reading];
    Text line = number(n->arena, reading->note->line);
    bool off = compared->verdict == SUMS_OFF;
    markup(n->out,
           "<span class=\"read $\">$ <button type=\"button\" class=\"to-line\" data-to-line=\"$\">line $</button></span>",
           text_of(off ? "off" : ""),
           text_fmt(n->arena, "%s %.*s%s", off ? "\xE2\x89\xA0 read" : "read",
                    TEXT_ARG(reading->note->reading->value.written), compared->verdict == SUMS_AGREES ? ", agrees" : ""),
           line, line);
}

static void say_readings(Numbers *n, const Table *table, uint32_t row, uint32_t mode) {
    for (uint32_t i = 0; i < n->sums->compared.count; i++) {
        const SumsCompared *compared = &n->sums->compared.at[i];
        if (compared->mode == mode && is_in_row(table, &n->bench->readings.at[compared->reading], row))
            say_read(n, compared);
    }
}

/* ---- the tables ---- */

static Text mode_name(const SumsMode *mode) { return mode->name.len > 0 ? mode->name : TEXT("at rest"); }

static void open_table(Numbers *n, const Table *table) {
    markup(n->out,
           "<h4>$</h4><div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"$\"><table "
           "class=\"numbers\"><thead><tr>"
           "<th scope=\"col\">$</th>",
           text_of(table->title), text_of(table->title), text_of(table->first));
    for (uint32_t i = 0; i < n->sums->modes.count; i++)
        markup(n->out, "<th scope=\"col\">$</th>", mode_name(&n->sums->modes.at[i]));
    out_lit(n->out, "</tr></thead><tbody>\n");
}

static void say_row(Numbers *n, const Table *table, uint32_t row) {
    Text name = table->nets ? n->bench->nets.at[row].name : n->bench->parts.at[row].ref;
    markup(n->out,
           table->nets ? "<tr data-net=\"$\"><th scope=\"row\"><button type=\"button\" data-light=\"$\">$</button></th>"
                       : "<tr data-ref=\"$\"><th scope=\"row\"><button type=\"button\" data-parts=\"$\">$</button></th>",
           name, name, name);
    for (uint32_t i = 0; i < n->sums->modes.count; i++) {
        markup(n->out, "<td>$", report_figure(n->arena, table->of(&n->sums->modes.at[i], row), table->unit));
        say_readings(n, table, row, i);
        out_lit(n->out, "</td>");
    }
    out_lit(n->out, "</tr>\n");
}

/* Rows in which nothing is known or flows are left out. */
static void say_table(Numbers *n, const Table *table) {
    uint32_t count = table->nets ? n->bench->nets.count : n->bench->parts.count;
    bool open = false;
    for (uint32_t row = 0; row < count; row++) {
        bool any = false;
        for (uint32_t i = 0; i < n->sums->modes.count && !any; i++)
            any = !report_figure_is_nothing(table->of(&n->sums->modes.at[i], row), table->unit);
        if (!any) continue;
        if (!open) open_table(n, table);
        open = true;
        say_row(n, table, row);
    }
    if (open) out_lit(n->out, "</tbody></table></div>\n");
}

/* ---- what has no row ---- */

static void say_faults(Numbers *n) {
    for (uint32_t i = 0; i < n->sums->modes.count; i++) {
        const SumsMode *mode = &n->sums->modes.at[i];
        if (!mode->solved)
            markup(n->out, "<p class=\"care\">No answer for $: $</p>", mode_name(mode),
                   report_as_sentence(n->arena, mode->fault));
    }
}

bool numbers_any(const Sums *sums) {
    for (uint32_t i = 0; sums != NULL && i < sums->modes.count; i++)
        if (sums->modes.at[i].solved) return true;
    return sums != NULL && sums->differ > 0;
}

void answer_numbers(Call *call) {
    static const Table tables[] = {{"Volts", "net", "v", UNIT_VOLT, true, volts},
                                   {"Currents", "part", "i", UNIT_AMPERE, false, current},
                                   {"Powers", "part", "p", UNIT_WATT, false, power}};
    const ReportTeardown *teardown = &call->model->teardown;
    if (!call->model->open || !numbers_any(teardown->sums)) return;
    Numbers n = {.out = &call->out, .arena = call->arena, .sums = teardown->sums, .bench = teardown->bench};
    say_faults(&n);
    for (size_t i = 0; i < sizeof tables / sizeof *tables; i++) say_table(&n, &tables[i]);
}

/* ---- parts ---- */

static void say_part(Out *out, const BenchPart *part) {
    Out value = out_new(out->arena);
    if (part->has_value) quantity_print(&value, part->value);
    Text line = text_fmt(out->arena, "%u", part->line);
    markup(out,
           "<tr data-ref=\"$\"><th scope=\"row\"><button type=\"button\" data-parts=\"$\" "
           "data-lines=\"$\">$</button></th><td>$</td><td>$</td>",
           part->ref, part->ref, line, part->ref, part->kind->name, out_text(&value));
    markup(out, "<td>$</td><td>$</td></tr>\n", part->marking, part->package_name);
}

void answer_parts(Call *call) {
    if (!call->model->open) return;
    const Bench *bench = call->model->teardown.bench;
    out_lit(
        &call->out,
        "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"Parts\"><table><thead><tr><th "
        "scope=\"col\">part</th>"
        "<th scope=\"col\">kind</th><th scope=\"col\">value</th><th scope=\"col\">marked</th><th scope=\"col\">package</th>"
        "</tr></thead><tbody>\n");
    for (uint32_t i = 0; i < bench->parts.count; i++) say_part(&call->out, &bench->parts.at[i]);
    out_lit(&call->out, "</tbody></table></div>\n");
}
