// SPDX-License-Identifier: GPL-3.0-or-later
/* Tones in the periodogram of the residual.
 *
 * A tone s of frequency v leaves P s in the residual, P the projection that takes offset and
 * harmonics out. As P is symmetric and P P = P, the product of the residual with s is that with P
 * s, and the power that the tone explains follows from the plain spectrum R(v),
 *
 *     |R(v)|^2 2 / (N q(v)),    q(v) = |P s|^2 / |s|^2 = 1 - sum_k sinc^2((v - k f) T),
 *
 * which is the periodogram of N. R. Lomb (Astrophys. Space Sci. 39 (1976) 447) with the harmonics
 * among the unknowns. The strongest tone is refined, taken off with what it left in the fit, and
 * the next is looked for.
 *
 * A line counts as a tone when noise has it once in 1e7 records; when most of the power around it
 * is its own, which the skirt of something broad is not; and when there is no image on the other
 * side of the nearest harmonic, which modulation of the waveform has. */
#include "num/stray.h"

#include <math.h>
#include <stdbool.h>

#include "num/residual.h"

static const double TURN = 6.283185307179586476925286766559;

enum {
    AROUND = 4, /* 1 / T to each side that count as around a line */
    REFINE_STEPS = 24,
    FRAMES_LEAST = 64,
};
static const double CHANCE = 16.0;     /* -ln of the false alarms: 1e-7 */
static const double SHARE_LEAST = 0.5; /* of the power around a line that is its own */
static const double IMAGE_MOST = 0.25; /* of a line's power that its image may have */
static const double NEAR = 0.6;        /* 1 / T from a harmonic, from where on a tone can be told */
static const double NEAR_PART = 1.5;   /* the same where only a part of the record is looked at */
static const double REMNANT_WIDTHS = 8.0, REMNANT_SHARE = 0.1;
static const double LOW = 1.5; /* 1 / T: slower is drift */

double stray_get_leak(double distance_Hz, double duration_s)
{
    const double turns = 0.5 * TURN * fabs(distance_Hz) * duration_s;
    return turns > 1.0 ? 1.0 / turns : 1.0;
}

/* Distance to the nearest multiple of the fundamental (0 among them), and that, Hz. */
static double find_distance(const struct residual *residual, double frequency, double *nearest)
{
    *nearest = round(frequency / residual->fit->frequency_Hz) * residual->fit->frequency_Hz;
    return frequency - *nearest;
}

/* q: the share of a tone that the fit did not take up. */
static double get_left(const struct residual *residual, double frequency)
{
    double nearest, left = 1.0;
    if (residual->is_part) {
        return 1.0; /* the fit is not of these points alone */
    }
    const double distance = find_distance(residual, frequency, &nearest);
    for (int i = -2; i <= 2; i++) {
        const double d = distance - (double)i * residual->fit->frequency_Hz;
        const double k = nearest / residual->fit->frequency_Hz + (double)i;
        if (k > -0.5 - (double)residual->fit->harmonics &&
            k < (double)residual->fit->harmonics + 0.5) {
            const double sinc = residual_get_sinc(d * residual->duration);
            left -= sinc * sinc;
        }
    }
    return fmax(left, 0.1);
}

static double get_power_at(const struct residual *residual, size_t m, double frequency)
{
    return residual_get_power(
        residual, m, (ptrdiff_t)lround(frequency * residual->step * (double)residual->size));
}

/* Whether a line stands alone: most of the power around it is its own, and it has no image. */
static bool is_alone(const struct residual *residual, size_t m, double frequency, double power)
{
    double nearest, around = 0.0;
    for (int i = -AROUND; i <= AROUND; i++) {
        around += i == 0 ? power : get_power_at(residual, m, frequency + i / residual->duration);
    }
    const double distance = find_distance(residual, frequency, &nearest);
    const bool has_image =
        nearest > 0.0 && nearest - distance < 0.5 / residual->step &&
        fabs(distance) * residual->duration < 4.0 * AROUND &&
        fabs(fabs(distance) - 0.5 * residual->fit->frequency_Hz) * residual->duration > 0.5 &&
        get_power_at(residual, m, nearest - distance) > IMAGE_MOST * power;
    return power > SHARE_LEAST * around && !has_image;
}

static bool is_apart(const struct residual *residual, double frequency)
{
    double nearest;
    const double distance = find_distance(residual, frequency, &nearest);
    const bool is_clear = !residual->is_part && !residual->fit->is_unsteady;
    return fabs(distance) * residual->duration > (is_clear ? NEAR : NEAR_PART) &&
           frequency * residual->duration > LOW &&
           frequency < 0.5 / residual->step - 1.0 / residual->duration;
}

/* ---- tones ---- */

/* The degrees of freedom that the fit left to the points; where there are none, nothing surprises.
 */
static double get_freedom(const struct residual *residual)
{
    const double taken =
        (2.0 * (double)residual->fit->harmonics + 1.0) * residual->duration / residual->span;
    return (double)residual->count - taken;
}

/* The chance, as -ln, that noise explains so much of `total` with one tone of `count` looked at. */
static double get_surprise(double explained, double total, double freedom, double count)
{
    const double left = total - explained;
    return left > 0.0 ? 0.5 * freedom * log(total / left) - log(count) : INFINITY;
}

