/* The sums as a JSON document (doc/json.md). */
#include "report/json.h"

#include <math.h>

typedef struct Telling {
    Arena *arena;
    const Sums *sums;
    const Bench *bench;
} Telling;

static void put_real(json_t *object, const char *key, double value) {
    json_put(object, key, isfinite(value) ? json_real(value) : json_null());
}

/* {value, low, high, least, most, unit, hangs_on} */
static json_t *of_figure(Telling *t, const SumsFigure *figure, Unit unit) {
    if (!figure->known) return json_null();
    json_t *object = json_object(), *hangs = json_array();
    put_real(object, "value", figure->typical), put_real(object, "low", figure->low), put_real(object, "high", figure->high);
    put_real(object, "least", figure->least), put_real(object, "most", figure->most);
    json_put_text(object, "unit", unit_symbol(t->arena, unit));
    for (int i = 0; i < 3 && figure->hangs[i] != BENCH_NONE; i++)
        json_array_append_new(hangs, json_of_text(t->sums->parameters.at[figure->hangs[i]].name));
    json_put(object, "hangs_on", hangs);
    return object;
}

static json_t *of_lines(Telling *t, const uint32_t *lines, uint32_t count) {
    return json_of_lines_quoted(t->arena, t->bench->notebook, lines, count);
}

static json_t *of_mode(Telling *t, const SumsMode *mode) {
    json_t *object = json_object(), *nets = json_array(), *parts = json_array(), *assumed = json_array();
    for (uint32_t n = 0; n < t->bench->nets.count; n++) {
        if (!mode->volts[n].known) continue;
        json_t *net = json_object();
        json_put_text(net, "net", t->bench->nets.at[n].name);
        json_put(net, "volts", of_figure(t, &mode->volts[n], UNIT_VOLT));
        json_array_append_new(nets, net);
    }
    for (uint32_t p = 0; p < t->bench->parts.count; p++) {
        if (!mode->current[p].known && !mode->power[p].known) continue;
        json_t *part = json_object();
        json_put_text(part, "ref", t->bench->parts.at[p].ref);
        json_put(part, "current", of_figure(t, &mode->current[p], UNIT_AMPERE));
        json_put(part, "power", of_figure(t, &mode->power[p], UNIT_WATT));
        json_array_append_new(parts, part);
    }
    for (uint32_t i = 0; i < mode->assumptions.count; i++) {
        json_t *one = json_object();
        json_put_text(one, "says", mode->assumptions.at[i].says);
        json_put(one, "lines", of_lines(t, mode->assumptions.at[i].lines, mode->assumptions.at[i].line_count));
        json_array_append_new(assumed, one);
    }
    json_put_text(object, "mode", mode->name);
    json_put(object, "solved", json_boolean(mode->solved));
    json_put_text(object, "fault", mode->fault);
    json_put_text(object, "hint", mode->hint);
    json_put(object, "nets", nets), json_put(object, "parts", parts), json_put(object, "assumed", assumed);
    return object;
}

static json_t *of_compared(Telling *t, const SumsCompared *compared) {
    static const char *const verdicts[] = {[SUMS_AGREES] = "agrees", [SUMS_OFF] = "off", [SUMS_ALONE] = "alone", [SUMS_UNKNOWN] = "unknown"};
    const BenchReading *reading = &t->bench->readings.at[compared->reading];
    bool known = compared->verdict != SUMS_UNKNOWN;
    json_t *object = json_object();
    json_put(object, "line", json_integer(reading->note->line));
    json_put_text(object, "note", words_quote(t->arena, t->bench->notebook, reading->note->line));
    json_put_text(object, "mode", reading->mode);
    json_put(object, "read", json_of_quantity(t->arena, reading->value));
    Quantity computed = quantity_within(compared->typical, compared->low, compared->high, reading->value.unit);
    json_put(object, "computed", known ? json_of_quantity(t->arena, computed) : json_null());
    json_put_text(object, "verdict", text_of(verdicts[compared->verdict]));
    json_put(object, "off", known && isfinite(compared->off) ? json_real(compared->off) : json_null());
    json_put_text(object, "why", compared->why);
    return object;
}

static json_t *of_explanation(Telling *t, const SumsExplanation *explanation) {
    json_t *object = json_object();
    json_put_text(object, "says", explanation->says);
    json_put_text(object, "check", explanation->check);
    put_real(object, "p", explanation->p);
    put_real(object, "decibans", explanation->decibans);
    json_put_text(object, "place", explanation->place);
    json_put(object, "lines", of_lines(t, explanation->lines, explanation->line_count));
    return object;
}

static json_t *of_parameter(Telling *t, const SumsParameter *parameter) {
    json_t *object = json_object();
    json_put_text(object, "name", parameter->name);
    put_real(object, "value", parameter->typical), put_real(object, "low", parameter->low), put_real(object, "high", parameter->high);
    json_put_text(object, "unit", parameter->symbol);
    json_put(object, "fitted", json_boolean(parameter->fitted));
    json_put(object, "mode", parameter->mode == BENCH_NONE ? json_null() : json_of_text(t->sums->modes.at[parameter->mode].name));
    json_put_text(object, "source", parameter->source);
    json_put(object, "lines", of_lines(t, parameter->lines, parameter->line_count));
    return object;
}

json_t *json_of_sums(Arena *arena, const Sums *sums) {
    Telling t = {arena, sums, sums->bench};
    json_t *object = json_object(), *modes = json_array(), *readings = json_array(), *explanations = json_array(), *parameters = json_array();
    for (uint32_t i = 0; i < sums->modes.count; i++) json_array_append_new(modes, of_mode(&t, &sums->modes.at[i]));
    for (uint32_t i = 0; i < sums->compared.count; i++) json_array_append_new(readings, of_compared(&t, &sums->compared.at[i]));
    for (uint32_t i = 0; i < sums->explanations.count; i++)
        json_array_append_new(explanations, of_explanation(&t, &sums->explanations.at[i]));
    for (uint32_t i = 0; i < sums->parameters.count; i++) json_array_append_new(parameters, of_parameter(&t, &sums->parameters.at[i]));
    json_put(object, "ground", sums->ground == BENCH_NONE ? json_null() : json_of_text(sums->bench->nets.at[sums->ground].name));
    json_put(object, "readings", readings);
    json_put(object, "explanations", explanations);
    put_real(object, "p_other", sums->p_other);
    json_put_text(object, "settle", sums->best_reading);
    json_put(object, "modes", modes);
    json_put(object, "parameters", parameters);
    return object;
}

void report_sums_json(Out *out, const Sums *sums) {
    json_t *document = json_answer(), *of = json_of_sums(out->arena, sums);
    json_object_update(document, of);
    json_decref(of);
    json_finish(out, document);
}
