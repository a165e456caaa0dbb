// SPDX-License-Identifier: GPL-3.0-or-later
/* Conventions of the measurement: i = v1 divider / shunt, H = N1 i / l, v2 = N2 dPhi/dt,
 * Phi = A B + mu0 H (A2 - A), J = B - mu0 H; the pickup sample of row n is v2(t_n + delay). A
 * first-order AC coupling with corner fc passes jf/fc / (1 + jf/fc); a passive RC integrator passes
 * 1 / (1 + j 2 pi f RC). A shunt with an inductance has v1 = (R + j 2 pi f L) i / divider. */
#include "loop/convert.h"

#include <math.h>

#include "quantity/constant.h"

static const double TURN = 6.283185307179586476925286766559;
static const double MU0 = MAGNETIC_CONSTANT;

static enum status check_input(const struct rig_input *input, const char *name,
    const struct capture_info *info, size_t channel, struct error *err)
{
    const struct capture_channel *column = &info->channels[channel];
    const enum dimension wanted = input_quantity_get_dimension(input->quantity);
    if (info->kind == CAPTURE_AUDIO) {
        if (input->quantity != INPUT_VOLTAGE) {
            return fail(err, STATUS_INPUT, "leave 'quantity' out of the rig for audio files",
                "inputs.%s.quantity: '%s' is an audio file, whose samples are voltages", name,
                info->file);
        }
        if (!input->full_scale.is_present) {
            return fail(err, STATUS_INPUT,
                "give the voltage at digital full scale, such as full_scale: 1.550 V",
                "inputs.%s.full_scale is missing in the rig, and '%s' is an audio file", name,
                info->file);
        }
    } else if (column->has_unit && column->dimension != wanted) {
        return fail(err, STATUS_INPUT,
            "name another column in inputs.channel, or set its quantity (voltage, current, field "
            "strength; voltage, flux linkage, flux density, polarization)",
            "inputs.%s: column '%s' of '%s' is in '%s', but the rig expects %s (%s)", name,
            column->name, info->file, column->unit, dimension_get_name(wanted),
            dimension_get_unit(wanted));
    }
    return STATUS_OK;
}

/* Volts (or what the quantity is) for one unit recorded: sign, divider and the input's own load
 * included. */
static double find_input_gain(const struct rig_input *input, bool is_audio)
{
    return (is_audio ? input->full_scale.value : 1.0) *
           (input->divider.is_present ? input->divider.value : 1.0) * rig_input_get_load(input) *
           (input->is_inverted ? -1.0 : 1.0);
}

static const struct winding *find_winding(const struct rig *rig, const struct specimen *specimen)
{
    return specimen->winding.is_present ? &specimen->winding : &rig->winding;
}

static enum status require_winding(
    const struct winding *winding, const struct quantity *turns, const char *key, struct error *err)
{
    if (winding->is_present && turns->is_present) {
        return STATUS_OK;
    }
    return fail(err, STATUS_INPUT, "count the turns and write them into the winding",
        "winding.%s is given neither by the specimen nor by the rig", key);
}

static enum status init_excitation(struct conversion *conversion, const struct rig *rig,
    const struct specimen *specimen, double gain, struct error *err)
{
    const struct rig_input *input = &rig->excitation;
    const struct winding *winding = find_winding(rig, specimen);
    if (input->quantity == INPUT_VOLTAGE) {
        const double shunt = rig_input_get_shunt(input);
        gain *= input->shunt.is_present ? 1.0 / shunt : input->transfer.value;
        conversion->shunt_s = input->inductance.is_present ? input->inductance.value / shunt : 0.0;
    }
    if (input->quantity != INPUT_FIELD_STRENGTH) {
        const enum status status =
            require_winding(winding, &winding->primary_turns, "primary_turns", err);
        if (status != STATUS_OK) {
            return status;
        }
        if (!(specimen->path_length_m > 0.0)) {
            return fail(err, STATUS_INPUT, "give ring.outer_diameter and ring.inner_diameter",
                "the specimen's path length is not known, so current gives no field");
        }
        gain *= winding->primary_turns.value / specimen->path_length_m;
    }
    conversion->excitation_gain = gain;
    conversion->keeps_bias = input->keeps_bias;
    return STATUS_OK;
}

