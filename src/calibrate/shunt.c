// SPDX-License-Identifier: GPL-3.0-or-later
/* With the excitation's x1 = (R + i w L) i / (F1 d1) / (1 - i fc1/f) and the pickup's x2 = (R0 + i
 * w L0) i e^{i w tau} / (F2 d2) / (1 - i fc2/f) the current cancels in their ratio; its product
 * with R0 + i w L0 has R as its real part and w L as its imaginary one, tone by tone. */
#include "calibrate/shunt.h"

#include <complex.h>
#include <math.h>

#include "calibrate/doubt.h"
#include "calibrate/response.h"

enum { RESISTANCE, INDUCTANCE, BLOCKS_LEAST = 4 };

static const double TURN = 6.283185307179586476925286766559;
static const double DEGREE = 57.295779513082320876798154814105;
static const double DEVIATIONS = 2.0;     /* from which on an inductance shows */
static const double CHI_DEVIATIONS = 5.0; /* by which a chi-square is above its degrees by chance */

/* What the shunt is computed from; the rig is a copy that may be moved. */
struct comparison {
    const struct tones *tones;
    struct rig rig;
    struct quantity reference, constant;
    double sign; /* -1: one of the voltages is turned */
};

static double get_corner(const struct rig *rig, const struct rig_input *input)
{
    return input->corner.is_present ? input->corner.value
           : rig->corner.is_present ? rig->corner.value
                                    : 0.0;
}

/* Volts at the sensor for one unit recorded. */
static double get_gain(const struct rig_input *input)
{
    return rig_input_get_load(input) *
           (input->full_scale.is_present ? input->full_scale.value : 1.0) * input->divider.value *
           (input->is_inverted ? -1.0 : 1.0);
}

/* R + i w L as one tone tells it. */
static double complex get_impedance(const struct comparison *comparison, const struct tone *tone)
{
    const struct rig *rig = &comparison->rig;
    const double f = tone->frequency_Hz, w = TURN * f;
    const double delay = rig->pickup_delay.is_present ? rig->pickup_delay.value : 0.0;
    const double complex v1 =
        get_gain(&rig->excitation) * tone->x[0] * (1.0 - I * get_corner(rig, &rig->excitation) / f);
    const double complex v2 = get_gain(&rig->pickup) * tone->x[1] *
                              (1.0 - I * get_corner(rig, &rig->pickup) / f) * cexp(-I * w * delay);
    return comparison->sign * v1 / v2 * comparison->reference.value *
           (1.0 + I * w * comparison->constant.value);
}

/* Of one tone, relative: of either part. */
static double get_variance(const struct tone *tone)
{
    double variance = 0.0;
    for (int m = 0; m < 2; m++) {
        variance += tone->variance[m] / creal(tone->x[m] * conj(tone->x[m]));
    }
    return variance;
}

static enum status compute(void *user, double results[DOUBT_RESULTS], struct error *err)
{
    const struct comparison *comparison = user;
    double real = 0.0, weights = 0.0, slope = 0.0, squares = 0.0;
    (void)err;
    for (size_t n = 0; n < comparison->tones->count; n++) {
        const struct tone *tone = &comparison->tones->list[n];
        const double complex z = get_impedance(comparison, tone);
        const double weight = 1.0 / get_variance(tone), w = TURN * tone->frequency_Hz;
        real += weight * creal(z);
        weights += weight;
        slope += weight * w * cimag(z);
        squares += weight * w * w;
    }
    results[RESISTANCE] = real / weights;
    results[INDUCTANCE] = slope / squares;
    return STATUS_OK;
}

/* What noise alone makes, and by how much the tones' departures are above it. */
static double get_noise(
    const struct comparison *comparison, const double *results, double u[DOUBT_RESULTS])
{
    const size_t count = comparison->tones->count;
    double weights = 0.0, squares = 0.0, chi_square = 0.0;
    for (size_t n = 0; n < count; n++) {
        const struct tone *tone = &comparison->tones->list[n];
        const double weight = 1.0 / get_variance(tone), w = TURN * tone->frequency_Hz;
        const double complex off =
            get_impedance(comparison, tone) - (results[RESISTANCE] + I * w * results[INDUCTANCE]);
        weights += weight;
        squares += weight * w * w;
        chi_square += weight * creal(off * conj(off));
    }
    u[RESISTANCE] = results[RESISTANCE] / sqrt(weights);
    u[INDUCTANCE] = results[RESISTANCE] / sqrt(squares);
    return count > 1 ? chi_square / pow(results[RESISTANCE], 2.0) / (2.0 * (double)count - 2.0)
                     : 0.0;
}

