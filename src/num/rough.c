// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/rough.h"

#include <math.h>
#include <stdbool.h>

#include "base/memory.h"
#include "num/padded.h"
#include "num/pair.h"

static const double PI = 3.14159265358979323846264338327950;

enum { WINDOW_LIMIT = 1 << 16, WINDOW_LEAST = 512, PART_LIMIT = 7 };

/* A part of the highest line must hold this share of its power to be the fundamental. */
static const double PART_SHARE = 0.02;
/* The highest line over the median of all: below this there is only noise (white noise of 1e5 lines
 * peaks at about 16). */
static const double LINE_MINIMUM = 60.0;
/* Of a channel's energy. */
static const double ROUNDING = 1e-26;

/* Of the window's cycles: the frequency found is a multiple of it, so that the last bits of an FFT,
 * which are not the same on every processor, cannot reach a result. */
static const double GRAIN = 0x1p-20;

struct spectrum {
    double complex *values; /* what was transformed: the channels as real and imaginary part */
    size_t count;
    double *power; /* of both channels, bins 0 ... size/2 */
    size_t size;   /* places of the spectrum */
    double span;   /* bins to the cycle of the whole window: size / count */
    size_t top;    /* last bin */
};

/* A channel, thinned by plain averages, its mean and slope taken off; gives what scales it to unit
 * variance. */
static double prepare_channel(
    const double complex *values, size_t thinning, size_t count, size_t m, double complex *out)
{
    double sum = 0.0, moment = 0.0, norm = 0.0, energy = 0.0;
    size_t known = 0;
    double *part = (double *)out + m;
    for (size_t n = 0; n < count; n++) {
        double mean = 0.0;
        for (size_t i = 0; i < thinning; i++) {
            const double complex v = values[n * thinning + i];
            mean += m == 0 ? creal(v) : cimag(v);
        }
        part[2 * n] = mean / (double)thinning;
        if (isfinite(mean)) {
            const double x = (double)n - 0.5 * (double)(count - 1);
            sum += part[2 * n];
            moment += part[2 * n] * x;
            norm += x * x;
            energy += part[2 * n] * part[2 * n];
            known++;
        }
    }
    const double offset = known > 0 ? sum / (double)known : 0.0;
    const double slope = norm > 0.0 ? moment / norm : 0.0;
    double square = 0.0;
    for (size_t n = 0; n < count; n++) {
        const double x = (double)n - 0.5 * (double)(count - 1);
        part[2 * n] = isfinite(part[2 * n]) ? part[2 * n] - offset - slope * x : 0.0;
        square += part[2 * n] * part[2 * n];
    }
    /* what is left of a constant or a ramp is rounding */
    return square > ROUNDING * energy ? 1.0 / sqrt(square) : 0.0;
}

/* Both channels and a Hann window: leakage falls fast, so that harmonics do not disturb each other.
 * Its cosines come from two tables, of steps and of runs of steps. */
static void prepare(
    const double complex *values, size_t thinning, size_t count, double complex *out)
{
    enum { RUN = 256 };
    double cosine[RUN], sine[RUN], scale[2];
    const double step = 2.0 * PI / (double)count;
    for (size_t i = 0; i < RUN; i++) {
        sincos(step * ((double)i + 0.5), &sine[i], &cosine[i]);
    }
    for (size_t m = 0; m < 2; m++) {
        scale[m] = prepare_channel(values, thinning, count, m, out);
    }
    for (size_t begin = 0; begin < count; begin += RUN) {
        const size_t left = count - begin, run = left < RUN ? left : RUN;
        const double c = cos(step * (double)begin), s = sin(step * (double)begin);
        double *part = (double *)(out + begin);
        for (size_t i = 0; i < run; i++) {
            const double window = 1.0 - (c * cosine[i] - s * sine[i]);
            part[2 * i] *= scale[0] * window;
            part[2 * i + 1] *= scale[1] * window;
        }
    }
}

