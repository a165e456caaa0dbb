// SPDX-License-Identifier: GPL-3.0-or-later
#include "calibrate/full_scale.h"

#include <complex.h>
#include <math.h>
#include <stdio.h>

#include "base/memory.h"
#include "base/text.h"
#include "calibrate/take.h"
#include "num/fourier.h"

enum { BLOCKS_LEAST = 4 }; /* below, their scatter says nothing */

static const double DISTORTION_LIMIT =
    0.01; /* a source of 1 % is no sine for a meter that averages */

static const double CORNER_LIMIT = 1e-4;   /* what a coupling may take off unseen */
static const double CORNER_USUAL_HZ = 7.0; /* inputs of sound cards lie below */

/* One level: its full scale and what the two sides add to its uncertainty. */
struct level {
    double full_scale;
    double u_meter;
    double u_recorded;
    double noise_rms; /* of one sample, fraction of full scale */
    double recorded;  /* r.m.s. or peak to peak, fraction of full scale */
    double distortion;
    double frequency_Hz;
};

static double get_rms(const double complex *c, size_t harmonics)
{
    double sum = 0.0;
    for (size_t k = 1; k <= harmonics; k++) {
        sum += 0.5 * (creal(c[k]) * creal(c[k]) + cimag(c[k]) * cimag(c[k]));
    }
    return sqrt(sum);
}

/* What the meter would read of a series, in fractions of full scale. */
static enum status get_reading(const double complex *c, size_t harmonics, bool is_peak_to_peak,
    double *reading, struct error *err)
{
    struct fourier_extremes extremes;
    if (!is_peak_to_peak) {
        *reading = get_rms(c, harmonics);
        return STATUS_OK;
    }
    const enum status status = fourier_find_extremes(c, harmonics, &extremes, err);
    if (status == STATUS_OK) {
        *reading = extremes.maximum - extremes.minimum;
    }
    return status;
}

/* The scatter of the mean over the blocks; 0 when there are too few. */
static enum status get_scatter(
    const struct periodic_fit *fit, bool is_peak_to_peak, double *scatter, struct error *err)
{
    const double count = (double)fit->block_count;
    double sum = 0.0, squares = 0.0;
    *scatter = 0.0;
    for (size_t b = 0; b < fit->block_count; b++) {
        double reading;
        const enum status status = get_reading(
            fit->blocks[b].coefficient[0], fit->harmonics, is_peak_to_peak, &reading, err);
        if (status != STATUS_OK) {
            return status;
        }
        const double mean = sum / fmax((double)b, 1.0);
        squares += b > 0 ? (reading - mean) * (reading - mean) * (double)b / ((double)b + 1.0) : 0;
        sum += reading;
    }
    if (fit->block_count >= BLOCKS_LEAST) {
        *scatter = sqrt(squares / (count - 1.0) / count);
    }
    return STATUS_OK;
}

/* What the doubt about the corner adds: the size of 1 - i fc/f moves by fc u(fc)/f^2. */
static double get_u_corner(const struct take *take, const struct quantity *corner)
{
    const double f = take->fit.frequency_Hz, fc = corner->value;
    return corner->is_present ? fc * quantity_get_uncertainty(corner) / (f * f + fc * fc) : 0.0;
}

static enum status set_level(struct level *level, const struct take *take,
    const struct quantity *voltage, const struct full_scale_options *options, struct error *err)
{
    const struct periodic_fit *fit = &take->fit;
    const double harmonics = (double)fit->harmonics;
    const bool is_peak_to_peak = options->is_peak_to_peak;
    double scatter;
    enum status status =
        get_reading(fit->coefficient[0], fit->harmonics, is_peak_to_peak, &level->recorded, err);
    if (status == STATUS_OK) {
        status = get_scatter(fit, is_peak_to_peak, &scatter, err);
    }
    if (status != STATUS_OK) {
        return status;
    }
    /* of a sum over the harmonics; both extremes hang on the same odd ones */
    const double spread = is_peak_to_peak ? 2.0 * sqrt(harmonics) : sqrt(0.5);
    const double noise = spread * sqrt(take_get_variance(take, 0));
    const double all = get_rms(fit->coefficient[0], fit->harmonics);
    const double first = get_rms(fit->coefficient[0], 1);
    level->noise_rms = fit->noise_rms[0];
    level->distortion = sqrt(fmax(all * all - first * first, 0.0)) / first;
    level->full_scale = voltage->value / level->recorded;
    level->u_meter = level->full_scale * quantity_get_uncertainty(voltage) / voltage->value;
    level->u_recorded = level->full_scale * hypot(fmax(noise, scatter) / level->recorded,
                                                get_u_corner(take, &options->corner));
    level->frequency_Hz = fit->frequency_Hz;
    return STATUS_OK;
}

static enum status read_levels(
    const struct full_scale_options *options, struct level *levels, struct error *err)
{
    enum status status = STATUS_OK;
    for (size_t i = 0; status == STATUS_OK && i < options->count; i++) {
        struct take take = {0};
        status = take_read_one(options->levels[i].capture, options->channel, &take, err);
        if (status == STATUS_OK) {
            take_undo_corner(&take, 0, options->corner.is_present ? options->corner.value : 0.0);
            status = set_level(&levels[i], &take, &options->levels[i].voltage, options, err);
        }
        take_clear(&take);
    }
    return status;
}

