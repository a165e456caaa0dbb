// SPDX-License-Identifier: GPL-3.0-or-later
/* From what was recorded to H and B: the fundamental stands for all harmonics, a row's unit for all
 * rows of a trace. Conventions: loop/convert.c. */
#include <math.h>
#include <stdio.h>

#include "cli/loop_explain_part.h"
#include "quantity/constant.h"

static const double PI = 3.14159265358979323846264338327950;

/* From the recorded fundamental to volts, and what an AC coupling took from it given back. Gives
 * the amplitude, in the unit of the column for tables. */
static double add_input(struct text *out, const struct loop_job *job, const struct rig_input *input,
    const char *name, double recorded, double corner_Hz, const char *unit)
{
    const double f = explain_get(&job->loop, FIGURE_FREQUENCY);
    const double divider = input->divider.is_present ? input->divider.value : 1;
    double amplitude = recorded * divider;
    char factors[4 * DISPLAY_SIZE] = "";
    if (divider != 1)
        snprintf(factors, sizeof factors, " \u00B7 %s (divider)", show(divider, "").words);
    if (job->loop.basis.is_audio) {
        amplitude *= input->full_scale.value;
        explain_add(out,
            "%s1 = %s of full scale \u00B7 %s%s = %s: amplitude of the fundamental at channel %s",
            name, show(recorded, "").words, show(input->full_scale.value, "V").words, factors,
            show(amplitude, "V").words, input->channel ? input->channel : "?");
    } else {
        explain_add(out, "%s1 = %s%s%s%s: amplitude of the fundamental in column '%s'", name,
            show(recorded, unit).words, factors, *factors ? " = " : "",
            *factors ? show(amplitude, unit).words : "", input->channel ? input->channel : "?");
    }
    if (input->is_inverted)
        explain_add(out, "Its sign is turned (invert: yes).");
    const double load = rig_input_get_load(input);
    if (load != 1) {
        explain_add(out,
            "The input's %s loads what feeds it. Without that load it would show %s times as much: "
            "%s1 = %s.",
            show(input->input_resistance.value, "ohm").words, show(load, "").words, name,
            show(amplitude * load, unit).words);
        amplitude *= load;
    }
    if (!(corner_Hz > 0))
        return amplitude;
    const double ratio = corner_Hz / f, factor = sqrt(1 + ratio * ratio);
    explain_add(out,
        "The input is AC-coupled with a corner of %s. At f that has weakened %s1 by the factor "
        "\u221A(1 + (%s / %s)\u00B2) = %s and turned it ahead by %s. Both are undone: %s1 = %s.",
        show(corner_Hz, "Hz").words, name, show(corner_Hz, "Hz").words, show(f, "Hz").words,
        show(factor, "").words, show_angle(atan(ratio) * 180 / PI).words, name,
        show(amplitude * factor, unit).words);
    return amplitude * factor;
}

/* Amplitude of the current, A, from that of what the input shows. */
static double add_current(
    struct text *out, const struct rig_input *input, const char *index, double amplitude)
{
    if (input->quantity != INPUT_VOLTAGE)
        return amplitude;
    if (input->shunt.is_present) {
        const double shunt = rig_input_get_shunt(input), current = amplitude / shunt;
        if (shunt != input->shunt.value)
            explain_add(out,
                "R = %s: the shunt's %s at %s, by its temperature coefficient, at the %s that it "
                "has",
                show(shunt, "ohm").words, show(input->shunt.value, "ohm").words,
                show_celsius(input->shunt_reference.value).words,
                show_celsius(input->shunt_actual.value).words);
        explain_add(out, "i%s = v%s / R = %s / %s = %s: the current through the shunt", index,
            index, show(amplitude, "V").words, show(shunt, "ohm").words, show(current, "A").words);
        return current;
    }
    const double current = amplitude * input->transfer.value;
    explain_add(out, "i%s = v%s \u00B7 %s = %s: what the current sensor says", index, index,
        show(input->transfer.value, "A/V").words, show(current, "A").words);
    return current;
}

