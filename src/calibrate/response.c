// SPDX-License-Identifier: GPL-3.0-or-later
#include "calibrate/response.h"

#include <math.h>
#include <stdint.h>

#include "base/memory.h"

static const double PI = 3.14159265358979323846264338327950;
static const double TURN = 6.283185307179586476925286766559;
static const double TONE_DEVIATIONS = 20.0;
static const double TONE_SHARE = 0.01;

void tones_clear(struct tones *tones)
{
    memory_destroy(tones->list);
    *tones = (struct tones){0};
}

static bool stands_out(const struct take *take, size_t k, const double *largest)
{
    for (int m = 0; m < 2; m++) {
        const double size = cabs(take->fit.coefficient[m][k]);
        if (size < TONE_SHARE * largest[m] ||
            size < TONE_DEVIATIONS * sqrt(take_get_variance(take, m))) {
            return false;
        }
    }
    return true;
}

enum status tones_create(
    struct tones *tones, const struct take *take, size_t block, struct error *err)
{
    const struct periodic_fit *fit = &take->fit;
    const bool is_whole = block >= fit->block_count;
    const double frames = is_whole ? fit->frames : fit->blocks[block].frames;
    double largest[2] = {0};
    struct tones made = {.list = memory_create(fit->harmonics + 1, sizeof *made.list)};
    if (made.list == NULL) {
        return fail_memory(err);
    }
    for (size_t k = 1; k <= fit->harmonics; k++) {
        for (int m = 0; m < 2; m++) {
            largest[m] = fmax(largest[m], cabs(fit->coefficient[m][k]));
        }
    }
    for (size_t k = 1; k <= fit->harmonics; k++) {
        if (!stands_out(take, k, largest)) {
            continue;
        }
        struct tone *tone = &made.list[made.count++];
        tone->frequency_Hz = (double)k * fit->frequency_Hz;
        for (int m = 0; m < 2; m++) {
            tone->x[m] = is_whole ? fit->coefficient[m][k] : fit->blocks[block].coefficient[m][k];
            tone->variance[m] = take_get_variance(take, m) * (fit->frames / frames);
        }
    }
    if (made.count == 0) {
        tones_clear(&made);
        return fail(err, STATUS_CAPTURE, "look at both channels with 'lodecard look'",
            "no tone stands out of the noise in both inputs");
    }
    *tones = made;
    return STATUS_OK;
}

/* The parameters, in the order of the adjustment: ln |g|, tau, fc2, fc1, ln of the signal. */
enum { GAIN, DELAY, PICKUP_CORNER, EXCITATION_CORNER, SIGNAL };

struct fit {
    const struct tones *tones;
    const struct response *response;
    double *phase; /* of each ratio, sign and whole turns taken out */
};

static double get_value(const struct fit *fit, const double *value, int parameter)
{
    const struct response *response = fit->response;
    if (parameter == PICKUP_CORNER) {
        return response->holds_corner ? response->corner_Hz[1] : value[PICKUP_CORNER];
    }
    return response->seeks_both ? value[EXCITATION_CORNER] : response->corner_Hz[0];
}

/* ln sqrt(1 + q^2) and atan q of 1 - i q, q = fc/f, with their slopes against fc. */
static double get_log_size(double corner, double f, double *slope)
{
    const double q = corner / f;
    *slope = q / (1.0 + q * q) / f;
    return 0.5 * log1p(q * q);
}

static double get_lead(double corner, double f, double *slope)
{
    const double q = corner / f;
    *slope = 1.0 / (1.0 + q * q) / f;
    return atan(q);
}

