// SPDX-License-Identifier: GPL-3.0-or-later
#include "calibrate/loopback.h"

#include <complex.h>
#include <math.h>

#include "base/text.h"
#include "calibrate/response.h"

enum { BLOCKS_LEAST = 4 }; /* below, their scatter says nothing */

static const double CHI_DEVIATIONS = 5.0; /* by which a chi-square is above its degrees by chance */
static const double DEVIATIONS = 2.0;     /* from which on a corner shows, or values disagree */
static const double LEAK_DEVIATIONS = 4.0;
static const double SURE_DEVIATIONS = 8.0; /* corners that only second-order effects tell */
static const double START_SHARE = 0.2;     /* of the lowest tone: where to seek corners from */
static const double GAIN_LIMIT = 2e-5;     /* below, the estimator's own limits show */
static const double NOISE_LIMIT = 0.01;    /* r.m.s. of the rest over that of the signal */

/* What is sought, as one list. */
enum { RATIO, DELAY, CORNER1, CORNER2, VALUES };

static void list_values(const struct response *response, double values[VALUES])
{
    values[RATIO] = response->gain;
    values[DELAY] = response->delay_s;
    values[CORNER1] = response->corner_Hz[0];
    values[CORNER2] = response->corner_Hz[1];
}

/* The scatter of the mean over the blocks, each fitted alone; 0 when there are too few. */
static enum status get_scatter(const struct take *take, const struct response *start,
    double scatter[VALUES], struct error *err)
{
    double sum[VALUES] = {0}, squares[VALUES] = {0}, count = 0.0;
    for (size_t b = 0; b < take->fit.block_count; b++) {
        struct tones tones;
        struct response block = *start;
        double values[VALUES];
        struct error reason;
        enum status status = tones_create(&tones, take, b, &reason);
        if (status == STATUS_OK) {
            status = response_fit(&block, &tones, &reason);
            tones_clear(&tones);
        }
        if (status == STATUS_CAPTURE) {
            continue; /* a block may be too short for what the whole tells */
        }
        if (status != STATUS_OK) {
            *err = reason;
            return status;
        }
        list_values(&block, values);
        for (int i = 0; i < VALUES; i++) {
            const double step = values[i] - sum[i] / fmax(count, 1.0);
            squares[i] += count > 0.0 ? step * step * count / (count + 1.0) : 0.0;
            sum[i] += values[i];
        }
        count += 1.0;
    }
    for (int i = 0; i < VALUES; i++) {
        scatter[i] = count >= BLOCKS_LEAST ? sqrt(squares[i] / (count - 1.0) / count) : 0.0;
    }
    return STATUS_OK;
}

static const struct quantity *find_corner(const struct rig *rig, const struct rig_input *input)
{
    return input->corner.is_present ? &input->corner : &rig->corner;
}

/* What the doubt about a corner that is held does to the rest. */
static enum status add_held(struct response *response, const struct response *start,
    const struct tones *tones, int m, const struct quantity *corner, struct error *err)
{
    struct response moved = *start;
    const double u = corner->is_present ? quantity_get_uncertainty(corner) : 0.0;
    if (!(u > 0.0)) {
        return STATUS_OK;
    }
    moved.corner_Hz[m] += u;
    const enum status status = response_fit(&moved, tones, err);
    if (status == STATUS_OK) {
        response->u_gain = hypot(response->u_gain, moved.gain - response->gain);
        response->u_delay_s = hypot(response->u_delay_s, moved.delay_s - response->delay_s);
        if (m == 0) {
            response->u_corner_Hz[0] = u;
            response->u_corner_Hz[1] =
                hypot(response->u_corner_Hz[1], moved.corner_Hz[1] - response->corner_Hz[1]);
        }
    }
    return status;
}

/* By how much a chi-square above its degrees widens an uncertainty. */
static double get_widening(const struct response *response)
{
    const double chi_square = response->chi_square[0] + response->chi_square[1];
    return response->degrees > 0 ? sqrt(fmax(1.0, chi_square / (double)response->degrees)) : 1.0;
}

/* Where nobody knows the excitation's corner, the ratio may still tell both: from different corners
 * and low tones. Else the first answer stands. */
