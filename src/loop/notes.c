// SPDX-License-Identifier: GPL-3.0-or-later
/* One small function a note, one table. Limits are reasoned in docs/notes.md. */
#include <math.h>

#include "loop/evidence.h"
#include "num/fourier.h"
#include "quantity/constant.h"
#include "setup/date.h"

static const double PI = 3.14159265358979323846264338327950;

/* By a drifting mean: the angle by which the fundamental is turned, radian, and the share of W. */
static const double DRIFT_TURN = 1e-4, DRIFT_SHARE = 1e-3;

/* Even harmonics over the fundamental. */
static const double EVEN_LIMIT = 3e-3;

static const double SECONDS_A_DAY = 86400.0;

static const char *const input_name[2] = {"excitation", "pickup"};

static double get_value(const struct evidence *evidence, enum figure figure)
{
    return evidence->loop->figures.list[figure].value;
}

static bool has_value(const struct evidence *evidence, enum figure figure)
{
    return evidence->loop->figures.list[figure].is_present;
}

/* Half the peak-to-peak excursion of a channel as recorded. */
static double get_amplitude(const struct evidence *evidence, int m)
{
    const struct survey_channel *channel = &evidence->survey->channel[m];
    return 0.5 * (channel->maximum - channel->minimum);
}

/* One step of an integer format, as a fraction of full scale; 0 for tables and floats. */
static double get_step(const struct evidence *evidence)
{
    const struct capture_info *info = evidence->info;
    return info->kind == CAPTURE_AUDIO && !info->is_float ? ldexp(1.0, 1 - info->bits) : 0.0;
}

/* The waveform of an input on an even grid of a cycle, without the harmonics that only a staircase
 * of rounding has: those above a sixteenth of the sampling rate. `values` has GRID + 1 places. */
enum { GRID = 4096 };

static bool sample_smooth(const struct evidence *evidence, int m, double *values)
{
    const struct periodic_fit *fit = evidence->fit;
    size_t harmonics = (size_t)(fit->samples_per_cycle / 16.0);
    harmonics = harmonics < 3 ? 3 : harmonics;
    harmonics = harmonics < fit->harmonics ? harmonics : fit->harmonics;
    if (fourier_sample(fit->coefficient[m], harmonics, 0.0, GRID, values, NULL) != STATUS_OK) {
        return false;
    }
    values[GRID] = values[0];
    return true;
}

/* The longest stretch of a cycle, in samples, over which `is_inside` holds; it may run over the
 * grid's end. */
static double find_stretch(const struct evidence *evidence, const bool *is_inside)
{
    size_t longest = 0, run = 0;
    for (size_t i = 0; i < 2 * GRID && run < GRID; i++) {
        run = is_inside[i % GRID] ? run + 1 : 0;
        longest = run > longest ? run : longest;
    }
    return (double)longest * evidence->fit->samples_per_cycle / GRID;
}

/* What counts as equal: a step of the format, or for floats and tables 1e-7 of the amplitude. */
static double get_resolution(const struct evidence *evidence, int m)
{
    return fmax(get_step(evidence), 1e-7 * get_amplitude(evidence, m));
}

/* How many samples in a row an honest waveform may stay within one step of an extreme. Its width at
 * a depth of 1 % is measured and carried to the depth of a step as if the top were as flat as x^4:
 * a parabola is sharper, a clipped top is as wide at a step as at 1 %. */
static double get_natural_top(const struct evidence *evidence, int m)
{
    double values[GRID + 1];
    bool is_inside[GRID];
    if (!sample_smooth(evidence, m, values)) {
        return INFINITY;
    }
    double high = values[0], low = values[0];
    for (size_t i = 1; i < GRID; i++) {
        high = fmax(high, values[i]);
        low = fmin(low, values[i]);
    }
    const double depth = 0.005 * (high - low);
    double widest = 0.0;
    for (int side = 0; side < 2; side++) {
        for (size_t i = 0; i < GRID; i++) {
            is_inside[i] = side == 0 ? values[i] > high - depth : values[i] < low + depth;
        }
        widest = fmax(widest, find_stretch(evidence, is_inside));
    }
    return 1.0 + widest * fmin(1.0, pow(1.5 * get_resolution(evidence, m) / depth, 0.25));
}

