// SPDX-License-Identifier: GPL-3.0-or-later
/* Horner's rule for a block of phases: the inner loops run over the phases and keep both processor
 * and compiler busy; no order of summation is left to them. A recurrence from sample to sample
 * would be no faster, would lose digits as it goes, and could not follow a drifting clock. */
#include "virtual/signal.h"

#include "base/memory.h"
#include "num/portable.h"
#include "quantity/constant.h"

static const double turn = 6.283185307179586477;

/* 1 / (1 - i a) and the like, in plain reals: C's complex division is the library's business. */
static double complex reciprocal(double real, double imaginary)
{
    double size = real * real + imaginary * imaginary;
    return real / size - I * (imaginary / size);
}

static double complex multiply(double complex a, double complex b)
{
    double ar = creal(a), ai = cimag(a), br = creal(b), bi = cimag(b);
    return (ar * br - ai * bi) + I * (ar * bi + ai * br);
}

/* What a first-order coupling passes of a harmonic: 1 / (1 - i corner/f). */
static double complex pass_corner(double complex c, double corner_Hz, double frequency_Hz)
{
    return corner_Hz > 0.0 ? multiply(c, reciprocal(1.0, -corner_Hz / frequency_Hz)) : c;
}

static double get_excitation_gain(const struct ring *ring)
{
    const struct rig_input *input = &ring->rig.excitation;
    if (input->quantity == INPUT_FIELD_STRENGTH)
        return 1.0;
    double current = ring->specimen.path_length_m / ring_get_winding(ring)->primary_turns.value;
    if (input->quantity == INPUT_CURRENT)
        return current;
    return input->shunt.is_present ? current * rig_input_get_shunt(input)
                                   : current / input->transfer.value;
}

/* What the shunt's inductance makes of 1. */
static double complex get_lead(const struct ring *ring, double frequency_Hz)
{
    const struct rig_input *input = &ring->rig.excitation;
    if (!input->inductance.is_present)
        return 1.0;
    return 1.0 + I * (turn * frequency_Hz * input->inductance.value / rig_input_get_shunt(input));
}

/* The flux linkage of the pickup, or the flux density that a table carries instead. */
static double complex get_flux(
    const struct ring *ring, double complex field, double complex flux_density)
{
    const struct rig_input *input = &ring->rig.pickup;
    const struct winding *winding = ring_get_winding(ring);
    double area = ring->specimen.area_m2;
    double complex polarization = flux_density - MAGNETIC_CONSTANT * field;
    if (input->quantity == INPUT_FLUX_DENSITY)
        return flux_density;
    if (input->quantity == INPUT_POLARIZATION)
        return polarization;
    double turns = winding->secondary_turns.value;
    if (input->air_flux_removed)
        return turns * area * polarization;
    double air = winding->secondary_area.is_present ? winding->secondary_area.value - area : 0.0;
    return turns * area * flux_density + turns * MAGNETIC_CONSTANT * air * field;
}

/* The pickup's harmonic from its flux: dPhi/dt through a passive integrator, or the electronic one.
 */
static double complex get_pickup(const struct ring *ring, double complex flux, double frequency_Hz)
{
    const struct rig_input *input = &ring->rig.pickup;
    if (input->quantity != INPUT_VOLTAGE)
        return flux;
    if (input->fluxmeter.is_present)
        return flux / input->fluxmeter.value;
    double omega = turn * frequency_Hz;
    double complex voltage = I * (omega * creal(flux)) - omega * cimag(flux);
    double resistance = input->integrator_resistance.value + input->source_resistance.value;
    double time = resistance * input->integrator_capacitance.value;
    return time > 0.0 ? multiply(voltage, reciprocal(1.0, omega * time / rig_input_get_load(input)))
                      : voltage;
}

/* The two resistors in series carry one current: the shunt's voltage may lead it, the known one's
 * does not. */
static double complex get_series_voltage(
    const struct ring *ring, enum ring_input input, double complex current_field, double frequency)
{
    double omega = turn * frequency;
    double current = ring->specimen.path_length_m / ring_get_winding(ring)->primary_turns.value;
    if (input == RING_PICKUP)
        return current * ring->recording.reference.value * current_field;
    const struct quantity *ordered = &ring->recording.inductance;
    double reactance =
        omega * (ordered->is_present ? *ordered : ring->rig.excitation.inductance).value;
    return current *
           multiply(current_field, rig_input_get_shunt(&ring->rig.excitation) + I * reactance);
}

/* A harmonic at the input, without what the input does to it. */
static double complex get_harmonic(const struct ring *ring, enum ring_input input,
    const struct fourier_loop *waves, size_t k, double frequency)
{
    const struct ring_recording *recording = &ring->recording;
    if (recording->kind == RING_KIND_TONE && input == recording->terminated)
        return 0.0;
    if (ring_is_voltage(ring))
        return waves->field[k];
    if (recording->kind == RING_KIND_SHUNT)
        return get_series_voltage(ring, input, waves->field[k], frequency);
    if (input == RING_PICKUP)
        return get_pickup(ring, get_flux(ring, waves->field[k], waves->flux_density[k]), frequency);
    return multiply(get_excitation_gain(ring) * waves->field[k], get_lead(ring, frequency));
}