static enum status seek_both(
    const struct tones *tones, struct response *start, struct response *response, struct error *err)
{
    struct response both = *start;
    struct error reason;
    const double difference = response->corner_Hz[1];
    both.seeks_both = true;
    both.corner_Hz[0] = START_SHARE * tones->list[0].frequency_Hz;
    both.corner_Hz[1] = fmax(both.corner_Hz[0] + difference, 0.0);
    const struct response begin = both;
    const enum status status = response_fit(&both, tones, &reason);
    if (status != STATUS_OK) {
        return status == STATUS_CAPTURE ? STATUS_OK : fail_memory(err);
    }
    const double widen = get_widening(&both);
    if (both.seeks_both && both.corner_Hz[0] > SURE_DEVIATIONS * widen * both.u_corner_Hz[0] &&
        both.corner_Hz[1] > SURE_DEVIATIONS * widen * both.u_corner_Hz[1]) {
        *start = begin;
        *response = both;
    }
    return STATUS_OK;
}

/* The whole answer with all that makes it uncertain. */
static enum status fit_all(const struct loopback_options *options, const struct take *take,
    const struct tones *tones, struct response *response, struct error *err)
{
    const struct rig *rig = options->rig;
    const struct quantity *corners[2] = {
        find_corner(rig, &rig->excitation), find_corner(rig, &rig->pickup)};
    struct response start = {.is_flat = options->is_flat,
        .corner_Hz = {corners[0]->is_present ? corners[0]->value : 0.0,
            corners[1]->is_present ? corners[1]->value : 0.0}};
    double scatter[VALUES];
    *response = start;
    enum status status = response_fit(response, tones, err);
    if (status == STATUS_OK && !response->is_flat && !corners[0]->is_present) {
        status = seek_both(tones, &start, response, err);
    }
    if (status == STATUS_OK) {
        status = get_scatter(take, &start, scatter, err);
    }
    if (status != STATUS_OK) {
        return status;
    }
    const double widen = get_widening(response);
    response->u_gain = fmax(widen * response->u_gain, scatter[RATIO]);
    response->u_delay_s = fmax(widen * response->u_delay_s, scatter[DELAY]);
    response->u_corner_Hz[0] = fmax(widen * response->u_corner_Hz[0], scatter[CORNER1]);
    response->u_corner_Hz[1] = fmax(widen * response->u_corner_Hz[1], scatter[CORNER2]);
    if (!response->seeks_both) {
        status = add_held(response, &start, tones, 0, corners[0], err);
    }
    if (status == STATUS_OK && response->holds_corner) {
        status = add_held(response, &start, tones, 1, corners[1], err);
    }
    return status;
}

/* ---- findings ---- */

static void add_full_scale(const struct loopback_options *options, const struct take *take,
    const struct response *response, struct calibration *calibration)
{
    const struct quantity *known = &options->rig->excitation.full_scale;
    const struct quantity *old = &options->rig->pickup.full_scale;
    if (!take->is_audio || !known->is_present) {
        return;
    }
    const double size = fabs(response->gain);
    const double value = known->value / size;
    const double u = hypot(quantity_get_uncertainty(known) / size, value * response->u_gain / size);
    calibration_add(
        calibration, "full_scale_pickup", FINDING_VOLT, value, u, "full scale of the pickup")
        ->key_path = "inputs.pickup.full_scale";
    const double doubt = hypot(u, quantity_get_uncertainty(old));
    if (old->is_present && old->has_uncertainty && fabs(old->value - value) > DEVIATIONS * doubt) {
        notes_add(&calibration->notes, "disagrees", NOTE_WARNING,
            "calibrate the full scale of the excitation again with the meter; was one gain changed "
            "since?",
            "the rig gives the pickup a full scale of %.6g V, but the excitation's and the gain "
            "ratio make it %.6g V: %.1f standard uncertainties apart",
            old->value, value, fabs(old->value - value) / doubt);
    }
}

static void add_corners(const struct loopback_options *options, const struct response *response,
    struct calibration *calibration)
{
    const double *corner = response->corner_Hz, *u = response->u_corner_Hz;
    const bool is_known = find_corner(options->rig, &options->rig->excitation)->is_present;
    if (response->holds_corner) {
        notes_add(&calibration->notes, "unidentified", NOTE_INFO,
            "play a multi-sine or a periodic noise, from some times the corner up",
            "one tone tells delay and coupling only together: the corners were taken as the rig "
            "has them (%.4g Hz and %.4g Hz)",
            corner[0], corner[1]);
        return;
    }
    if (response->seeks_both) {
        calibration_add(calibration, "corner_excitation", FINDING_HERTZ, corner[0], u[0],
            "corner of the excitation")
            ->key_path = corner[0] > DEVIATIONS * u[0] ? "inputs.excitation.corner" : NULL;
        calibration_add(
            calibration, "corner_pickup", FINDING_HERTZ, corner[1], u[1], "corner of the pickup")
            ->key_path = corner[1] > DEVIATIONS * u[1] ? "inputs.pickup.corner" : NULL;
        return;
    }
    const double difference = corner[1] - corner[0];
    const double u_difference = sqrt(fmax(u[1] * u[1] - u[0] * u[0], 0.0));
    (void)calibration_add(calibration, "corner_difference", FINDING_HERTZ, difference,
        fmax(u_difference, 1e-300), "corner: pickup above excitation");
    if (is_known && corner[1] > DEVIATIONS * u[1] && fabs(difference) > DEVIATIONS * u_difference) {
        calibration_add(
            calibration, "corner_pickup", FINDING_HERTZ, corner[1], u[1], "corner of the pickup")
            ->key_path = "inputs.pickup.corner";
    }
    notes_add(&calibration->notes, "unidentified", NOTE_INFO,
        "a multi-sine whose tones are equally large at the inputs tells both: --flat",
        "one signal at both inputs tells the difference of their corners, not the corners: equal "
        "ones cancel; that of the excitation was taken as %.4g Hz%s",
        corner[0], is_known ? "" : ", DC coupled");
}