/* How many frames in a row may repeat the one before because both inputs change by less than a step
 * a sample. */
static double get_natural_repeat(const struct evidence *evidence)
{
    double values[2][GRID + 1];
    bool is_inside[GRID];
    if (!sample_smooth(evidence, 0, values[0]) || !sample_smooth(evidence, 1, values[1])) {
        return INFINITY;
    }
    const double scale = GRID / evidence->fit->samples_per_cycle;
    for (size_t i = 0; i < GRID; i++) {
        is_inside[i] = true;
        for (int m = 0; m < 2; m++) {
            const double change = fabs(values[m][i + 1] - values[m][i]) * scale;
            is_inside[i] = is_inside[i] && change < 1.5 * get_resolution(evidence, m);
        }
    }
    return 1.0 + find_stretch(evidence, is_inside);
}

/* How many samples may share one extreme where noise is wider than a step of the format: the tail
 * of the noise falls off as e^(-x/s) with s = rms/sqrt(2 ln n), so that more than n samples lie in
 * the outermost step with the chance (1 - e^(-step/s))^n. Here that is 1e-6. */
static double get_natural_pile(const struct evidence *evidence, int m)
{
    const struct periodic_fit *fit = evidence->fit;
    const double step = get_step(evidence);
    const double square = fit->noise_rms[m] * fit->noise_rms[m] - step * step / 12.0;
    /* a residual this small is made of rounding, and a clock locked to the sampling repeats the
     * same extreme in every cycle */
    const bool is_noise = fit->noise_rms[m] > 1e-6 * get_amplitude(evidence, m);
    if (!(step > 0.0) || !(square > 0.0) || !is_noise || fit->frames < 16.0) {
        return INFINITY;
    }
    const double widths = step * sqrt(2.0 * log(fit->frames) / square);
    return widths < 3.0 ? fmax(4.0, log(1e-6) / log1p(-exp(-widths))) : INFINITY;
}

static void note_clipped(const struct evidence *evidence, struct notes *notes)
{
    for (int m = 0; m < 2; m++) {
        const struct survey_channel *channel = &evidence->survey->channel[m];
        const int64_t run =
            channel->top_run > channel->bottom_run ? channel->top_run : channel->bottom_run;
        const int64_t count = channel->top_count + channel->bottom_count;
        const double peak = fmax(fabs(channel->maximum), fabs(channel->minimum));
        const bool is_full = evidence->info->kind == CAPTURE_AUDIO && !evidence->info->is_float &&
                             peak >= 1.0 - 1.5 * get_step(evidence);
        const double natural = get_natural_top(evidence, m);
        const double limit = is_full ? fmax(2.0, natural) : fmax(3.0, 1.5 * natural);
        if ((double)run > limit || (double)count > 2.0 * get_natural_pile(evidence, m)) {
            notes_add(notes, "clipped", NOTE_WARNING,
                "lower the input gain or the drive until the peaks stay 3 dB below full scale",
                "the %s input stays at its extreme for %lld samples in a row (%.0f would be "
                "natural), %lld samples in all: its peaks are cut off",
                input_name[m], (long long)run, ceil(natural), (long long)count);
        }
    }
}

static void note_short(const struct evidence *evidence, struct notes *notes)
{
    const double cycles = evidence->fit->cycles;
    if (cycles < 20.0) {
        notes_add(notes, "short", cycles < 4.0 ? NOTE_WARNING : NOTE_INFO,
            "record 50 cycles or more: the scatter of the cycles is then known",
            "the capture holds %.4g cycles (20 or more are advised)", cycles);
    }
}