/* The shunt's voltage runs ahead of the current. Gives the current's amplitude, A. */
static double add_inductance(
    struct text *out, const struct loop *loop, const struct conversion *how, double current)
{
    if (!(how->shunt_s > 0))
        return current;
    const double w = 2 * PI * explain_get(loop, FIGURE_FREQUENCY) * how->shunt_s;
    const double size = sqrt(1 + w * w);
    explain_add(out,
        "The shunt's inductance makes its voltage \u221A(1 + (2\u03C0 f L/R)\u00B2) = %s times as "
        "large "
        "and turns it ahead by %s; L/R = %s. Both are undone: i1 = %s.",
        show(size, "").words, show_angle(atan(w) * 180 / PI).words, show(how->shunt_s, "s").words,
        show(current / size, "A").words);
    return current / size;
}

/* What winding and mounting anew is said to change: it moves nothing, and is in u. */
static void add_repeat(struct text *out, const struct quantity *repeat, const char *symbol)
{
    const double share = 100 * quantity_get_uncertainty(repeat);
    if (repeat->is_present && share > 0)
        explain_add(out,
            "A winding and mounting anew changes %s by %s %% (one standard deviation), says the "
            "rig (reproducibility). That moves no number here; it is in every u that %s enters.",
            symbol, show(share, "").words, symbol);
}

/* Of a trace: what one unit of the column is at the sensor. */
static double add_unit(struct text *out, const struct rig_input *input, const char *unit)
{
    const double divider = input->divider.is_present ? input->divider.value : 1;
    explain_add(out, "One %s in column '%s'%s%s%s:", unit, input->channel ? input->channel : "?",
        divider != 1 ? " (at the sensor, by the divider, " : " is worth",
        divider != 1 ? show(divider, unit).words : "", divider != 1 ? ") is worth" : "");
    if (input->is_inverted)
        explain_add(out, "Its sign is turned (invert: yes).");
    return divider;
}

static const char *get_excitation_unit(const struct rig_input *input)
{
    return input->quantity == INPUT_VOLTAGE ? "V" : input->quantity == INPUT_CURRENT ? "A" : "A/m";
}

static const char *get_excitation_name(const struct rig_input *input)
{
    return input->quantity == INPUT_VOLTAGE ? "v" : input->quantity == INPUT_CURRENT ? "i" : "H";
}

void explain_add_field(struct text *out, const struct loop_job *job, const struct conversion *how)
{
    const struct loop *loop = &job->loop;
    const struct rig_input *input = &job->rig.excitation;
    const double turns = explain_find_winding(job)->primary_turns.value;
    const double length = job->specimen.path_length_m, hm = explain_get(loop, FIGURE_FIELD_PEAK);
    const bool is_field = input->quantity == INPUT_FIELD_STRENGTH;
    explain_add_heading(out, "Field strength H, from the excitation");
    if (!loop->is_trace) {
        double amplitude = add_input(out, job, input, get_excitation_name(input),
            cabs(loop->basis.recorded.field[1]), how->excitation_corner_Hz,
            get_excitation_unit(input));
        amplitude = add_current(out, input, "1", amplitude);
        amplitude = add_inductance(out, loop, how, amplitude);
        if (!is_field)
            explain_add(out,
                "H1 = N1 \u00B7 i1 / l = %s \u00B7 %s / %s = %s: each ampere goes N1 times through "
                "the ring, and the path l shares it out",
                show(turns, "").words, show(amplitude, "A").words, show(length, "m").words,
                show(cabs(loop->series.field[1]), "A/m").words);
        explain_add(out, "The other harmonics go the same way, each at its own k \u00B7 f. H is "
                         "their sum.");
    } else if (!is_field) {
        const double unit = add_unit(out, input, get_excitation_unit(input));
        const double current = add_current(out, input, "", unit);
        explain_add(out, "H = N1 \u00B7 i / l = %s \u00B7 %s / %s = %s", show(turns, "").words,
            show(current, "A").words, show(length, "m").words,
            show(turns * current / length, "A/m").words);
    }
    if (is_field)
        explain_add(out, "Hm = (max H \u2212 min H) / 2 = %s: half of what H swings",
            show_figure(loop, FIGURE_FIELD_PEAK).words);
    else
        explain_add(out,
            "Hm = N1 \u00B7 i / l = %s \u00B7 %s / %s = %s, where i is half of what the current "
            "swings from its lowest to its highest value",
            show(turns, "").words, show(hm * length / turns, "A").words, show(length, "m").words,
            show_figure(loop, FIGURE_FIELD_PEAK).words);
    if (explain_has(loop, FIGURE_FIELD_BIAS))
        explain_add(out, "H0 = %s: its mean over a cycle, kept (bias: keep)",
            show_figure(loop, FIGURE_FIELD_BIAS).words);
    add_repeat(out, &job->rig.field_repeat, "H");
}

