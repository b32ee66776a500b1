/* What the elements of a mode's circuit are set to: by the models' terms, by the readings once they were fitted, by what is
 * supposed. */
#include "sums/inside.h"

#include <math.h>

static const double BOLTZMANN_OVER_CHARGE = 1.380649e-23 / 1.602176634e-19, KELVIN = 300.15; /* as circuit/ has them */

bool wire_supposes(const Wiring *w, Mistake mistake) {
    return w->change != NULL && w->change->mistake == mistake &&
           (w->change->mode == BENCH_NONE || w->change->mode == w->mode);
}

static double saturation(double volts, double at, double emission, double ohms) {
    double nvt = emission * BOLTZMANN_OVER_CHARGE * KELVIN;
    return at / expm1(fmax((volts - at * ohms) / nvt, 1e-3));
}

double wired_value(const Wired *wired, Spot place, double value) {
    static const double LEFT = 1e-3; /* of the whole: a wiper has some resistance at the end of its way */
    if (place.whole > 0) return fmax(place.whole - value, LEFT * place.whole);
    return wired->drop ? fmax(saturation(value, wired->drop_at, wired->emission, wired->ohms), 1e-40) : value;
}

double wired_slope(const Wired *wired, double value) {
    if (!wired->drop) return 1;
    return -wired_value(wired, (Spot){0}, value) / (wired->emission * BOLTZMANN_OVER_CHARGE * KELVIN);
}

void wire_set(Wiring *w, const double *values) {
    for (uint32_t i = 0; i < w->parameters.count; i++) {
        Wired *wired = &w->parameters.at[i];
        wired->at = values[i];
        for (uint32_t k = 0; k < wired->places.count; k++)
            circuit_set(w->circuit, wired->places.at[k].element, wired->places.at[k].parameter,
                        wired_value(wired, wired->places.at[k], values[i]));
    }
}

static void place_parameter(Wiring *w, Wired *wired, uint32_t element, const ModelSet *set) {
    CircuitKind kind = circuit_kind_of(w->circuit, element);
    if (wired->drop) {
        unsigned emission = kind == CIRCUIT_DIODE     ? DIODE_EMISSION
                            : kind == CIRCUIT_BIPOLAR ? BIPOLAR_EMISSION
                                                      : OPTO_EMISSION;
        wired->emission = circuit_value(w->circuit, element, emission);
        wired->ohms = kind == CIRCUIT_DIODE ? circuit_value(w->circuit, element, DIODE_OHMS) : 0;
    }
    Spot place = {.element = element, .parameter = set->parameter};
    circuit_set(w->circuit, element, set->parameter, wired_value(wired, place, wired->at));
    list_push(w->arena, &wired->places, place);
}

void wire_flat(const Wiring *w, const Change *change, Wired *wired) {
    if (wired->set->how != MODEL_STATE || !unit_same(wired->is.unit, UNIT_VOLT)) return;
    wired->id = w->ids->count; /* this mode's own */
    wired->is.low = change->low, wired->is.high = change->high;
    wired->is.typical = change->value;
}

/* As the readings make it, once they were fitted; within its limits, unless a mistake is supposed, when they may be wrong.
 */
static double likely(const Wiring *w, const Wired *wired) {
    if (w->ids->likely == NULL || wired->id == w->ids->count) return wired->is.typical;
    double value = fit_value(&wired->is, w->ids->likely[wired->id]);
    return w->ids->exact ? value : fmin(fmax(value, wired->is.low), wired->is.high);
}

/* The other half of a potentiometer: both move together. */
static void set_rest(Wiring *w, uint32_t unit, uint32_t part, uint32_t element, const ModelSet *set) {
    SumsParameter is = {0};
    if (!terms_value(w->arena, w->sums, w->change, part, set, &is)) return;
    for (uint32_t i = w->parameters.count; i-- > 0 && w->parameters.at[i].id >= w->ids->first[unit];) {
        Wired *wired = &w->parameters.at[i];
        if (wired->set == NULL || wired->set->number != set->of) continue;
        Spot place = {element, set->parameter, is.typical};
        wired->is.high = fmin(wired->is.high, is.typical), wired->is.typical = fmin(wired->is.typical, is.typical);
        circuit_set(w->circuit, element, set->parameter, wired_value(wired, place, wired->at));
        list_push(w->arena, &wired->places, place);
        return;
    }
}

static void set_parameter(Wiring *w, uint32_t unit, uint32_t part, uint32_t element, const ModelSet *set) {
    uint32_t id = w->ids->first[unit] + set->number * w->ids->modes + (set->how == MODEL_VARIES ? w->mode : 0);
    for (uint32_t i = w->parameters.count; i-- > 0 && w->parameters.at[i].id >= w->ids->first[unit];)
        if (w->parameters.at[i].id == id) {
            place_parameter(w, &w->parameters.at[i], element, set);
            return;
        }
    Wired wired = {.id = id, .set = set, .drop = set->drop, .drop_at = set->drop_at};
    if (!terms_value(w->arena, w->sums, w->change, part, set, &wired.is)) return;
    if (circuit_kind_of(w->circuit, element) == CIRCUIT_SWITCH && set->parameter == SWITCH_CLOSED) { /* how it stands */
        circuit_set(w->circuit, element, SWITCH_CLOSED, wired.is.typical);
        return;
    }
    wired.is.state = set->how != MODEL_SET;
    wired.is.mode = set->how == MODEL_VARIES ? w->mode : BENCH_NONE;
    const char *symbol = circuit_kind(circuit_kind_of(w->circuit, element))->parameter[set->parameter].unit;
    wired.is.symbol = text_of(set->drop ? "V" : symbol);
    if (w->tell) {
        bool source = circuit_kind_of(w->circuit, element) == CIRCUIT_VOLTAGE;
        const char *what = set->drop ? "forward volts"
                           : source  ? "volts"
                                     : circuit_kind(circuit_kind_of(w->circuit, element))->parameter[set->parameter].name;
        wired.is.name = text_fmt(w->arena, "%s of %.*s", what, TEXT_ARG(w->sums->bench->parts.at[part].ref));
    }
    if (wire_supposes(w, MISTAKE_FLAT) && w->change->part == part) wire_flat(w, w->change, &wired);
    wired.at = likely(w, &wired);
    list_push(w->arena, &w->parameters, wired);
    place_parameter(w, &w->parameters.at[w->parameters.count - 1], element, set);
}

void wire_parameters(Wiring *w, uint32_t unit, uint32_t part, uint32_t element, const ModelElement *model) {
    for (uint32_t s = 0; s < model->set_count; s++)
        (model->sets[s].rest ? set_rest : set_parameter)(w, unit, part, element, &model->sets[s]);
}

/* Whether a parameter without which the element says nothing is not known: a resistor without ohms. */
bool wire_can_be_set(Wiring *w, uint32_t part, const ModelElement *element) {
    SumsParameter is = {0};
    for (uint32_t s = 0; s < element->set_count; s++)
        if (!terms_value(w->arena, w->sums, w->change, part, &element->sets[s], &is)) return false;
    return true;
}