static void note_unsteady(const struct evidence *evidence, struct notes *notes)
{
    const struct periodic_fit *fit = evidence->fit;
    const double phase_limit = fmax(1e-3, 6.0 * fit->phase_drift_u_rad);
    if (fit->block_count >= 3 && fit->phase_drift_rad > phase_limit) {
        notes_add(notes, "unsteady", NOTE_WARNING,
            "drive the bench from a generator with a steady clock, not from the mains",
            "the phase strays by %.2g degree from an even clock (limit %.2g): the frequency drifts",
            fit->phase_drift_rad * 180.0 / PI, phase_limit * 180.0 / PI);
    }
    /* a straight line through the blocks' fundamental of the excitation */
    double n = 0.0, st = 0.0, sa = 0.0, stt = 0.0, sta = 0.0;
    for (size_t b = 0; b < fit->block_count; b++) {
        const double t = fit->blocks[b].time_s, a = cabs(fit->blocks[b].coefficient[0][1]);
        n += 1.0;
        st += t;
        sa += a;
        stt += t * t;
        sta += t * a;
    }
    const double spread = stt - st * st / n;
    if (fit->block_count < 4 || !(spread > 0.0)) {
        return;
    }
    const double slope = (sta - st * sa / n) / spread, mean = sa / n;
    double rest = 0.0;
    for (size_t b = 0; b < fit->block_count; b++) {
        const double d = cabs(fit->blocks[b].coefficient[0][1]) - mean -
                         slope * (fit->blocks[b].time_s - st / n);
        rest += d * d;
    }
    const double u = sqrt(rest / (n - 2.0) / spread);
    const double change = fabs(slope) * fit->duration_s / mean;
    if (change > 5e-3 && fabs(slope) > 6.0 * u) {
        notes_add(notes, "unsteady", NOTE_WARNING,
            "let the amplifier and the ring warm up, or regulate the drive",
            "the excitation changes by %.2g %% over the capture (limit 0.5 %%)", 100.0 * change);
    }
}

static void note_noisy(const struct evidence *evidence, struct notes *notes)
{
    static const enum figure watched[] = {FIGURE_LOOP_AREA, FIGURE_COERCIVITY, FIGURE_REMANENCE,
        FIGURE_FIELD_PEAK, FIGURE_FLUX_DENSITY_PEAK};
    for (size_t i = 0; i < sizeof watched / sizeof watched[0]; i++) {
        const struct figure_value *figure = &evidence->loop->figures.list[watched[i]];
        if (figure->is_present && figure->has_u && evidence->loop->block_count >= 8 &&
            figure->u > 0.005 * fabs(figure->value)) {
            notes_add(notes, "noisy", NOTE_WARNING,
                "record longer, raise the level of the quieter input, shield and shorten its leads",
                "noise leaves %s uncertain by %.2g %% (standard uncertainty from the scatter of "
                "the "
                "cycles, limit 0.5 %%)",
                figure_table[watched[i]].name, 100.0 * figure->u / fabs(figure->value));
            return;
        }
    }
}

static void note_offset(const struct evidence *evidence, struct notes *notes)
{
    for (int m = 0; m < 2; m++) {
        const double mean = creal(evidence->fit->coefficient[m][0]);
        const double amplitude = get_amplitude(evidence, m);
        const bool kept = m == 0 && evidence->rig->excitation.keeps_bias;
        if (!kept && fabs(mean) > 0.02 * amplitude) {
            notes_add(notes, "offset", fabs(mean) > 0.1 * amplitude ? NOTE_WARNING : NOTE_INFO,
                "check the input's offset; if the excitation really has a direct part, say bias: "
                "keep",
                "the %s input has a mean of %.2g %% of its amplitude; it was removed (a mean "
                "carries "
                "no field in a closed loop)",
                input_name[m], 100.0 * mean / amplitude);
        }
    }
}

/* A line through the blocks' means; a step or a wandering mean counts as the line that fits it.
 * What a fit without a slope makes of it: a line that rises by D over n cycles is a saw-tooth
 * beside a staircase, whose fundamental is D/(pi n). */