/* Row 2n: the phase of a tone's ratio. Row 2n + 1: its size. */
static double get_ratio_row(const void *user, size_t row, const double *value, double *slope)
{
    const struct fit *fit = user;
    const size_t n = row / 2;
    const struct tone *tone = &fit->tones->list[n];
    const double f = tone->frequency_Hz;
    const double corner1 = get_value(fit, value, EXCITATION_CORNER);
    const double corner2 = get_value(fit, value, PICKUP_CORNER);
    const double size1 = cabs(tone->x[0]), size2 = cabs(tone->x[1]);
    const double deviation =
        sqrt(tone->variance[0] / (size1 * size1) + tone->variance[1] / (size2 * size2));
    double slope1, slope2, residual;
    if (row % 2 == 0) {
        residual = fit->phase[n] - TURN * f * value[DELAY] + get_lead(corner1, f, &slope1) -
                   get_lead(corner2, f, &slope2);
        slope[DELAY] = TURN * f / deviation;
    } else {
        residual = log(size2 / size1) - value[GAIN] - get_log_size(corner1, f, &slope1) +
                   get_log_size(corner2, f, &slope2);
        slope[GAIN] = 1.0 / deviation;
        slope2 = -slope2;
        slope1 = -slope1;
    }
    if (!fit->response->holds_corner) {
        slope[PICKUP_CORNER] = slope2 / deviation;
    }
    if (fit->response->seeks_both) {
        slope[EXCITATION_CORNER] = -slope1 / deviation;
    }
    return residual / deviation;
}

/* Row 3n: the phase of a tone's ratio. Rows 3n + 1, 3n + 2: its size at either input. */
static double get_flat_row(const void *user, size_t row, const double *value, double *slope)
{
    const struct fit *fit = user;
    if (row % 3 == 0) {
        return get_ratio_row(user, row / 3 * 2, value, slope);
    }
    const int m = (int)(row % 3) - 1;
    const int corner = m == 0 ? EXCITATION_CORNER : PICKUP_CORNER;
    const struct tone *tone = &fit->tones->list[row / 3];
    const double size = cabs(tone->x[m]), deviation = sqrt(tone->variance[m]) / size;
    double slope_corner;
    const double log_size = get_log_size(value[corner], tone->frequency_Hz, &slope_corner);
    slope[SIGNAL] = 1.0 / deviation;
    slope[GAIN] = m == 1 ? 1.0 / deviation : 0.0;
    slope[corner] = -slope_corner / deviation;
    return (log(size) - value[SIGNAL] - (m == 1 ? value[GAIN] : 0.0) + log_size) / deviation;
}

/* Phases from tone to tone: each is nearest to what the delay of the one below foretells. A signal
 * that is turned has the lowest tone more than a quarter turn off. */
static double unwrap(const struct tones *tones, double *phase)
{
    double sign = 1.0;
    for (size_t n = 0; n < tones->count; n++) {
        const struct tone *tone = &tones->list[n];
        const double found = carg(tone->x[1] / tone->x[0]);
        if (n == 0) {
            sign = fabs(found) > 0.5 * PI ? -1.0 : 1.0;
        }
        const double turned = sign > 0.0 ? found : found + PI;
        const double foretold =
            n == 0 ? 0.0 : phase[n - 1] * tone->frequency_Hz / tones->list[n - 1].frequency_Hz;
        phase[n] = turned - TURN * round((turned - foretold) / TURN);
    }
    return sign;
}

/* Where to begin with a corner: from the sizes of the lowest and the highest tone. */
static double guess_corner(const struct tones *tones, int m)
{
    const struct tone *low = &tones->list[0], *high = &tones->list[tones->count - 1];
    const double share = pow(cabs(low->x[m]) / cabs(high->x[m]), 2.0);
    const double fl = low->frequency_Hz, fh = high->frequency_Hz;
    const double square = (1.0 - share) / (share / (fl * fl) - 1.0 / (fh * fh));
    return square > 0.0 && isfinite(square) ? sqrt(square) : 0.1 * fl;
}