/* Where the fundamental was missed, most tones count as noise. */
static void note_noise(const struct take *take, struct calibration *calibration)
{
    for (int m = 0; m < 2; m++) {
        double power = 0.0;
        for (size_t k = 1; k <= take->fit.harmonics; k++) {
            power += 0.5 * pow(cabs(take->fit.coefficient[m][k]), 2.0);
        }
        const double share = take->fit.noise_rms[m] / sqrt(power);
        if (share > NOISE_LIMIT) {
            notes_add(&calibration->notes, "noisy", NOTE_WARNING,
                "name the lowest tone, the one all others are multiples of, with --fundamental; or "
                "look for hum and loose leads",
                "the %s has %.3g %% beside the harmonics of %.6g Hz (limit %.3g %%): are there "
                "tones between them?",
                m == 0 ? "excitation" : "pickup", 100.0 * share, take->fit.frequency_Hz,
                100.0 * NOISE_LIMIT);
            return;
        }
    }
}

static void note_misfit(const struct response *response, struct calibration *calibration)
{
    /* of a chi-square with n degrees, by Wilson and Hilferty (PNAS 17 (1931) 684) */
    const double n = fmax(0.5 * (double)response->degrees, 1.0), part = 2.0 / (9.0 * n);
    const double limit = n * pow(1.0 - part + CHI_DEVIATIONS * sqrt(part), 3.0);
    if (response->degrees > 0 && response->chi_square[1] > limit) {
        notes_add(&calibration->notes, "delay-varies", NOTE_WARNING,
            "look for filters that differ (a cable, an anti-hum setting, another kind of input); "
            "the uncertainty was widened",
            "the delay is not the same at all frequencies: at %.4g Hz it departs by %.3g us "
            "(chi-square of the phases %.4g, by chance below %.4g)",
            response->worst_Hz, 1e6 * response->worst_delay_s, response->chi_square[1], limit);
    }
    if (response->degrees > 0 && response->chi_square[0] > limit &&
        fabs(response->worst_gain) > GAIN_LIMIT) {
        notes_add(&calibration->notes, "gain-varies", NOTE_WARNING,
            response->is_flat ? "are the tones really equally large at the inputs? Else leave "
                                "--flat out"
                              : "look for filters that differ; the uncertainty was widened",
            "the gain is not the same at all frequencies: at %.4g Hz it departs by %.3g %% "
            "(chi-square of the sizes %.4g, by chance below %.4g)",
            response->worst_gain_Hz, 100.0 * response->worst_gain, response->chi_square[0], limit);
    }
}

static void add_findings(const struct loopback_options *options, const struct take *take,
    const struct tones *tones, const struct response *response, struct calibration *calibration)
{
    const struct tone *low = &tones->list[0], *high = &tones->list[tones->count - 1];
    (void)calibration_add(calibration, "gain", FINDING_NUMBER, response->gain, response->u_gain,
        "gain: pickup over excitation");
    add_full_scale(options, take, response, calibration);
    calibration_add(calibration, "pickup_delay", FINDING_SECOND, response->delay_s,
        response->u_delay_s, "pickup delay")
        ->key_path = "timing.pickup_delay";
    const double rate = take->fit.samples_per_cycle * take->fit.frequency_Hz;
    (void)calibration_add(calibration, "pickup_delay_samples", FINDING_NUMBER,
        rate * response->delay_s, rate * response->u_delay_s, "  in samples");
    add_corners(options, response, calibration);
    (void)calibration_add(calibration, "lowest_tone", FINDING_HERTZ, low->frequency_Hz, 0.0,
        "%zu tone%s, the lowest at", tones->count, tones->count == 1 ? "" : "s");
    (void)calibration_add(
        calibration, "highest_tone", FINDING_HERTZ, high->frequency_Hz, 0.0, "  the highest at");
    note_noise(take, calibration);
    note_misfit(response, calibration);
    if (response->gain < 0.0) {
        notes_add(&calibration->notes, "reversed", NOTE_INFO,
            "nothing to do, if the loop is not found reversed",
            "one of the inputs turns the signal round");
    }
}