static enum status init_pickup(struct conversion *conversion, const struct rig *rig,
    const struct specimen *specimen, double gain, struct error *err)
{
    const struct rig_input *input = &rig->pickup;
    const struct winding *winding = find_winding(rig, specimen);
    conversion->pickup = input->quantity == INPUT_FLUX_DENSITY   ? PICKUP_B
                         : input->quantity == INPUT_POLARIZATION ? PICKUP_J
                         : input->quantity == INPUT_VOLTAGE && !input->fluxmeter.is_present
                             ? PICKUP_VOLTAGE
                         : input->air_flux_removed ? PICKUP_LINKAGE_J
                                                   : PICKUP_LINKAGE;
    if (input->fluxmeter.is_present) {
        gain *= input->fluxmeter.value;
    }
    if (input->integrator_resistance.is_present) {
        /* with Rs ahead of R, and Ri beside C: e / v = 1 + (R + Rs) / Ri + i w (R + Rs) C */
        const double resistance =
            input->integrator_resistance.value + input->source_resistance.value;
        conversion->integrator_s =
            resistance * input->integrator_capacitance.value / rig_input_get_load(input);
    }
    conversion->pickup_gain = gain;
    if (conversion->pickup == PICKUP_B || conversion->pickup == PICKUP_J) {
        return STATUS_OK;
    }
    const enum status status =
        require_winding(winding, &winding->secondary_turns, "secondary_turns", err);
    if (status != STATUS_OK) {
        return status;
    }
    if (!(specimen->area_m2 > 0.0)) {
        return fail(err, STATUS_INPUT,
            "give ring.height, or ring.mass and ring.density, beside the diameters",
            "the specimen's cross-section is not known, so flux gives no flux density");
    }
    conversion->linkage_to_density = 1.0 / (winding->secondary_turns.value * specimen->area_m2);
    if (winding->secondary_area.is_present && conversion->pickup != PICKUP_LINKAGE_J) {
        conversion->air_share = winding->secondary_area.value / specimen->area_m2 - 1.0;
    }
    return STATUS_OK;
}

static double find_corner(const struct rig *rig, const struct rig_input *input)
{
    return input->corner.is_present ? input->corner.value
           : rig->corner.is_present ? rig->corner.value
                                    : 0.0;
}

enum status conversion_init(struct conversion *conversion, const struct rig *rig,
    const struct specimen *specimen, const struct capture_info *info, size_t excitation,
    size_t pickup, struct error *err)
{
    enum status status = check_input(&rig->excitation, "excitation", info, excitation, err);
    if (status == STATUS_OK) {
        status = check_input(&rig->pickup, "pickup", info, pickup, err);
    }
    return status != STATUS_OK
               ? setup_name_fault(rig->file, status, err)
               : conversion_set(conversion, rig, specimen, info->kind == CAPTURE_AUDIO, err);
}

enum status conversion_set(struct conversion *conversion, const struct rig *rig,
    const struct specimen *specimen, bool is_audio, struct error *err)
{
    struct conversion fresh = {0};
    const double gain1 = find_input_gain(&rig->excitation, is_audio);
    const double gain2 = find_input_gain(&rig->pickup, is_audio);
    enum status status = init_excitation(&fresh, rig, specimen, gain1, err);
    if (status == STATUS_OK) {
        status = init_pickup(&fresh, rig, specimen, gain2, err);
    }
    if (status != STATUS_OK) { /* the ring is incomplete, or its turns are told by nobody */
        return setup_name_fault(specimen->file, status, err);
    }
    if (rig->is_trace && fresh.pickup == PICKUP_VOLTAGE) {
        status = fail(err, STATUS_INPUT,
            "set inputs.pickup.quantity to flux linkage, flux density or polarization, or give "
            "inputs.pickup.fluxmeter",
            "a trace has no time axis, so a pickup voltage cannot be integrated");
        return setup_name_fault(rig->file, status, err);
    }
    fresh.excitation_corner_Hz = find_corner(rig, &rig->excitation);
    fresh.pickup_corner_Hz = find_corner(rig, &rig->pickup);
    fresh.pickup_delay_s = rig->pickup_delay.is_present ? rig->pickup_delay.value : 0.0;
    *conversion = fresh;
    return STATUS_OK;
}

void conversion_apply(const struct conversion *conversion, double frequency_Hz,
    const double complex *excitation, const double complex *pickup, struct fourier_loop *loop)
{
    loop->field[0] =
        conversion->keeps_bias ? conversion->excitation_gain * creal(excitation[0]) : 0.0;
    loop->flux_density[0] = 0.0;
    for (size_t k = 1; k <= loop->harmonics; k++) {
        const double f = (double)k * frequency_Hz, w = TURN * f;
        loop->field[k] = conversion->excitation_gain * excitation[k] *
                         (1.0 - I * conversion->excitation_corner_Hz / f) /
                         (1.0 + I * w * conversion->shunt_s);
        double complex x =
            conversion->pickup_gain * pickup[k] * (1.0 - I * conversion->pickup_corner_Hz / f) *
            (1.0 + I * w * conversion->integrator_s) * cexp(-I * w * conversion->pickup_delay_s);
        if (conversion->pickup == PICKUP_VOLTAGE) {
            x /= I * w;
        }
        if (conversion->pickup <= PICKUP_LINKAGE_J) {
            x *= conversion->linkage_to_density;
        }
        if (conversion->pickup == PICKUP_LINKAGE_J || conversion->pickup == PICKUP_J) {
            x += MU0 * loop->field[k];
        }
        loop->flux_density[k] = x - MU0 * loop->field[k] * conversion->air_share;
    }
}

void conversion_apply_row(const struct conversion *conversion, double excitation, double pickup,
    double *field, double *flux_density)
{
    const double h = conversion->excitation_gain * excitation;
    double b = conversion->pickup_gain * pickup;
    if (conversion->pickup <= PICKUP_LINKAGE_J) {
        b *= conversion->linkage_to_density;
    }
    if (conversion->pickup == PICKUP_LINKAGE_J || conversion->pickup == PICKUP_J) {
        b += MU0 * h;
    }
    *field = h;
    *flux_density = b - MU0 * h * conversion->air_share;
}