static void note_mean_drift(const struct evidence *evidence, struct notes *notes)
{
    const struct periodic_fit *fit = evidence->fit;
    for (int m = 0; m < 2 && fit->block_count >= 3; m++) {
        double n = 0.0, st = 0.0, sa = 0.0, stt = 0.0, sta = 0.0;
        for (size_t b = 0; b < fit->block_count; b++) {
            const double t = fit->blocks[b].time_s, a = creal(fit->blocks[b].coefficient[m][0]);
            n += 1.0;
            st += t;
            sa += a;
            stt += t * t;
            sta += t * a;
        }
        const double rise = (sta - st * sa / n) / (stt - st * st / n) * fit->duration_s;
        const double noise = fit->noise_rms[m] * sqrt(12.0 / fit->frames);
        const double turn = fabs(rise) / (PI * fit->cycles * cabs(fit->coefficient[m][1]));
        const double lag = get_value(evidence, FIGURE_LAG_ANGLE) * PI / 180.0;
        const double share = has_value(evidence, FIGURE_LAG_ANGLE) ? fabs(turn / tan(lag)) : turn;
        if (fabs(rise) > 8.0 * noise && (turn > DRIFT_TURN || share > DRIFT_SHARE)) {
            notes_add(notes, "drift", NOTE_WARNING,
                "let the input warm up, or couple it for alternating current; record more cycles",
                "the mean of the %s input drifts by %.2g %% of its fundamental over the capture: "
                "that turns it by up to %.2g degree (limit %.2g)",
                input_name[m], 100.0 * fabs(rise) / cabs(fit->coefficient[m][1]), turn * 180.0 / PI,
                DRIFT_TURN * 180.0 / PI);
        }
    }
}

static void note_drift(const struct evidence *evidence, struct notes *notes)
{
    const double area = get_value(evidence, FIGURE_LOOP_AREA);
    const double gap = get_value(evidence, FIGURE_CLOSURE_GAP);
    const double share = fabs(gap) * get_value(evidence, FIGURE_FIELD_PEAK) / fabs(area);
    if (share > 0.005) {
        notes_add(notes, "drift", NOTE_WARNING,
            "null the integrator, traverse faster, or set timing.drift: linear for a raw "
            "integrator",
            "the trace's ends do not meet: a gap of %.3g mT, worth up to %.2g %% of the loop area "
            "(limit 0.5 %%)",
            1e3 * gap, 100.0 * share);
    }
    if (evidence->trace_dropped > 0) {
        notes_add(notes, "drift", NOTE_INFO, "record one traverse, or cut the table to one",
            "%zu rows in which the trace runs past its first field again were left out",
            evidence->trace_dropped);
    }
}

/* A symmetric loop has no even harmonics: the last two that the sampling carries are looked at. */
static void note_undersampled(const struct evidence *evidence, struct notes *notes)
{
    const struct periodic_fit *fit = evidence->fit;
    const size_t limit = fit->harmonics_limit;
    if (fit->harmonics + 1 < limit || limit > 1024) {
        return;
    }
    for (int m = 0; m < 2; m++) {
        double share = 0.0;
        for (size_t k = limit > 2 ? limit - 1 : 2; k <= fit->harmonics; k++) {
            share = fmax(share, cabs(fit->coefficient[m][k]) / cabs(fit->coefficient[m][1]));
        }
        if (share > 1e-3) {
            notes_add(notes, "undersampled", share > 0.01 ? NOTE_WARNING : NOTE_INFO,
                "raise the sampling rate to 20 times the highest harmonic that matters",
                "the last harmonics that the sampling carries (up to %zu) still have %.2g %% of "
                "the "
                "fundamental of the %s input (limit 1 %%): higher ones may be lost or folded back",
                limit, 100.0 * share, input_name[m]);
            return;
        }
    }
}

/* Even harmonics over the fundamental, less what noise of `noise` each would make of them. */
static double get_even_share(const double complex *c, size_t harmonics, double noise)
{
    double even = 0.0;
    for (size_t k = 2; k <= harmonics; k += 2) {
        const double size = cabs(c[k]) / cabs(c[1]);
        even += size > 4.0 * noise ? size * size : 0.0;
    }
    return sqrt(even);
}

/* The standard deviation of a harmonic of an input over its fundamental. */
static double get_harmonic_noise(const struct evidence *evidence, int m)
{
    const struct periodic_fit *fit = evidence->fit;
    return fit->noise_rms[m] * sqrt(2.0 / fit->frames) / cabs(fit->coefficient[m][1]);
}

