/* The kinds: what each is called, its terminals and parameters, and which equations serve it. Usual values are round figures of
 * common small parts (from memory), there to be overwritten. */
#include "circuit/inside.h"

#define MUCH 1e30
#define SATURATION {"saturation current", "A", 1e-14, 1e-40, 1}
#define EMISSION {"emission coefficient", "", 1, 0.1, 100}
#define SOURCE(unit)                                                                                                           \
    {{"wave", "", SOURCE_CONSTANT, 0, SOURCE_SQUARE}, {"value", unit, 0, -MUCH, MUCH}, {"other value", unit, 0, -MUCH, MUCH},  \
     {"frequency", "Hz", 0, 0, MUCH}, {"duty", "", 0.5, 0, 1}, {"delay", "s", 0, 0, MUCH}, {"rise", "s", 0, 0, MUCH},          \
     {"fall", "s", 0, 0, MUCH}, {"width", "s", 0, 0, MUCH}, {"phase", "rad", 0, -MUCH, MUCH}}
#define VOLTS {"open-circuit voltage", "V", 1.5, 0, MUCH}

static const CircuitKindFacts KINDS[CIRCUIT_KINDS] = {
    [CIRCUIT_RESISTOR] = {"resistor", 2, 1, {"a", "b"}, {{"resistance", "ohm", 1e3, 0, MUCH}}, {0}},
    [CIRCUIT_CAPACITOR] = {"capacitor", 2, 2, {"a", "b"}, {{"capacitance", "F", 1e-7, 0, MUCH}, {"start voltage", "V", 0, -MUCH, MUCH}}, {"current, A", NULL}},
    [CIRCUIT_INDUCTOR] = {"inductor", 2, 3, {"a", "b"}, {{"inductance", "H", 1e-5, 0, MUCH}, {"resistance", "ohm", 0, 0, MUCH},
                          {"start current", "A", 0, -MUCH, MUCH}}, {"current, A", NULL}},
    [CIRCUIT_VOLTAGE] = {"voltage source", 2, 10, {"+", "-"}, SOURCE("V"), {"current, A", NULL}},
    [CIRCUIT_CURRENT] = {"current source", 2, 10, {"+", "-"}, SOURCE("A"), {0}},
    [CIRCUIT_VCVS] = {"voltage by voltage", 4, 1, {"out+", "out-", "in+", "in-"}, {{"gain", "V/V", 1, -MUCH, MUCH}}, {"current, A", NULL}},
    [CIRCUIT_VCCS] = {"current by voltage", 4, 1, {"out+", "out-", "in+", "in-"}, {{"gain", "A/V", 1e-3, -MUCH, MUCH}}, {0}},
    [CIRCUIT_CCCS] = {"current by current", 4, 1, {"out+", "out-", "in+", "in-"}, {{"gain", "A/A", 1, -MUCH, MUCH}}, {"input current, A", NULL}},
    [CIRCUIT_CCVS] = {"voltage by current", 4, 1, {"out+", "out-", "in+", "in-"}, {{"gain", "V/A", 1e3, -MUCH, MUCH}},
                      {"input current, A", "output current, A"}},
    [CIRCUIT_DIODE] = {"diode", 2, 7, {"anode", "cathode"}, {SATURATION, EMISSION, {"series resistance", "ohm", 0, 0, MUCH},
                       {"breakdown voltage", "V", 0, 0, MUCH}, {"current at breakdown", "A", 5e-3, 1e-15, 1e3},
                       {"sharpness of breakdown", "", 1, 0.01, 1e4}, {"capacitance", "F", 0, 0, MUCH}}, {0}},
    [CIRCUIT_BIPOLAR] = {"bipolar transistor", 3, 9, {"collector", "base", "emitter"}, {{"sign", "", 1, -1, 1}, SATURATION,
                         {"forward gain", "", 200, 1e-3, 1e9}, {"reverse gain", "", 4, 1e-3, 1e9}, {"Early voltage", "V", 0, 0, MUCH},
                         {"knee current", "A", 0, 0, MUCH}, EMISSION, {"base-emitter capacitance", "F", 1e-11, 0, MUCH},
                         {"base-collector capacitance", "F", 4e-12, 0, MUCH}}, {0}},
    [CIRCUIT_MOSFET] = {"field-effect transistor", 3, 7, {"drain", "gate", "source"}, {{"sign", "", 1, -1, 1},
                        {"threshold", "V", 2, -1e3, 1e3}, {"gain", "A/V^2", 0.1, 1e-12, 1e6}, {"lambda", "1/V", 0, 0, 10},
                        {"body diode's saturation current", "A", 1e-12, 0, 1}, {"gate-source capacitance", "F", 5e-11, 0, MUCH},
                        {"gate-drain capacitance", "F", 1e-11, 0, MUCH}}, {0}},
    [CIRCUIT_SWITCH] = {"switch", 2, 3, {"a", "b"}, {{"closed", "", 1, 0, 1}, {"closed resistance", "ohm", 0.05, 0, MUCH},
                        {"open conductance", "S", 1e-12, 0, MUCH}}, {"current, A", NULL}},
    [CIRCUIT_MOTOR] = {"motor", 2, 9, {"+", "-"}, {{"winding resistance", "ohm", 5, 0, MUCH}, {"inductance", "H", 0, 0, MUCH},
                       {"motor constant", "V s/rad", 5e-3, 1e-12, MUCH}, {"inertia", "kg m^2", 1e-7, 0, MUCH}, {"viscous friction", "N m s", 0, 0, MUCH},
                       {"dry friction", "N m", 1e-4, 0, MUCH}, {"load", "N m", 0, 0, MUCH}, {"stalled", "", 0, 0, 1}, {"start speed", "rad/s", 0, -MUCH, MUCH}}, {"current, A", "speed, rad/s"}},
    [CIRCUIT_BATTERY] = {"battery", 2, 15, {"+", "-"}, {{"charge", "", 1, 0, 1}, {"capacity", "A s", 3600, 1e-12, MUCH},
                         {"resistance, full", "ohm", 0.2, 0, MUCH}, {"resistance, empty", "ohm", 0.2, 0, MUCH},
                         VOLTS, VOLTS, VOLTS, VOLTS, VOLTS, VOLTS, VOLTS, VOLTS, VOLTS, VOLTS, VOLTS}, {"current, A", "charge left, A s"}},
    [CIRCUIT_REGULATOR] = {"regulator", 3, 5, {"in", "out", "ground"}, {{"voltage", "V", 5, 0, MUCH}, {"dropout", "V", 1, 0, MUCH},
                           {"quiet current", "A", 1e-3, 0, 100}, {"current limit", "A", 1, 1e-12, MUCH}, {"output resistance", "ohm", 0.02, 1e-9, MUCH}}, {"current given, A", NULL}},
    [CIRCUIT_OPAMP] = {"op-amp", 5, 9, {"in+", "in-", "out", "supply+", "supply-"}, {{"gain", "V/V", 1e5, 1, 1e9}, {"gain-bandwidth", "Hz", 1e6, 1e-3, 1e15},
                       {"slew rate", "V/s", 5e5, 1e-3, 1e15}, {"headroom", "V", 1.5, 0, MUCH}, {"footroom", "V", 0.02, 0, MUCH}, {"output resistance", "ohm", 75, 1e-3, MUCH},
                       {"output limit", "A", 2e-2, 1e-12, MUCH}, {"quiet current", "A", 1e-3, 0, 100}, {"offset", "V", 0, -MUCH, MUCH}}, {"drive, V", NULL}},
    [CIRCUIT_COMPARATOR] = {"comparator", 5, 6, {"in+", "in-", "out", "supply+", "supply-"}, {{"gain", "1/V", 1e5, 1, 1e9}, {"delay", "s", 1e-6, 1e-12, 1},
                            {"open collector", "", 0, 0, 1}, {"output resistance", "ohm", 50, 1e-3, MUCH}, {"quiet current", "A", 1e-3, 0, 100}, {"offset", "V", 0, -MUCH, MUCH}},
                            {"share high", NULL}},
    [CIRCUIT_OPTOCOUPLER] = {"optocoupler", 4, 4, {"anode", "cathode", "collector", "emitter"}, {{"transfer ratio", "", 1, 0, 1e3},
                             {"saturation current", "A", 1e-11, 1e-40, 1}, {"emission coefficient", "", 2.2, 0.1, 100}, {"knee", "V", 0.1, 1e-3, 1e3}}, {0}},
    [CIRCUIT_PIN] = {"pin", 3, 6, {"pin", "supply", "ground"}, {{"state", "", PIN_OPEN, PIN_LOW, PIN_SWITCHING}, {"high resistance", "ohm", 40, 1e-3, MUCH},
                     {"low resistance", "ohm", 30, 1e-3, MUCH}, {"clamp saturation current", "A", 1e-14, 0, 1}, {"frequency", "Hz", 1e3, 1e-9, MUCH}, {"duty", "", 0.5, 0, 1}}, {0}},
    [CIRCUIT_SPEAKER] = {"loudspeaker", 2, 2, {"+", "-"}, {{"inductance", "H", 1e-4, 0, MUCH}, {"resistance", "ohm", 8, 1e-6, MUCH}}, {"current, A", NULL}},
    [CIRCUIT_ELECTRET] = {"electret capsule", 2, 2, {"+", "-"}, {{"current", "A", 3e-4, 1e-12, 1}, {"knee", "V", 0.4, 1e-3, 1e3}}, {0}},
    [CIRCUIT_THERMISTOR] = {"thermistor", 2, 3, {"a", "b"}, {{"resistance at 25 degC", "ohm", 1e4, 1e-6, MUCH}, {"beta", "K", 3950, -1e5, 1e5},
                            {"temperature", "K", 298.15, 1, 1e5}}, {0}},
};