/* The weighted mean and its two uncertainties. */
struct mean {
    double value;
    double u_meter;   /* one meter: full correlation */
    double u_scatter; /* the larger of what the levels' noise and what their scatter tell */
};

static struct mean get_mean(const struct level *levels, size_t count)
{
    double weights = 0.0, sum = 0.0, meter = 0.0, noise = 0.0, spread = 0.0;
    for (size_t i = 0; i < count; i++) {
        const struct level *level = &levels[i];
        const double w =
            1.0 / (level->u_meter * level->u_meter + level->u_recorded * level->u_recorded);
        weights += w;
        sum += w * level->full_scale;
        meter += w * level->u_meter;
        noise += w * level->u_recorded * w * level->u_recorded;
    }
    struct mean mean = {.value = sum / weights, .u_meter = meter / weights};
    for (size_t i = 0; i < count; i++) {
        const struct level *level = &levels[i];
        const double w =
            1.0 / (level->u_meter * level->u_meter + level->u_recorded * level->u_recorded);
        spread += w * (level->full_scale - mean.value) * (level->full_scale - mean.value);
    }
    const double scatter = count > 1 ? sqrt(spread / weights / ((double)count - 1.0)) : 0.0;
    mean.u_scatter = fmax(sqrt(noise) / weights, scatter);
    return mean;
}

static void add_linearity(const struct full_scale_options *options, const struct level *levels,
    const struct mean *mean, struct calibration *calibration)
{
    double worst = 0.0, limit = 0.0;
    for (size_t i = 0; i < options->count; i++) {
        const double deviation = levels[i].full_scale / mean->value - 1.0;
        if (fabs(deviation) >= fabs(worst)) {
            worst = deviation;
            limit = 2.0 * hypot(levels[i].u_meter, levels[i].u_recorded) / mean->value;
        }
        char word[48];
        snprintf(word, sizeof word, "level_%zu_full_scale", i + 1);
        (void)calibration_add(calibration, word, FINDING_VOLT, levels[i].full_scale,
            hypot(levels[i].u_meter, levels[i].u_recorded), "  level %zu alone, %s", i + 1,
            text_base_name(options->levels[i].capture));
    }
    (void)calibration_add(calibration, "linearity", FINDING_PERCENT, worst, 0.0,
        "linearity: largest deviation of a level");
    if (fabs(worst) > limit) {
        notes_add(&calibration->notes, "linearity", NOTE_WARNING,
            "read the meter again at each level, and keep away from the input's ends: noise below, "
            "distortion above",
            "the levels disagree by %.3g %%, more than the meter's uncertainty and the noise "
            "explain (%.3g %%)",
            100.0 * fabs(worst), 100.0 * limit);
    }
}

static void add_source_note(const struct full_scale_options *options, const struct level *level,
    const char *capture, struct calibration *calibration)
{
    if (level->distortion > DISTORTION_LIMIT && !options->is_peak_to_peak) {
        notes_add(&calibration->notes, "distorted", NOTE_WARNING,
            "use a cleaner sine, or a meter that reads true r.m.s. at these frequencies",
            "the tone of '%s' has %.2g %% of harmonics: only a meter for true r.m.s. sees them "
            "rightly",
            text_base_name(capture), 100.0 * level->distortion);
    }
}

/* Without the corner the full scale is that at the tone's frequency. */
static void add_corner_note(const struct full_scale_options *options, const struct level *level,
    struct calibration *calibration)
{
    const double corner = level->frequency_Hz * sqrt(2.0 * CORNER_LIMIT);
    if (!options->corner.is_present && corner < CORNER_USUAL_HZ) {
        notes_add(&calibration->notes, "coupling", NOTE_INFO,
            "calibrate the corner first and give the rig with --rig, or use a tone of 500 Hz and "
            "more if the meter is good there",
            "an AC coupling of the input is not taken out: at the tone's %.4g Hz a corner above "
            "%.2g Hz changes the full scale by more than 0.01 %%",
            level->frequency_Hz, corner);
    }
}

static void add_findings(const struct full_scale_options *options, const struct level *levels,
    struct calibration *calibration)
{
    const struct mean mean = get_mean(levels, options->count);
    const struct level *quiet = &levels[0];
    calibration_add(calibration, "full_scale", FINDING_VOLT, mean.value,
        hypot(mean.u_meter, mean.u_scatter), "full scale of channel %zu", options->channel)
        ->key_path = options->key_path;
    if (options->count > 1) {
        add_linearity(options, levels, &mean, calibration);
    }
    for (size_t i = 0; i < options->count; i++) {
        quiet = levels[i].recorded < quiet->recorded ? &levels[i] : quiet;
        add_source_note(options, &levels[i], options->levels[i].capture, calibration);
    }
    add_corner_note(options, quiet, calibration);
    (void)calibration_add(calibration, "noise_floor", FINDING_FULL_SCALE,
        20.0 * log10(quiet->noise_rms), 0.0, "noise floor: r.m.s. of what does not repeat");
}

enum status full_scale_calibrate(
    const struct full_scale_options *options, struct calibration *calibration, struct error *err)
{
    struct level *levels = memory_create(options->count, sizeof *levels);
    enum status status = levels == NULL ? fail_memory(err) : read_levels(options, levels, err);
    if (status == STATUS_OK) {
        add_findings(options, levels, calibration);
        status = calibration->notes.failed ? fail_memory(err) : STATUS_OK;
    }
    memory_destroy(levels);
    return status;
}