static void note_asymmetric(const struct evidence *evidence, struct notes *notes)
{
    const struct fourier_loop *series = &evidence->loop->series;
    const double field =
        get_even_share(series->field, series->harmonics, get_harmonic_noise(evidence, 0));
    const double flux =
        get_even_share(series->flux_density, series->harmonics, get_harmonic_noise(evidence, 1));
    const double share = fmax(field, flux);
    if (share > EVEN_LIMIT) {
        notes_add(notes, "asymmetric", NOTE_WARNING,
            "demagnetize the ring, block direct current in the excitation, check the amplifier",
            "even harmonics amount to %.2g %% of the fundamental of %s (limit 0.3 %%): the loop "
            "is not symmetric",
            100.0 * share, field > flux ? "H" : "B");
    }
}

static void note_distorted(const struct evidence *evidence, struct notes *notes)
{
    const double sine = PI / (2.0 * sqrt(2.0));
    const double factor = get_value(evidence, FIGURE_FORM_FACTOR);
    if (has_value(evidence, FIGURE_FORM_FACTOR) && fabs(factor / sine - 1.0) > 0.01) {
        notes_add(notes, "distorted", NOTE_INFO,
            "for losses at sinusoidal flux correct the drive until the form factor is 1.1107 +- 1 "
            "%",
            "the form factor of dB/dt is %.4f, outside 1.1107 +- 1 %%: the loss is not one at "
            "sinusoidal flux",
            factor);
    }
}

static void note_dropout(const struct evidence *evidence, struct notes *notes)
{
    const struct capture_info *info = evidence->info;
    if (info->missing > 0) {
        const long long first =
            info->missing_line_count > 0 ? (long long)info->missing_lines[0] : 0;
        notes_add(notes, "dropout", info->missing * 100 > info->frames ? NOTE_WARNING : NOTE_INFO,
            "check the logger's range and its connection; the fit leaves such rows out",
            "%lld of %lld rows lack a value, the first in line %lld", (long long)info->missing,
            (long long)info->frames, first);
    }
    if (info->frames_expected > 0 && info->frames < info->frames_expected) {
        notes_add(notes, "dropout", NOTE_WARNING,
            "copy the file again, or let the recorder close it before it is taken",
            "the file ends after %lld of the %lld frames that its header promises: it was cut off",
            (long long)info->frames, (long long)info->frames_expected);
    }
    if (evidence->sampling != NULL && evidence->sampling->gap_count > 0) {
        notes_add(notes, "dropout", NOTE_WARNING,
            "check the logger's buffer; the fit uses the times as they are",
            "the times jump %zu times, by up to %.3g s: rows are missing",
            evidence->sampling->gap_count, evidence->sampling->gap_longest_s);
    }
    if (evidence->survey == NULL) {
        return;
    }
    const double natural = get_natural_repeat(evidence);
    const double limit = fmax(3.0, 3.0 * natural);
    if ((double)evidence->survey->repeated_run > limit) {
        notes_add(notes, "dropout", NOTE_WARNING,
            "close other programs, enlarge the recorder's buffer, record again",
            "%lld frames from frame %lld on repeat the one before (up to %.0f would be natural): "
            "samples were lost or filled in",
            (long long)evidence->survey->repeated_run, (long long)evidence->survey->repeated_at + 1,
            limit);
    }
}

static void note_quiet(const struct evidence *evidence, struct notes *notes)
{
    const double step = get_step(evidence);
    for (int m = 0; m < 2 && step > 0.0; m++) {
        const double amplitude = get_amplitude(evidence, m);
        const double limit = fmax(256.0 * step, 1e-3);
        if (amplitude < limit) {
            notes_add(notes, "quiet", NOTE_WARNING,
                "raise the gain, use a larger shunt or more pickup turns, or record with more bits",
                "the %s input reaches only %.3g of full scale (limit %.2g for %d bits)",
                input_name[m], amplitude, limit, evidence->info->bits);
        }
    }
}

