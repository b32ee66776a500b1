/* Formulas of the trade for what follows from volts and amperes: pure, in SI units, each with its source. What they are
 * given must be finite; they give what the formula gives. */
#ifndef UNPICK_SUMS_FORMULAS_H
#define UNPICK_SUMS_FORMULAS_H

#include "note/note.h"

#include <math.h>

/* J in a capacitor, C V^2 / 2, and in a coil, L I^2 / 2: any textbook of electricity. */
static inline double energy_of_capacitor(double farads, double volts) { return farads * volts * volts / 2; }
static inline double energy_of_coil(double henrys, double amperes) { return henrys * amperes * amperes / 2; }

/* degC of a junction: ambient plus watts times K/W (JEDEC JESD51-1, from memory). */
static inline double heat_junction(double ambient, double watts, double kelvin_per_watt) {
    return ambient + watts * kelvin_per_watt;
}

/* K that the hottest spot of a resistor is warmer than its surroundings. At 70 degC it may turn its rated power to heat,
 * and at none of it its film may have 155 degC; between them the line is straight (IEC 60115-1, derating curve, from
 * memory). */
static inline double heat_resistor(double watts, double rated) { return (155 - 70) * watts / rated; }

/* Forced gain of a saturated transistor: collector over base current. 10 is what data sheets test saturation at; above half
 * of its current gain it may leave saturation (common practice). */
static inline double gain_forced(double collector, double base) { return collector / base; }

/* How fast a train's last wheel turns when its first turns with `speed`: by the teeth of each stage (any text on machine
 * elements). In the unit of `speed`. */
double train_speed(double speed, const NoteRatio *stages, uint32_t count);

/* s that a memory of so many bits plays at so many bits a second. */
static inline double recording_seconds(double bits, double bits_per_second) { return bits / bits_per_second; }

typedef struct RecordingRate {
    const char *name;
    double bits_per_sample; /* 0: the rate is fixed */
    double bits_per_second; /* when fixed */
    const char *source;
} RecordingRate;

/* How sound is usually kept in a memory, the most wasteful first; out count. */
const RecordingRate *recording_rates(size_t *count);

/* dB of sound pressure on the axis, outdoors: sensitivity (dB at 1 W and 1 m) and 10 log10 of the watts, less 20 log10 of
 * the metres (IEC 60268-5, from memory). Rooms add some dB; a toy's small box loses some below a few hundred Hz. */
static inline double sound_level(double sensitivity, double watts, double metres) {
    return sensitivity + 10 * log10(watts) - 20 * log10(metres);
}

/* W in a load of R ohm: by the effective value of a sine that swings `swing` volts from top to bottom, V^2 / (8 R), and of
 * a square wave of that swing with its middle at rest, V^2 / (4 R): any textbook of electricity. */
static inline double power_of_sine(double swing, double ohms) { return swing * swing / (8 * ohms); }
static inline double power_of_square(double swing, double ohms) { return swing * swing / (4 * ohms); }

#endif
