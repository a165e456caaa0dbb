// SPDX-License-Identifier: GPL-3.0-or-later
#include "calibrate/coil.h"

#include <complex.h>
#include <math.h>

#include "calibrate/doubt.h"
#include "calibrate/response.h"
#include "loop/convert.h"
#include "quantity/constant.h"

enum { PRODUCT, AREA, BLOCKS_LEAST = 4 };

static const double STEEL_LIMIT = 10.0; /* areas of turns over the ring's section: more is steel */
static const double ANGLE_DEVIATIONS = 3.0;
static const double TURN = 6.283185307179586476925286766559;
static const double DEGREE = 57.295779513082320876798154814105;

/* What the area is computed from; rig and specimen are copies that may be moved. */
struct coil {
    const struct take *take;
    const struct tones *tones;
    struct rig rig;
    struct specimen specimen;
    struct fourier_loop series; /* for the work */
    size_t block;               /* TONES_WHOLE, or one block alone */
    double angle;               /* radian: flux ahead of the field at the strongest tone */
    double angle_Hz;
};

static struct winding *find_winding(struct coil *coil)
{
    return coil->specimen.winding.is_present ? &coil->specimen.winding : &coil->rig.winding;
}

static double complex *get_coefficients(const struct coil *coil, int channel)
{
    const struct periodic_fit *fit = &coil->take->fit;
    return coil->block == TONES_WHOLE ? fit->coefficient[channel]
                                      : fit->blocks[coil->block].coefficient[channel];
}

/* Least squares of linkage = product mu0 H over the tones. The linkage is an integral of what was
 * recorded with even noise: tones weigh by the square of their frequency. */
static void sum_up(struct coil *coil, double density_to_linkage, double *product)
{
    const double f = coil->take->fit.frequency_Hz;
    double above = 0.0, below = 0.0, largest = 0.0;
    for (size_t n = 0; n < coil->tones->count; n++) {
        const size_t k = (size_t)lround(coil->tones->list[n].frequency_Hz / f);
        const double weight = (double)k * (double)k;
        const double complex linkage = density_to_linkage * coil->series.flux_density[k];
        const double complex field = MAGNETIC_CONSTANT * coil->series.field[k];
        const double part = weight * creal(field * conj(field));
        above += weight * creal(linkage * conj(field));
        below += part;
        if (part > largest) {
            largest = part;
            coil->angle = carg(linkage / field);
            coil->angle_Hz = coil->tones->list[n].frequency_Hz;
        }
    }
    *product = above / below;
}

static enum status compute(void *user, double results[DOUBT_RESULTS], struct error *err)
{
    struct coil *coil = user;
    const struct reading *reading = &coil->take->reading;
    const struct winding *winding = find_winding(coil);
    struct conversion conversion;
    enum status status = specimen_compute_geometry(&coil->specimen, err);
    if (status == STATUS_OK) {
        status = conversion_init(&conversion, &coil->rig, &coil->specimen, reading->info,
            reading->channel[0], reading->channel[1], err);
    }
    if (status != STATUS_OK) {
        return status;
    }
    if (conversion.pickup > PICKUP_LINKAGE) {
        status = fail(err, STATUS_INPUT, "record the pickup's voltage or its flux linkage",
            "the pickup's quantity does not tell the area of its turns");
        return setup_name_fault(coil->rig.file, status, err);
    }
    conversion.air_share = 0.0;
    conversion_apply(&conversion, coil->take->fit.frequency_Hz, get_coefficients(coil, 0),
        get_coefficients(coil, 1), &coil->series);
    sum_up(coil, 1.0 / conversion.linkage_to_density, &results[PRODUCT]);
    results[AREA] = results[PRODUCT] / winding->secondary_turns.value;
    return STATUS_OK;
}

/* The scatter of the product's mean over the blocks; 0 when there are too few. */
static enum status get_scatter(struct coil *coil, double *scatter, struct error *err)
{
    const size_t count = coil->take->fit.block_count;
    double sum = 0.0, squares = 0.0;
    enum status status = STATUS_OK;
    for (size_t b = 0; status == STATUS_OK && b < count; b++) {
        double results[DOUBT_RESULTS] = {0};
        coil->block = b;
        status = compute(coil, results, err);
        const double step = results[PRODUCT] - sum / fmax((double)b, 1.0);
        squares += b > 0 ? step * step * (double)b / ((double)b + 1.0) : 0.0;
        sum += results[PRODUCT];
    }
    coil->block = TONES_WHOLE;
    *scatter = count >= BLOCKS_LEAST ? sqrt(squares / ((double)count - 1.0) / (double)count) : 0.0;
    return status;
}

/* Relative, of the tones together. */
static double get_noise(const struct tones *tones)
{
    double weight = 0.0;
    for (size_t n = 0; n < tones->count; n++) {
        const struct tone *tone = &tones->list[n];
        weight += 1.0 / (tone->variance[0] / pow(cabs(tone->x[0]), 2.0) +
                            tone->variance[1] / pow(cabs(tone->x[1]), 2.0));
    }
    return 1.0 / sqrt(weight);
}