/* From volts or linkage to flux density, before delay, air and field. Gives the amplitude, T. */
static double add_density(struct text *out, const struct loop_job *job,
    const struct conversion *how, const char *index, double amplitude)
{
    const struct rig_input *input = &job->rig.pickup;
    const double turns = explain_find_winding(job)->secondary_turns.value;
    const double area = job->specimen.area_m2, f = explain_get(&job->loop, FIGURE_FREQUENCY);
    if (how->integrator_s > 0) {
        const double w = 2 * PI * f * how->integrator_s, factor = sqrt(1 + w * w);
        explain_add(out,
            "The passive integrator R C = %s has weakened e1 by \u221A(1 + (2\u03C0 f R C)\u00B2) "
            "= %s, undone: e1 = %s",
            show(how->integrator_s, "s").words, show(factor, "").words,
            show(amplitude * factor, "V").words);
        amplitude *= factor;
    }
    if (input->fluxmeter.is_present) {
        explain_add(out, "\u03A8%s = e%s \u00B7 %s = %s: flux linkage, by the fluxmeter", index,
            index, show(input->fluxmeter.value, "Wb/V").words,
            show(amplitude * input->fluxmeter.value, "Wb").words);
        amplitude *= input->fluxmeter.value;
    }
    if (how->pickup == PICKUP_VOLTAGE) {
        const double density = amplitude / (2 * PI * f * turns * area);
        explain_add(out,
            "B1 = e1 / (2\u03C0 f N2 A) = %s / (2\u03C0 \u00B7 %s \u00B7 %s \u00B7 %s) = %s: the "
            "voltage of a coil is N2 times what its flux changes in a second; integrating divides "
            "harmonic k by 2\u03C0 k f",
            show(amplitude, "V").words, show(f, "Hz").words, show(turns, "").words,
            show_area(area).words, show(density, "T").words);
        return density;
    }
    if (how->pickup == PICKUP_B || how->pickup == PICKUP_J)
        return amplitude;
    explain_add(out, "B%s = \u03A8%s / (N2 A) = %s / (%s \u00B7 %s) = %s", index, index,
        show(amplitude, "Wb").words, show(turns, "").words, show_area(area).words,
        show(amplitude * how->linkage_to_density, "T").words);
    return amplitude * how->linkage_to_density;
}

static void add_air(struct text *out, const struct loop_job *job, const struct conversion *how,
    double field, const char *symbol)
{
    const double air = MAGNETIC_CONSTANT * field * how->air_share;
    const double bm = explain_get(&job->loop, FIGURE_FLUX_DENSITY_PEAK);
    if (how->pickup == PICKUP_LINKAGE_J || how->pickup == PICKUP_J)
        explain_add(out, "That is the polarization J; B = J + \u00B5\u2080 H.");
    if (how->air_share == 0) {
        if (how->pickup <= PICKUP_LINKAGE)
            explain_add(out, "No area of the pickup turns is given (secondary_area): flux in the "
                             "air between turns and steel counts as if it were in the steel.");
        return;
    }
    explain_add(out,
        "The pickup turns enclose A2 = %s, more than the steel. The air between carries "
        "\u00B5\u2080 "
        "H, seen as \u00B5\u2080 %s (A2 \u2212 A) / A = %s; it is taken off, in step with H. It is "
        "%s %% of Bm.",
        show_area(explain_find_winding(job)->secondary_area.value).words, symbol,
        show(air, "T").words, show(round(1e4 * air / bm) / 100, "").words);
}