/* Equations, by the letter of the fields of Form: k, terminals, memory, linear, dynamic, pattern, inner, evaluate, start, ties. */
static const Form FORMS[CIRCUIT_KINDS] = {
    [CIRCUIT_RESISTOR] = {2, 2, 0, true, false, "xx xx", "", element_resistor, NULL, "aa"},
    [CIRCUIT_CAPACITOR] = {3, 2, 0, true, true, "..x ..x xxx", "i", element_capacitor, element_capacitor_start, ".."},
    [CIRCUIT_INDUCTOR] = {3, 2, 0, true, true, "..x ..x xxx", "i", element_inductor, element_inductor_start, "aa"},
    [CIRCUIT_VOLTAGE] = {3, 2, 0, true, false, "..x ..x xx.", "i", element_voltage, NULL, "aa"},
    [CIRCUIT_CURRENT] = {2, 2, 0, true, false, ".. ..", "", element_current, NULL, ".."},
    [CIRCUIT_VCVS] = {5, 4, 0, true, false, "....x ....x ..... ..... xxxx.", "i", element_vcvs, NULL, "aa.."},
    [CIRCUIT_VCCS] = {4, 4, 0, true, false, "..xx ..xx .... ....", "", element_vccs, NULL, "...."},
    [CIRCUIT_CCCS] = {5, 4, 0, true, false, "....x ....x ....x ....x ..xx.", "i", element_cccs, NULL, "..bb"},
    [CIRCUIT_CCVS] = {6, 4, 0, true, false, ".....x .....x ....x. ....x. ..xx.. xx..x.", "ii", element_ccvs, NULL, "aabb"},
    [CIRCUIT_DIODE] = {2, 2, 2, false, true, "xx xx", "", element_diode, NULL, "aa"},
    [CIRCUIT_BIPOLAR] = {3, 3, 2, false, true, "xxx xxx xxx", "", element_bipolar, NULL, "aaa"},
    [CIRCUIT_MOSFET] = {3, 3, 3, false, true, "xxx xxx xxx", "", element_mosfet, NULL, "a.a"},
    [CIRCUIT_SWITCH] = {3, 2, 0, true, false, "..x ..x xxx", "i", element_switch, NULL, "aa"},
    [CIRCUIT_MOTOR] = {4, 2, 0, false, true, "..x. ..x. xxxx ..xx", "io", element_motor, element_motor_start, "aa"},
    [CIRCUIT_BATTERY] = {4, 2, 0, false, true, "..x. ..x. xxxx ..xx", "io", element_battery, element_battery_start, "aa"},
    [CIRCUIT_REGULATOR] = {4, 3, 0, false, false, "x.xx ...x x.x. xxxx", "i", element_regulator, NULL, "aaa"},
    [CIRCUIT_OPAMP] = {6, 5, 0, false, true, "...... ...... ..x..x ..xxxx ..xxxx xx.xxx", "o", element_opamp, NULL, "..aaa"},
    [CIRCUIT_COMPARATOR] = {6, 5, 0, false, true, "...... ...... ..xxxx ..xxxx ..xxxx xx...x", "o", element_comparator, NULL, "..aaa"},
    [CIRCUIT_OPTOCOUPLER] = {4, 4, 1, false, false, "xx.. xx.. xxxx xxxx", "", element_optocoupler, NULL, "aabb"},
    [CIRCUIT_PIN] = {3, 3, 2, false, false, "xxx xxx xxx", "", element_pin, NULL, "aaa"},
    [CIRCUIT_SPEAKER] = {3, 2, 0, true, true, "..x ..x xxx", "i", element_inductor, NULL, "aa"},
    [CIRCUIT_ELECTRET] = {2, 2, 0, false, false, "xx xx", "", element_electret, NULL, "aa"},
    [CIRCUIT_THERMISTOR] = {2, 2, 0, true, false, "xx xx", "", element_thermistor, NULL, "aa"},
};
/* Some kinds have other equations where a parameter makes the usual ones poor. */
static const Form RESISTOR_LOW = {3, 2, 0, true, false, "..x ..x xxx", "i", element_resistor_low, NULL, "aa"};
static const Form DIODE_SERIES = {3, 2, 2, false, true, "x.x .xx xxx", "v", element_diode_series, NULL, "aa"};

/* Below this a resistor's current is an unknown of its own: v / R takes the current from the last digits of two voltages. */
static const double LOW_OHMS = 10;
static const double NO_OHMS = 1e-6;

const CircuitKindFacts *circuit_kind(CircuitKind kind) { return &KINDS[kind]; }

const Form *form_of(CircuitKind kind, const double *p) {
    if (kind == CIRCUIT_RESISTOR && p[RESISTOR_OHMS] < LOW_OHMS) return &RESISTOR_LOW;
    if (kind == CIRCUIT_DIODE && p[DIODE_OHMS] >= NO_OHMS) return &DIODE_SERIES;
    return &FORMS[kind];
}

/* A NAN is within no limits. */
bool kind_allows(CircuitKind kind, unsigned parameter, double value) {
    const CircuitParameter *limits = &KINDS[kind].parameter[parameter];
    return value >= limits->low && value <= limits->high;
}