static enum status get_doubt(struct coil *coil, double variances[DOUBT_RESULTS], struct error *err)
{
    struct rig_input *excitation = &coil->rig.excitation, *pickup = &coil->rig.pickup;
    struct winding *winding = find_winding(coil);
    struct quantity *const scales[] = {&excitation->full_scale, &pickup->full_scale};
    struct quantity *const values[] = {&excitation->shunt, &excitation->inductance,
        &excitation->shunt_coefficient, &excitation->shunt_reference, &excitation->shunt_actual,
        &excitation->input_resistance, &excitation->source_resistance, &pickup->input_resistance,
        &pickup->source_resistance, &excitation->transfer, &excitation->divider,
        &excitation->corner, &pickup->divider, &pickup->corner, &pickup->integrator_resistance,
        &pickup->integrator_capacitance, &pickup->fluxmeter, &coil->rig.corner,
        &coil->rig.pickup_delay, &winding->primary_turns, &winding->secondary_turns,
        &coil->specimen.outer_diameter, &coil->specimen.inner_diameter};
    const enum status status =
        doubt_add(values, sizeof values / sizeof values[0], compute, coil, variances, err);
    if (status != STATUS_OK) {
        return status;
    }
    return coil->rig.has_same_calibrator
               ? doubt_add_pair(scales[0], scales[1], compute, coil, variances, err)
               : doubt_add(scales, 2, compute, coil, variances, err);
}

static void add_notes(
    const struct coil *coil, double area, double noise, struct calibration *calibration)
{
    const double turn = TURN * coil->angle_Hz;
    const double u_delay = quantity_get_uncertainty(&coil->rig.pickup_delay);
    const double limit = ANGLE_DEVIATIONS * hypot(noise, turn * u_delay);
    if (area > STEEL_LIMIT * coil->specimen.area_m2) {
        notes_add(&calibration->notes, "steel", NOTE_WARNING,
            "take the ring out and put a former of wood or plastic in its place",
            "the area is %.3g times the ring's section: is there steel in the coil?",
            area / coil->specimen.area_m2);
    }
    if (fabs(coil->angle) > limit) {
        notes_add(&calibration->notes, "delay", NOTE_WARNING,
            "calibrate the pickup delay by a loopback; look for metal near the coil, in which eddy "
            "currents flow",
            "the flux is %.3g degree ahead of the field at %.4g Hz, as a delay of %.3g us would "
            "make it; delay and noise explain %.3g degree",
            DEGREE * coil->angle, coil->angle_Hz, 1e6 * coil->angle / turn, DEGREE * limit);
    }
}

static enum status add_findings(
    struct coil *coil, struct calibration *calibration, struct error *err)
{
    double results[DOUBT_RESULTS] = {0}, variances[DOUBT_RESULTS] = {0}, scatter = 0.0;
    enum status status = get_scatter(coil, &scatter, err);
    if (status == STATUS_OK) {
        status = get_doubt(coil, variances, err);
    }
    if (status == STATUS_OK) {
        status = compute(coil, results, err);
    }
    if (status != STATUS_OK) {
        return status;
    }
    if (!(results[PRODUCT] > 0.0)) {
        return fail(err, STATUS_CAPTURE,
            "turn the pickup coil, or set inputs.pickup.invert: yes, as in the measurement",
            "the flux of the empty coil runs against the field");
    }
    const double noise = get_noise(coil->tones);
    const double random = fmax(noise, scatter / results[PRODUCT]);
    (void)calibration_add(calibration, "area_turns", FINDING_SQUARE_MILLIMETRE, results[PRODUCT],
        hypot(sqrt(variances[PRODUCT]), random * results[PRODUCT]), "area times turns, N2 A2");
    calibration_add(calibration, "secondary_area", FINDING_SQUARE_MILLIMETRE, results[AREA],
        hypot(sqrt(variances[AREA]), random * results[AREA]), "area of the pickup turns")
        ->key_path = "winding.secondary_area";
    (void)calibration_add(
        calibration, "strongest_tone", FINDING_HERTZ, coil->angle_Hz, 0.0, "strongest tone");
    add_notes(coil, results[AREA], noise, calibration);
    return calibration->notes.failed ? fail_memory(err) : STATUS_OK;
}

enum status coil_calibrate(
    const struct coil_options *options, struct calibration *calibration, struct error *err)
{
    struct take take = {0};
    struct tones tones = {0};
    struct coil coil = {.take = &take,
        .tones = &tones,
        .rig = *options->rig,
        .specimen = *options->specimen,
        .block = TONES_WHOLE};
    enum status status = take_read_two(
        &(struct take_options){
            .path = options->capture, .rig = options->rig, .frequency_Hz = options->frequency_Hz},
        &take, err);
    if (status == STATUS_OK) {
        status = tones_create(&tones, &take, TONES_WHOLE, err);
        take_name_fault(options->capture, status, err);
    }
    if (status == STATUS_OK) {
        status = fourier_loop_create(&coil.series, take.fit.harmonics, err);
    }
    if (status == STATUS_OK) {
        status = add_findings(&coil, calibration, err);
        take_name_fault(options->capture, status, err);
    }
    fourier_loop_clear(&coil.series);
    tones_clear(&tones);
    take_clear(&take);
    return status;
}