static void add_peaks(struct text *out, const struct loop *loop)
{
    const double hm = explain_get(loop, FIGURE_FIELD_PEAK);
    struct fourier_extremes ends;
    struct error err = {0};
    explain_add(out, "Centring: an integral does not know its zero. B is shifted until its highest "
                     "and its lowest value lie equally far from 0, and J likewise.");
    if (!loop->is_trace &&
        !fourier_find_extremes(loop->series.flux_density, loop->series.harmonics, &ends, &err))
        explain_add(out, "Bm = (max B \u2212 min B) / 2 = (%s \u2212 (%s)) / 2 = %s",
            show(ends.maximum, "T").words, show(ends.minimum, "T").words,
            show_figure(loop, FIGURE_FLUX_DENSITY_PEAK).words);
    else
        explain_add(out, "Bm = (max B \u2212 min B) / 2 = %s",
            show_figure(loop, FIGURE_FLUX_DENSITY_PEAK).words);
    explain_add(out,
        "Jm = (max J \u2212 min J) / 2 = %s, of J = B \u2212 \u00B5\u2080 H: what the steel itself "
        "adds. At the peak \u00B5\u2080 Hm is %s.",
        show_figure(loop, FIGURE_POLARIZATION_PEAK).words, show(MAGNETIC_CONSTANT * hm, "T").words);
}

static const char *get_pickup_unit(const struct rig_input *input)
{
    return input->quantity == INPUT_VOLTAGE        ? "V"
           : input->quantity == INPUT_FLUX_LINKAGE ? "Wb"
                                                   : "T";
}

static const char *get_pickup_name(const struct rig_input *input)
{
    return input->quantity == INPUT_VOLTAGE        ? "e"
           : input->quantity == INPUT_FLUX_LINKAGE ? "\u03A8"
           : input->quantity == INPUT_FLUX_DENSITY ? "B"
                                                   : "J";
}

void explain_add_flux(struct text *out, const struct loop_job *job, const struct conversion *how)
{
    const struct loop *loop = &job->loop;
    const struct rig_input *input = &job->rig.pickup;
    explain_add_heading(out, "Flux density B, from the pickup");
    if (loop->is_trace) {
        if (how->pickup <= PICKUP_LINKAGE_J) {
            const double unit = add_unit(out, input, get_pickup_unit(input));
            (void)add_density(out, job, how, "", unit);
        }
        add_air(out, job, how, explain_get(loop, FIGURE_FIELD_PEAK), "Hm");
        add_peaks(out, loop);
        add_repeat(out, &job->rig.flux_density_repeat, "B");
        return;
    }
    const double amplitude = add_input(out, job, input, get_pickup_name(input),
        cabs(loop->basis.recorded.flux_density[1]), how->pickup_corner_Hz, get_pickup_unit(input));
    if (loop->is_reversed)
        explain_add(out, "The loop ran backwards: the pickup's sign was turned.");
    (void)add_density(out, job, how, "1", amplitude);
    if (how->pickup_delay_s != 0) {
        const double f = explain_get(loop, FIGURE_FREQUENCY);
        explain_add(out,
            "The pickup is sampled %s after the excitation. At f that is 360\u00B0 \u00B7 f \u00B7 "
            "delay = 360\u00B0 \u00B7 %s \u00B7 %s = %s (k times that for harmonic k); it is "
            "turned "
            "back.",
            show(how->pickup_delay_s, "s").words, show(f, "Hz").words,
            show(how->pickup_delay_s, "s").words, show_angle(360 * f * how->pickup_delay_s).words);
    }
    add_air(out, job, how, cabs(loop->series.field[1]), "H1");
    explain_add(out, "What is left of the fundamental: B1 = %s. B is the sum of all harmonics.",
        show(cabs(loop->series.flux_density[1]), "T").words);
    add_peaks(out, loop);
    add_repeat(out, &job->rig.flux_density_repeat, "B");
}