static void set_start(
    struct adjustment *adjustment, const struct response *response, const struct fit *fit)
{
    const struct tones *tones = fit->tones;
    const struct tone *high = &tones->list[tones->count - 1];
    adjustment->count = response->is_flat        ? 5
                        : response->seeks_both   ? 4
                        : response->holds_corner ? 2
                                                 : 3;
    adjustment->value[GAIN] = log(cabs(high->x[1]) / cabs(high->x[0]));
    adjustment->value[DELAY] = fit->phase[tones->count - 1] / (TURN * high->frequency_Hz);
    adjustment->value[PICKUP_CORNER] = response->corner_Hz[0];
    if (response->seeks_both) {
        adjustment->value[EXCITATION_CORNER] = response->corner_Hz[0];
        adjustment->value[PICKUP_CORNER] = response->corner_Hz[1];
    }
    if (response->is_flat) {
        adjustment->value[EXCITATION_CORNER] = guess_corner(tones, 0);
        adjustment->value[PICKUP_CORNER] = guess_corner(tones, 1);
        adjustment->value[SIGNAL] = log(cabs(high->x[0]));
    }
}

/* What is left, tone by tone. */
static void set_residuals(struct response *response, const struct fit *fit,
    const struct adjustment *adjustment, size_t rows_a_tone, adjust_row *get_row)
{
    for (size_t row = 0; row < rows_a_tone * fit->tones->count; row++) {
        double slope[ADJUST_PARAMETERS] = {0};
        const double residual = get_row(fit, row, adjustment->value, slope);
        const double f = fit->tones->list[row / rows_a_tone].frequency_Hz;
        const bool is_phase = row % rows_a_tone == 0;
        response->chi_square[is_phase] += residual * residual;
        const double departure = residual / slope[is_phase            ? DELAY
                                                  : slope[GAIN] > 0.0 ? GAIN
                                                                      : SIGNAL];
        if (is_phase && fabs(departure) >= fabs(response->worst_delay_s)) {
            response->worst_delay_s = departure;
            response->worst_Hz = f;
        }
        if (!is_phase && fabs(departure) >= fabs(response->worst_gain)) {
            response->worst_gain = departure;
            response->worst_gain_Hz = f;
        }
    }
}

static void set_result(struct response *response, const struct adjustment *adjustment, double sign)
{
    const double *value = adjustment->value;
    response->gain = sign * exp(value[GAIN]);
    response->u_gain = fabs(response->gain) * sqrt(adjustment->covariance[GAIN][GAIN]);
    response->delay_s = value[DELAY];
    response->u_delay_s = sqrt(adjustment->covariance[DELAY][DELAY]);
    if (!response->holds_corner) {
        response->corner_Hz[1] = value[PICKUP_CORNER];
        response->u_corner_Hz[1] = sqrt(adjustment->covariance[PICKUP_CORNER][PICKUP_CORNER]);
    }
    if (response->seeks_both) {
        response->corner_Hz[0] = value[EXCITATION_CORNER];
        response->u_corner_Hz[0] =
            sqrt(adjustment->covariance[EXCITATION_CORNER][EXCITATION_CORNER]);
    }
    response->degrees = adjustment->degrees;
}

enum status response_fit(struct response *response, const struct tones *tones, struct error *err)
{
    struct response made = {.is_flat = response->is_flat && tones->count > 2,
        .seeks_both = (response->is_flat || response->seeks_both) && tones->count > 2,
        .holds_corner = response->holds_corner || tones->count < 2,
        .corner_Hz = {response->corner_Hz[0], response->corner_Hz[1]}};
    struct fit fit = {
        .tones = tones, .response = &made, .phase = memory_create(tones->count, sizeof *fit.phase)};
    if (fit.phase == NULL) {
        return fail_memory(err);
    }
    const double sign = unwrap(tones, fit.phase);
    const size_t rows_a_tone = made.is_flat ? 3 : 2;
    adjust_row *get_row = made.is_flat ? get_flat_row : get_ratio_row;
    struct adjustment adjustment = {0};
    set_start(&adjustment, &made, &fit);
    const enum status status = adjust(&adjustment, rows_a_tone * tones->count, get_row, &fit, err);
    if (status == STATUS_OK) {
        set_residuals(&made, &fit, &adjustment, rows_a_tone, get_row);
        set_result(&made, &adjustment, sign);
        *response = made;
    }
    memory_destroy(fit.phase);
    return status;
}