/* ---- crosstalk ---- */

/* Both inputs carry the signal while gain and delay are compared: what leaks moves them by up to
 * its share. */
static void widen_by_leak(struct response *response, double leak)
{
    const double share = leak / sqrt(3.0);
    response->u_gain = hypot(response->u_gain, share * response->gain);
    response->u_delay_s = hypot(response->u_delay_s, share * response->delay_s);
}

static enum status add_crosstalk(const struct loopback_options *options, struct response *response,
    struct calibration *calibration, struct error *err)
{
    struct take take = {0};
    const enum status status = take_read_two(&(struct take_options){.path = options->crosstalk,
                                                 .rig = options->rig,
                                                 .frequency_Hz = options->frequency_Hz,
                                                 .may_be_silent = true},
        &take, err);
    if (status != STATUS_OK) {
        return status;
    }
    const struct periodic_fit *fit = &take.fit;
    double largest[2] = {0}, power[2] = {0}, tones = 0.0;
    for (size_t k = 1; k <= fit->harmonics; k++) {
        for (int m = 0; m < 2; m++) {
            largest[m] = fmax(largest[m], cabs(fit->coefficient[m][k]));
        }
    }
    const int driven = largest[1] > largest[0] ? 1 : 0, silent = 1 - driven;
    for (size_t k = 1; k <= fit->harmonics; k++) {
        if (cabs(fit->coefficient[driven][k]) >= 0.01 * largest[driven]) {
            tones += 1.0;
            for (int m = 0; m < 2; m++) {
                power[m] += pow(cabs(fit->coefficient[m][k]), 2.0);
            }
        }
    }
    /* what noise alone would leave in the silent input, and one deviation of it */
    const double noise = 2.0 * tones * take_get_variance(&take, silent);
    const double limit = noise + LEAK_DEVIATIONS * noise / sqrt(tones);
    const bool is_seen = power[silent] > limit;
    /* in volts: the recorded parts over the gains of their inputs */
    const double gain = fabs(response->gain), ratio = silent == 1 ? 1.0 / gain : gain;
    const double leak = is_seen ? power[silent] - noise : limit;
    const double share = ratio * sqrt(leak / power[driven]), level = 20.0 * log10(share);
    const double u = is_seen ? 20.0 / log(10.0) * sqrt(0.5 * noise / tones / leak) : 0.0;
    calibration_add(calibration, "crosstalk", FINDING_DECIBEL, level, u,
        "crosstalk from %s into %s", driven == 0 ? "excitation" : "pickup",
        silent == 0 ? "excitation" : "pickup")
        ->is_limit = !is_seen;
    widen_by_leak(response, share);
    if (largest[silent] > 0.5 * largest[driven]) {
        notes_add(&calibration->notes, "unterminated", NOTE_WARNING,
            "terminate one input with what is connected to it later: the shunt, or the coil",
            "in '%s' both inputs carry the signal: this is no crosstalk",
            text_base_name(options->crosstalk));
    }
    take_clear(&take);
    return STATUS_OK;
}

enum status loopback_calibrate(
    const struct loopback_options *options, struct calibration *calibration, struct error *err)
{
    struct take take = {0};
    struct tones tones = {0};
    struct response response;
    enum status status = take_read_two(
        &(struct take_options){
            .path = options->capture, .rig = options->rig, .frequency_Hz = options->frequency_Hz},
        &take, err);
    if (status == STATUS_OK) {
        status = tones_create(&tones, &take, TONES_WHOLE, err);
        status = status == STATUS_OK ? fit_all(options, &take, &tones, &response, err) : status;
        take_name_fault(options->capture, status, err);
    }
    if (status == STATUS_OK) {
        status = options->crosstalk != NULL ? add_crosstalk(options, &response, calibration, err)
                                            : STATUS_OK;
    }
    if (status == STATUS_OK) {
        add_findings(options, &take, &tones, &response, calibration);
    }
    if (status == STATUS_OK && calibration->notes.failed) {
        status = fail_memory(err);
    }
    tones_clear(&tones);
    take_clear(&take);
    return status;
}