/* The scatter of the mean over the blocks; 0 when there are too few. */
static enum status get_scatter(const struct comparison *comparison, const struct take *take,
    double scatter[DOUBT_RESULTS], struct error *err)
{
    const size_t count = take->fit.block_count;
    double sum[DOUBT_RESULTS] = {0}, squares[DOUBT_RESULTS] = {0};
    for (size_t b = 0; count >= BLOCKS_LEAST && b < count; b++) {
        struct comparison block = *comparison;
        struct tones tones;
        double results[DOUBT_RESULTS];
        enum status status = tones_create(&tones, take, b, err);
        if (status != STATUS_OK) {
            return status;
        }
        block.tones = &tones;
        status = compute(&block, results, err);
        tones_clear(&tones);
        for (int i = 0; status == STATUS_OK && i < DOUBT_RESULTS; i++) {
            const double step = results[i] - sum[i] / fmax((double)b, 1.0);
            squares[i] += b > 0 ? step * step * (double)b / ((double)b + 1.0) : 0.0;
            sum[i] += results[i];
        }
    }
    for (int i = 0; i < DOUBT_RESULTS; i++) {
        scatter[i] =
            count >= BLOCKS_LEAST ? sqrt(squares[i] / ((double)count - 1.0) / (double)count) : 0.0;
    }
    return STATUS_OK;
}

static enum status get_doubt(
    struct comparison *comparison, double variances[DOUBT_RESULTS], struct error *err)
{
    struct rig *rig = &comparison->rig;
    struct rig_input *excitation = &rig->excitation, *pickup = &rig->pickup;
    struct quantity *const scales[] = {&excitation->full_scale, &pickup->full_scale};
    struct quantity *const values[] = {&comparison->reference, &comparison->constant,
        &excitation->divider, &excitation->corner, &excitation->input_resistance,
        &excitation->source_resistance, &pickup->divider, &pickup->corner,
        &pickup->input_resistance, &pickup->source_resistance, &rig->corner, &rig->pickup_delay};
    const enum status status =
        doubt_add(values, sizeof values / sizeof *values, compute, comparison, variances, err);
    if (status != STATUS_OK) {
        return status;
    }
    return rig->has_same_calibrator
               ? doubt_add_pair(scales[0], scales[1], compute, comparison, variances, err)
               : doubt_add(scales, 2, compute, comparison, variances, err);
}

static void add_notes(const struct comparison *comparison, const double *results, const double *u,
    double excess, struct calibration *calibration)
{
    /* of a chi-square with n degrees over n, by Wilson and Hilferty (PNAS 17 (1931) 684) */
    const double n = 2.0 * (double)comparison->tones->count - 2.0,
                 part = 2.0 / (9.0 * fmax(n, 1.0));
    const double limit = pow(1.0 - part + CHI_DEVIATIONS * sqrt(part), 3.0);
    if (excess > limit) {
        notes_add(&calibration->notes, "varies", NOTE_WARNING,
            "calibrate corners and delay by a loopback first; look for a loop that the leads make, "
            "and connect shunt and resistor by four wires; the uncertainty was widened",
            "the tones do not follow one resistance and one inductance (chi-square %.3g times its "
            "degrees, by chance below %.3g)",
            excess, limit);
    }
    if (!(results[INDUCTANCE] > DEVIATIONS * u[INDUCTANCE])) {
        notes_add(&calibration->notes, "unidentified", NOTE_INFO,
            results[INDUCTANCE] < -DEVIATIONS * u[INDUCTANCE]
                ? "calibrate the pickup delay again, or state the known resistor's --time-constant"
                : "higher tones and a delay that is better known would tell it",
            "the inductance does not show: %.3g nH, with a standard uncertainty of %.3g nH; it was "
            "left out",
            1e9 * results[INDUCTANCE], 1e9 * u[INDUCTANCE]);
    }
    if (comparison->sign < 0.0) {
        notes_add(&calibration->notes, "reversed", NOTE_INFO,
            "nothing to do: so it is when the ground of both inputs lies between the two resistors",
            "the voltages of shunt and known resistor run against each other; only their sizes "
            "count");
    }
    if (!comparison->rig.has_same_calibrator) {
        notes_add(&calibration->notes, "two-meters", NOTE_INFO,
            "after a loopback one meter stands behind both: write same_calibrator: yes below "
            "inputs, and its error cancels",
            "the full scales of both inputs count as found with two instruments");
    }
}

