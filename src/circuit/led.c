/* Light-emitting diodes by colour: forward voltage at 1 mA and at 20 mA, and the resistance in series, as typical 5 mm and
 * 0603 types' data sheets draw them (from memory; a type of its own may be 0.2 V off either way). The material sets them:
 * gallium arsenide for infrared, AlGaInP or GaAsP for red to yellow, GaP for the old green, InGaN for the rest. */
#include "circuit/inside.h"

typedef struct Led {
    double at_1_ma, at_20_ma, ohms;
} Led;

static const Led LEDS[LED_COLOURS] = {
    [LED_INFRARED] = {1.05, 1.20, 2}, [LED_RED] = {1.70, 1.95, 6},       [LED_ORANGE] = {1.75, 2.00, 6},
    [LED_YELLOW] = {1.80, 2.05, 6},   [LED_GREEN_OLD] = {1.85, 2.15, 9}, [LED_GREEN] = {2.60, 3.10, 14},
    [LED_BLUE] = {2.70, 3.20, 14},    [LED_WHITE] = {2.70, 3.20, 14},    [LED_ULTRAVIOLET] = {3.00, 3.45, 12},
};

void circuit_led(Circuit *circuit, uint32_t diode, CircuitColour colour) {
    const Led *led = &LEDS[colour];
    circuit_fit_diode(circuit, diode, led->at_1_ma, 1e-3, led->at_20_ma, 20e-3, led->ohms);
    circuit_set(circuit, diode, DIODE_BREAKDOWN, 0);
}