/* The strongest place of the spectrum where a tone can be told, 0 when there is none; *explained is
 * what a tone there explains. */
static double find_peak(const struct residual *residual, size_t m, double *explained)
{
    double best = 0.0, winner = 0.0;
    const double width = 1.0 / (residual->step * (double)residual->size);
    for (size_t i = 1; i < residual->size / 2; i++) {
        const double power = residual_get_power(residual, m, (ptrdiff_t)i);
        const double frequency = (double)i * width;
        if (power > best * 0.1 && is_apart(residual, frequency)) {
            const double whole = power / get_left(residual, frequency);
            winner = whole > best ? frequency : winner;
            best = fmax(best, whole);
        }
    }
    *explained = 2.0 * best / (double)residual->count;
    return winner;
}

static double get_explained(const struct residual *residual, size_t m, double frequency)
{
    const double complex line = residual_compute_line(residual, m, frequency);
    return 2.0 * (creal(line) * creal(line) + cimag(line) * cimag(line)) /
           ((double)residual->count * get_left(residual, frequency));
}

/* Golden section around the peak. */
static double refine(const struct residual *residual, size_t m, double frequency)
{
    const double golden = 0.6180339887498949;
    const double reach = 0.5 / residual->duration;
    double low = frequency - reach, high = frequency + reach;
    double a = high - golden * (high - low), b = low + golden * (high - low);
    double at_a = get_explained(residual, m, a), at_b = get_explained(residual, m, b);
    for (int i = 0; i < REFINE_STEPS; i++) {
        if (at_a > at_b) {
            high = b;
            b = a;
            at_b = at_a;
            a = high - golden * (high - low);
            at_a = get_explained(residual, m, a);
        } else {
            low = a;
            a = b;
            at_a = at_b;
            b = low + golden * (high - low);
            at_b = get_explained(residual, m, b);
        }
    }
    return 0.5 * (low + high);
}

/* What a stronger tone leaves near its place once it is taken off. */
static bool is_remnant(const struct stray *found, size_t count, const struct stray *tone)
{
    for (size_t i = 0; i < count; i++) {
        if (found[i].channel == tone->channel &&
            fabs(found[i].frequency_Hz - tone->frequency_Hz) < REMNANT_WIDTHS * tone->width_Hz &&
            cabs(tone->amplitude) < REMNANT_SHARE * cabs(found[i].amplitude)) {
            return true;
        }
    }
    return false;
}

/* The next tone of a channel, if there is one. */
static bool find_tone(const struct residual *residual, size_t m, struct stray *tone)
{
    const double total = residual_compute_square_sum(residual, m);
    const double freedom = get_freedom(residual), count = (double)residual->count;
    double explained;
    double frequency = find_peak(residual, m, &explained);
    /* between two places the spectrum is at most a quarter higher: most noise ends here */
    if (!(frequency > 0.0) || get_surprise(1.25 * explained, total, freedom, count) < CHANCE) {
        return false;
    }
    frequency = refine(residual, m, frequency);
    const double complex line = residual_compute_line(residual, m, frequency);
    const double power = creal(line) * creal(line) + cimag(line) * cimag(line);
    const double left = get_left(residual, frequency);
    explained = 2.0 * power / (count * left);
    if (get_surprise(explained, total, freedom, count) < CHANCE || !is_apart(residual, frequency) ||
        !is_alone(residual, m, frequency, power)) {
        return false;
    }
    const double whole = frequency * residual->first;
    const double kept = count * left * residual_get_thinned(residual, frequency);
    *tone = (struct stray){.channel = m,
        .frequency_Hz = frequency,
        .width_Hz = 1.0 / residual->duration,
        .amplitude = 2.0 / kept * line * cexp(-I * TURN * (whole - floor(whole)))};
    return true;
}

static enum status find_all(
    struct residual *residual, size_t limit, struct stray *list, size_t *count, struct error *err)
{
    *count = 0;
    residual_transform(residual);
    for (size_t m = 0; m < 2; m++) {
        for (size_t i = 0; i < limit; i++) {
            struct stray tone;
            if (!find_tone(residual, m, &tone) || is_remnant(list, *count, &tone)) {
                break;
            }
            const enum status status =
                residual_take_off(residual, m, tone.frequency_Hz, tone.amplitude, err);
            if (status != STATUS_OK) {
                return status;
            }
            list[(*count)++] = tone;
            residual_transform(residual);
        }
    }
    return STATUS_OK;
}

enum status stray_find(const double *values, size_t frames, double sample_rate_Hz,
    const struct periodic_fit *fit, size_t limit, struct stray *list, size_t *count,
    struct error *err)
{
    struct residual residual;
    *count = 0;
    if (frames < FRAMES_LEAST || fit->channels < 2) {
        return STATUS_OK;
    }
    enum status status = residual_init(&residual, values, frames, sample_rate_Hz, fit, err);
    if (status == STATUS_OK) {
        status = find_all(&residual, limit, list, count, err);
        residual_clear(&residual);
    }
    return status;
}