static void note_coupled(const struct evidence *evidence, struct notes *notes)
{
    const double frequency = evidence->fit->frequency_Hz;
    for (int m = 0; m < 2; m++) {
        const struct rig_input *input =
            m == 0 ? &evidence->rig->excitation : &evidence->rig->pickup;
        const double corner = input->corner.is_present           ? input->corner.value
                              : evidence->rig->corner.is_present ? evidence->rig->corner.value
                                                                 : 0.0;
        if (corner > 0.2 * frequency) {
            notes_add(notes, "coupled", corner > frequency ? NOTE_WARNING : NOTE_INFO,
                "raise the frequency, use a direct-coupled input, or calibrate the corner well",
                "the coupling corner of the %s input, %.3g Hz, turns its fundamental by %.1f "
                "degree, "
                "which was undone",
                input_name[m], corner, atan(corner / frequency) * 180.0 / PI);
            return;
        }
    }
}

static void note_delay_sensitive(const struct evidence *evidence, struct notes *notes)
{
    const struct quantity *delay = &evidence->rig->pickup_delay;
    const double lag = get_value(evidence, FIGURE_LAG_ANGLE) * PI / 180.0;
    if (!delay->is_present || !delay->has_uncertainty || !has_value(evidence, FIGURE_LAG_ANGLE)) {
        return;
    }
    /* a phase error e changes the area of an ellipse by e cot(lag) */
    const double turn = 2.0 * PI * evidence->fit->frequency_Hz * quantity_get_uncertainty(delay);
    const double share = fabs(turn / tan(lag));
    if (share > 0.01) {
        notes_add(notes, "delay-sensitive", NOTE_WARNING,
            "calibrate pickup_delay with one signal on both inputs",
            "the stated uncertainty of pickup_delay moves the loop area by %.2g %% (limit 1 %%) at "
            "a "
            "lag angle of %.2f degree",
            100.0 * share, lag * 180.0 / PI);
    }
}

static void note_unsaturated(const struct evidence *evidence, struct notes *notes)
{
    const double field = get_value(evidence, FIGURE_FIELD_PEAK);
    const double coercivity = get_value(evidence, FIGURE_COERCIVITY);
    if (has_value(evidence, FIGURE_COERCIVITY) && field < 3.0 * coercivity) {
        notes_add(notes, "unsaturated", NOTE_INFO,
            "raise the peak field to three times the coercivity, or name the figures by their loop",
            "the peak field is %.2f times HcB (3 or more saturate the ring): remanence and "
            "coercivity "
            "are the remanent flux density and coercive field strength of this loop",
            field / coercivity);
    }
}

static void note_square(const struct evidence *evidence, struct notes *notes)
{
    if (has_value(evidence, FIGURE_LAG_ANGLE) && !has_value(evidence, FIGURE_LAG_ANGLE_AREA)) {
        const double sine = get_value(evidence, FIGURE_LOOP_AREA) /
                            (PI * get_value(evidence, FIGURE_FIELD_PEAK) *
                                get_value(evidence, FIGURE_FLUX_DENSITY_PEAK));
        notes_add(notes, "square", NOTE_INFO,
            "take the lag angle of the fundamentals, or drive the ring to a higher field",
            "the loop holds %.3f times the area of the fullest ellipse with its peaks: there is no "
            "lag angle from area",
            sine);
    }
}

static void note_thick_ring(const struct evidence *evidence, struct notes *notes)
{
    /* IEC 60404-4, amendment 2: the ratio shall be 1.4 at most, preferably below 1.25 */
    const double ratio = evidence->specimen->diameter_ratio;
    if (ratio > 1.25) {
        notes_add(notes, "thick-ring", ratio > 1.4 ? NOTE_WARNING : NOTE_INFO,
            "use a ring with a thinner wall: the field differs between its inside and its outside",
            "the ratio of outer to inner diameter is %.3f (1.25 is advised, 1.4 is the limit): the "
            "field varies by +-%.1f %% over the wall",
            ratio, 100.0 * (ratio - 1.0) / (ratio + 1.0));
    }
}