static double get_corner(const struct ring *ring, const struct rig_input *input)
{
    return input->corner.is_present ? input->corner.value : ring->rig.corner.value;
}

/* In a shunt comparison the known resistor loads the pickup's input, not the coil. */
static double get_load(const struct ring *ring, enum ring_input input)
{
    struct rig_input loaded = *ring_get_input(ring, input);
    if (ring->recording.kind == RING_KIND_SHUNT && input == RING_PICKUP &&
        !loaded.divider.is_present)
        loaded.source_resistance = ring->recording.reference;
    return rig_input_get_load(&loaded);
}

static void fill(struct signal *signal, const struct ring *ring, enum ring_input input,
    const struct fourier_loop *waves)
{
    const struct rig_input *rig = ring_get_input(ring, input);
    const struct ring_faults *faults = &ring->faults;
    double corner = get_corner(ring, rig);
    double fault_corner = faults->coupling[input].value;
    double gain = 1.0 + faults->gain[input].value;
    bool is_inverted = faults->is_reversed[input];
    if (!ring_is_voltage(ring)) { /* an ordered voltage is at the input itself */
        gain /= rig->divider.value * get_load(ring, input);
        is_inverted = is_inverted != rig->is_inverted;
    }
    if (is_inverted)
        gain = -gain;
    bool is_blocked = corner > 0.0 || fault_corner > 0.0 || input == RING_PICKUP ||
                      ring->recording.kind != RING_KIND_LOOP;
    signal->c[0] = is_blocked ? 0.0 : gain * get_excitation_gain(ring) * creal(waves->field[0]);
    for (size_t k = 1; k <= signal->harmonics; k++) {
        double f = (double)k * ring->frequency_Hz;
        double complex c = get_harmonic(ring, input, waves, k, f);
        c = pass_corner(pass_corner(gain * c, corner, f), fault_corner, f);
        signal->c[k] = c;
        if (k % 2 == 0 && (creal(c) != 0.0 || cimag(c) != 0.0))
            signal->is_odd = false;
    }
}

enum status signal_create(struct signal *signal, const struct ring *ring, enum ring_input input,
    const struct fourier_loop *waves, struct error *err)
{
    struct signal made = {.harmonics = waves->harmonics, .is_odd = true};
    made.c = memory_create(made.harmonics + 1, sizeof *made.c);
    if (made.c == NULL)
        return fail_memory(err);
    fill(&made, ring, input, waves);
    made.is_derivative =
        input == RING_PICKUP && !ring_is_voltage(ring) && ring->recording.kind != RING_KIND_SHUNT &&
        ring->rig.pickup.quantity == INPUT_VOLTAGE && !ring->rig.pickup.fluxmeter.is_present &&
        !ring->rig.pickup.integrator_resistance.is_present;
    while (made.harmonics > 1 && creal(made.c[made.harmonics]) == 0.0 &&
           cimag(made.c[made.harmonics]) == 0.0)
        made.harmonics--; /* a sinusoidal field has one */
    *signal = made;
    return STATUS_OK;
}

void signal_clear(struct signal *signal)
{
    memory_destroy(signal->c);
    *signal = (struct signal){0};
}

/* Phases as points of the unit circle, and the sums of Horner's rule. */
struct block {
    double zr[SIGNAL_BLOCK], zi[SIGNAL_BLOCK]; /* e^{ix} */
    double sr[SIGNAL_BLOCK], si[SIGNAL_BLOCK]; /* the step: e^{ix}, or e^{2ix} for odd series */
    double pr[SIGNAL_BLOCK], pi[SIGNAL_BLOCK];
};

/* p = p * step + c, for all phases: blocks are always computed whole, so that the loops have a
 * fixed length. */
static void add_term(struct block *block, double complex c)
{
    double cr = creal(c), ci = cimag(c);
    for (size_t i = 0; i < SIGNAL_BLOCK; i++) {
        double pr = block->pr[i] * block->sr[i] - block->pi[i] * block->si[i] + cr;
        block->pi[i] = block->pr[i] * block->si[i] + block->pi[i] * block->sr[i] + ci;
        block->pr[i] = pr;
    }
}

void signal_compute(const struct signal *signal, const double *turns, size_t count, double *values)
{
    struct block block = {0};
    size_t stride = signal->is_odd ? 2 : 1;
    for (size_t i = 0; i < count; i++) {
        portable_sin_cos_turns(turns[i], &block.zi[i], &block.zr[i]);
        block.sr[i] = block.zr[i];
        block.si[i] = block.zi[i];
        if (signal->is_odd)
            portable_sin_cos_turns(2.0 * turns[i], &block.si[i], &block.sr[i]);
    }
    size_t first = signal->is_odd ? 1 : 0;
    size_t last = signal->harmonics - (signal->harmonics - first) % stride;
    for (size_t k = last; k > first; k -= stride)
        add_term(&block, signal->c[k]);
    add_term(&block, signal->c[first]);
    for (size_t i = 0; i < count; i++) { /* an odd series lacks one factor e^{ix}, and [0] */
        values[i] = signal->is_odd ? block.pr[i] * block.zr[i] - block.pi[i] * block.zi[i] +
                                         creal(signal->c[0])
                                   : block.pr[i];
    }
}