static enum status add_findings(struct comparison *comparison, const struct take *take,
    struct calibration *calibration, struct error *err)
{
    double results[DOUBT_RESULTS], variances[DOUBT_RESULTS] = {0}, noise[DOUBT_RESULTS];
    double scatter[DOUBT_RESULTS], u[DOUBT_RESULTS];
    enum status status = get_doubt(comparison, variances, err);
    if (status == STATUS_OK) {
        status = get_scatter(comparison, take, scatter, err);
    }
    if (status == STATUS_OK) {
        status = compute(comparison, results, err);
    }
    if (status != STATUS_OK) {
        return status;
    }
    const double excess = get_noise(comparison, results, noise);
    for (int i = 0; i < DOUBT_RESULTS; i++) {
        u[i] = hypot(sqrt(variances[i]), fmax(noise[i] * sqrt(fmax(excess, 1.0)), scatter[i]));
    }
    const struct tones *tones = comparison->tones;
    const double highest = tones->list[tones->count - 1].frequency_Hz;
    const double r = results[RESISTANCE], l = results[INDUCTANCE],
                 to_degree = DEGREE * TURN * highest;
    /* it is as warm as in a measurement; the rig wants it at its reference temperature */
    const struct rig_input *input = &comparison->rig.excitation;
    const double warm = rig_input_get_shunt(input) / input->shunt.value;
    calibration_add(calibration, "shunt", FINDING_OHM, r / warm, u[RESISTANCE] / warm,
        "resistance of the shunt%s", warm != 1.0 ? " at its reference temperature" : "")
        ->key_path = "inputs.excitation.shunt";
    calibration_add(
        calibration, "inductance", FINDING_HENRY, l, u[INDUCTANCE], "inductance of the shunt")
        ->key_path = l > DEVIATIONS * u[INDUCTANCE] ? "inputs.excitation.inductance" : NULL;
    (void)calibration_add(calibration, "time_constant", FINDING_SECOND, l / r, u[INDUCTANCE] / r,
        "  as a time constant, L/R");
    (void)calibration_add(calibration, "angle", FINDING_DEGREE, to_degree * l / r,
        to_degree * u[INDUCTANCE] / r, "  as an angle at the highest tone");
    (void)calibration_add(calibration, "lowest_tone", FINDING_HERTZ, tones->list[0].frequency_Hz,
        0.0, "%zu tone%s, the lowest at", tones->count, tones->count == 1 ? "" : "s");
    (void)calibration_add(
        calibration, "highest_tone", FINDING_HERTZ, highest, 0.0, "  the highest at");
    add_notes(comparison, results, u, excess, calibration);
    return calibration->notes.failed ? fail_memory(err) : STATUS_OK;
}

static enum status check_rig(const struct rig *rig, const struct take *take, struct error *err)
{
    if (rig->excitation.quantity != INPUT_VOLTAGE || rig->pickup.quantity != INPUT_VOLTAGE) {
        return fail(err, STATUS_INPUT, "leave 'quantity' out of the inputs for this recording",
            "a shunt is compared by two voltages, and the rig says that an input carries something "
            "else");
    }
    if (take->is_audio &&
        !(rig->excitation.full_scale.is_present && rig->pickup.full_scale.is_present)) {
        return fail(err, STATUS_INPUT, "run 'calibrate full-scale' and 'calibrate loopback' first",
            "the rig lacks the full scale of an input, and without their ratio a shunt cannot be "
            "compared");
    }
    return STATUS_OK;
}

enum status shunt_calibrate(
    const struct shunt_options *options, struct calibration *calibration, struct error *err)
{
    struct take take = {0};
    struct tones tones = {0};
    struct comparison comparison = {.tones = &tones,
        .rig = *options->rig,
        .reference = options->reference,
        .constant = options->constant,
        .sign = 1.0};
    enum status status = take_read_two(
        &(struct take_options){
            .path = options->capture, .rig = options->rig, .frequency_Hz = options->frequency_Hz},
        &take, err);
    if (status == STATUS_OK) {
        status = setup_name_fault(options->rig->file, check_rig(options->rig, &take, err), err);
    }
    if (status == STATUS_OK) {
        status = tones_create(&tones, &take, TONES_WHOLE, err);
        take_name_fault(options->capture, status, err);
    }
    if (status == STATUS_OK) {
        if (!comparison.rig.pickup.divider.is_present) {
            comparison.rig.pickup.source_resistance = options->reference; /* not the coil's */
        }
        comparison.sign = creal(get_impedance(&comparison, &tones.list[0])) < 0.0 ? -1.0 : 1.0;
        status = add_findings(&comparison, &take, calibration, err);
        take_name_fault(options->capture, status, err);
    }
    tones_clear(&tones);
    take_clear(&take);
    return status;
}