static void spectrum_clear(struct spectrum *spectrum)
{
    memory_destroy(spectrum->values);
    memory_destroy(spectrum->power);
    *spectrum = (struct spectrum){0};
}

static void set_power(struct spectrum *spectrum, struct padded *padded)
{
    const size_t size = spectrum->size;
    padded_compute(padded, spectrum->values, spectrum->count);
    for (size_t k = 0; k <= size / 2; k++) {
        const double complex p = padded_get(padded, k);
        const double complex s = padded_get(padded, k == 0 ? 0 : size - k);
        spectrum->power[k] = 0.5 * (creal(p) * creal(p) + cimag(p) * cimag(p) +
                                       creal(s) * creal(s) + cimag(s) * cimag(s));
    }
}

static enum status spectrum_init(struct spectrum *spectrum, const double complex *values,
    size_t thinning, size_t count, struct error *err)
{
    const size_t size = padded_find_size(count < WINDOW_LEAST ? WINDOW_LEAST : count);
    struct spectrum fresh = {.values = memory_create(count, sizeof *fresh.values),
        .count = count,
        .power = memory_create(size / 2 + 1, sizeof *fresh.power),
        .size = size,
        .span = (double)size / (double)count,
        .top = size / 2};
    struct padded *padded = padded_create(size);
    if (padded == NULL || fresh.values == NULL || fresh.power == NULL) {
        padded_destroy(padded);
        spectrum_clear(&fresh);
        return fail_memory(err);
    }
    prepare(values, thinning, count, fresh.values);
    set_power(&fresh, padded);
    padded_destroy(padded);
    *spectrum = fresh;
    return STATUS_OK;
}

/* The power at any place, also between bins: from the samples, in runs of which all share a table.
 */
static double compute_power(const struct spectrum *spectrum, double bin)
{
    enum { RUN = 256 };
    const double *values = (const double *)spectrum->values;
    const double turns = bin / (double)spectrum->size;
    double cosine[RUN], sine[RUN];
    double complex sum[2] = {0.0, 0.0};
    for (size_t i = 0; i < RUN; i++) {
        sincos(2.0 * PI * turns * (double)i, &sine[i], &cosine[i]);
    }
    for (size_t begin = 0; begin < spectrum->count; begin += RUN) {
        const size_t left = spectrum->count - begin, run = left < RUN ? left : RUN;
        const double *at = values + 2 * begin;
        double part[4] = {0.0};
        for (size_t i = 0; i < run; i++) {
            part[0] += at[2 * i] * cosine[i];
            part[1] += at[2 * i] * sine[i];
            part[2] += at[2 * i + 1] * cosine[i];
            part[3] += at[2 * i + 1] * sine[i];
        }
        const double whole = turns * (double)begin;
        const double complex turn = cexp(2.0 * PI * I * (whole - floor(whole)));
        sum[0] += turn * as_complex(part[0], part[1]);
        sum[1] += turn * as_complex(part[2], part[3]);
    }
    return creal(sum[0] * conj(sum[0])) + creal(sum[1] * conj(sum[1]));
}

/* The highest bin within half a main lobe of `bin`, which lies as far from both ends. */
static size_t find_near(const struct spectrum *spectrum, double bin)
{
    const double reach = spectrum->span;
    size_t best = (size_t)(bin - reach);
    for (size_t k = best; (double)k <= bin + reach; k++) {
        best = spectrum->power[k] > spectrum->power[best] ? k : best;
    }
    return best;
}

static size_t find_highest(const struct spectrum *spectrum)
{
    /* below two cycles only drift and window are seen */
    size_t best = (size_t)(2.0 * spectrum->span);
    for (size_t k = best; k < spectrum->top; k++) {
        best = spectrum->power[k] > spectrum->power[best] ? k : best;
    }
    return best;
}