static void note_skin_effect(const struct evidence *evidence, struct notes *notes)
{
    const struct specimen *specimen = evidence->specimen;
    const double permeability = get_value(evidence, FIGURE_AMPLITUDE_PERMEABILITY);
    if (!specimen->resistivity.is_present || !specimen->outer_diameter.is_present ||
        !specimen->inner_diameter.is_present || !(permeability > 0.0) ||
        specimen->stacking_factor.value < 1.0) {
        return; /* unknown, or a stack of sheets whose thickness is not given */
    }
    double width = 0.5 * (specimen->outer_diameter.value - specimen->inner_diameter.value);
    if (specimen->height.is_present) {
        width = fmin(width, specimen->height.value);
    }
    const double depth = sqrt(specimen->resistivity.value / (PI * evidence->fit->frequency_Hz *
                                                                MAGNETIC_CONSTANT * permeability));
    const double ratio = width / depth;
    if (ratio > 1.0) {
        notes_add(notes, "skin-effect", ratio > 2.0 ? NOTE_WARNING : NOTE_INFO,
            "lower the frequency: eddy currents shield the ring's inside and widen the loop",
            "the ring's wall is %.2f skin depths thick (skin depth %.3g mm at %.4g Hz and a "
            "permeability of %.4g)",
            ratio, 1e3 * depth, evidence->fit->frequency_Hz, permeability);
    }
}

static void note_unlikely(const struct evidence *evidence, struct notes *notes)
{
    struct setup_warning list[16];
    const size_t count =
        setup_find_warnings(evidence->rig, evidence->specimen, list, sizeof list / sizeof list[0]);
    for (size_t i = 0; i < count; i++) {
        notes_add(notes, "unlikely", list[i].is_minor ? NOTE_INFO : NOTE_WARNING, list[i].hint,
            "%s", list[i].message);
    }
}

static void note_outdated(const struct evidence *evidence, struct notes *notes)
{
    const struct rig *rig = evidence->rig;
    long calibrated, today;
    if (evidence->today == NULL || rig->calibration_date == NULL ||
        !rig->calibration_interval.is_present ||
        date_read(rig->calibration_date, &calibrated, NULL) != STATUS_OK ||
        date_read(evidence->today, &today, NULL) != STATUS_OK) {
        return;
    }
    const double days = rig->calibration_interval.value / SECONDS_A_DAY;
    if ((double)(today - calibrated) > days) {
        notes_add(notes, "outdated", NOTE_WARNING,
            "calibrate the rig anew and write the day into calibration.date",
            "the rig was calibrated on %s, %ld days before %s; its interval is %.4g days",
            rig->calibration_date, today - calibrated, evidence->today, days);
    }
}

enum scope { FOR_PERIODIC = 1, FOR_TRACE = 2, FOR_ALL = 3 };

static const struct {
    const char *code;
    enum scope scope;
    void (*add)(const struct evidence *evidence, struct notes *notes);
} table[] = {
    {"clipped", FOR_PERIODIC, note_clipped},
    {"short", FOR_PERIODIC, note_short},
    {"unsteady", FOR_PERIODIC, note_unsteady},
    {"noisy", FOR_PERIODIC, note_noisy},
    {"offset", FOR_PERIODIC, note_offset},
    {"drift", FOR_TRACE, note_drift},
    {"drift", FOR_PERIODIC, note_mean_drift},
    {"undersampled", FOR_PERIODIC, note_undersampled},
    {"asymmetric", FOR_PERIODIC, note_asymmetric},
    {"distorted", FOR_PERIODIC, note_distorted},
    {"dropout", FOR_ALL, note_dropout},
    {"quiet", FOR_PERIODIC, note_quiet},
    {"coupled", FOR_PERIODIC, note_coupled},
    {"delay-sensitive", FOR_PERIODIC, note_delay_sensitive},
    {"unsaturated", FOR_ALL, note_unsaturated},
    {"square", FOR_PERIODIC, note_square},
    {"thick-ring", FOR_ALL, note_thick_ring},
    {"skin-effect", FOR_PERIODIC, note_skin_effect},
    {"unlikely", FOR_ALL, note_unlikely},
    {"outdated", FOR_ALL, note_outdated},
};

void evidence_add_notes(const struct evidence *evidence, struct notes *notes)
{
    const enum scope scope = evidence->fit != NULL ? FOR_PERIODIC : FOR_TRACE;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        if (table[i].scope & scope) {
            table[i].add(evidence, notes);
        }
    }
}