/* The highest line may be the third or another harmonic of the fundamental. */
static size_t find_fundamental(const struct spectrum *spectrum, size_t highest)
{
    for (size_t part = PART_LIMIT; part >= 2; part--) {
        const double bin = (double)highest / (double)part;
        if (bin < 2.0 * spectrum->span) {
            continue;
        }
        const size_t line = find_near(spectrum, bin);
        const double valley = spectrum->power[find_near(spectrum, 0.5 * bin)];
        const double power = spectrum->power[line];
        /* the slope of a main lobe nearby is no line */
        const bool is_peak =
            power >= spectrum->power[line - 1] && power >= spectrum->power[line + 1];
        if (is_peak && power > PART_SHARE * spectrum->power[highest] && power > 4.0 * valley) {
            return line;
        }
    }
    return highest;
}

/* A parabola through the logarithms of three powers, a quarter of a cycle over the window apart:
 * exact to a hundredth of a cycle for a Hann window. */
static double interpolate(const struct spectrum *spectrum, size_t bin)
{
    const double apart = 0.25 * spectrum->span;
    const double a = log(compute_power(spectrum, (double)bin - apart) + 1e-300);
    const double b = log(compute_power(spectrum, (double)bin) + 1e-300);
    const double c = log(compute_power(spectrum, (double)bin + apart) + 1e-300);
    const double curve = a - 2.0 * b + c;
    const double shift = curve < 0.0 ? 0.5 * (a - c) / curve : 0.0;
    return (double)bin + (fabs(shift) <= 1.0 ? shift * apart : 0.0);
}

static double compute_mean(const struct spectrum *spectrum)
{
    double sum = 0.0;
    for (size_t k = 0; k <= spectrum->top; k++) {
        sum += spectrum->power[k];
    }
    return sum / (double)(spectrum->top + 1);
}

static enum status find_in_window(
    const double complex *values, size_t thinning, size_t count, double *bins, struct error *err)
{
    struct spectrum spectrum = {0};
    const enum status status = spectrum_init(&spectrum, values, thinning, count, err);
    if (status != STATUS_OK) {
        return status;
    }
    const size_t highest = find_highest(&spectrum);
    const double power = spectrum.power[highest];
    /* a line holds all power in a few bins: its height over the mean grows with the number of bins
     */
    const double bins_total = (double)(spectrum.top + 1) / spectrum.span;
    const double needed = fmin(LINE_MINIMUM, bins_total / 8.0);
    const bool stands_out = power > needed * compute_mean(&spectrum) && power > 0.0;
    const double place = interpolate(&spectrum, find_fundamental(&spectrum, highest));
    *bins = round(place / spectrum.span / GRAIN) * GRAIN;
    spectrum_clear(&spectrum);
    return stands_out ? STATUS_OK
                      : fail(err, STATUS_CAPTURE,
                            "check that the excitation runs, the inputs are connected and the "
                            "right channels are named",
                            "no periodic waveform was found");
}

enum status rough_find_frequency(
    const double complex *values, size_t count, double *frequency, struct error *err)
{
    const size_t head = count < WINDOW_LIMIT ? count : WINDOW_LIMIT;
    double bins = 0.0;
    enum status status = find_in_window(values, 1, head, &bins, err);
    if (status == STATUS_OK && (head == count || bins > 12.0)) {
        *frequency = bins / (double)head;
        return STATUS_OK;
    }
    if (head == count || status == STATUS_FAULT) {
        return status;
    }
    /* a slow waveform shows few cycles in the head: look at the whole, thinned */
    const size_t thinning = (count + WINDOW_LIMIT - 1) / WINDOW_LIMIT;
    double slow = 0.0;
    const enum status slow_status = find_in_window(values, thinning, count / thinning, &slow, err);
    if (slow_status == STATUS_FAULT) {
        return slow_status;
    }
    if (slow_status == STATUS_OK && (status != STATUS_OK || slow > 3.0)) {
        const size_t used = count - count % thinning;
        *frequency = slow / (double)used;
        return STATUS_OK;
    }
    if (status == STATUS_OK) {
        *frequency = bins / (double)head;
    }
    return status;
}
