// SPDX-License-Identifier: GPL-3.0-or-later
/* What a trial makes of the tables. */
#include "loop/expansion.h"

#include <math.h>
#include <string.h>

#include "loop/expansion_part.h"
#include "loop/figures_part.h"
#include "quantity/constant.h"

static const double PI = 3.14159265358979323846264338327950;
static const double TURN = 6.283185307179586476925286766559;
static const double MU0 = MAGNETIC_CONSTANT;

/* Times K + 1, radian: the last step that need not be repeated, for what Newton's method leaves is
 * its square. */
static const double LAST = 1e-7;

enum { LANES = EXPANSION_LANES, TERMS = EXPANSION_TERMS };

static struct expansion_factors find_factors(
    const struct expansion *expansion, const struct expansion_trial *trial)
{
    const struct conversion *c = trial->conversion;
    const double w = TURN * trial->frequency_Hz;
    const bool is_j = c->pickup == PICKUP_LINKAGE_J || c->pickup == PICKUP_J;
    struct expansion_factors by = {.field = c->excitation_gain * trial->field_factor,
        .field_corner = c->excitation_corner_Hz / trial->frequency_Hz,
        .pickup = c->pickup_gain * trial->flux_density_factor,
        .corner = c->pickup_corner_Hz / trial->frequency_Hz,
        .integrator = w * c->integrator_s,
        .shift = w * c->pickup_delay_s - expansion->shift,
        .lead = w * c->shunt_s,
        .moved = w * c->shunt_s - expansion->lead,
        .leads = expansion->leads,
        .mixed = MU0 * ((is_j ? 1.0 : 0.0) - c->air_share) * trial->flux_density_factor /
                 trial->field_factor,
        .reach = expansion->reach,
        .last = LAST / (double)(expansion->harmonics + 1)};
    by.pickup *= c->pickup == PICKUP_VOLTAGE ? 1.0 / w : 1.0;
    by.pickup *= c->pickup <= PICKUP_LINKAGE_J ? c->linkage_to_density : 1.0;
    by.bias = c->keeps_bias ? by.field * expansion->bias : 0.0;
    by.closed = 1.0 + by.corner * by.integrator;
    return by;
}

/* Of H, B, J: how much of H and of X is in them. */
static void set_shares(const struct expansion_factors *by, double of_field[3], double of_pickup[3])
{
    of_field[TRACK_FIELD] = 1.0;
    of_field[TRACK_FLUX] = by->mixed;
    of_field[TRACK_POLARIZATION] = by->mixed - MU0;
    of_pickup[TRACK_FIELD] = 0.0;
    of_pickup[TRACK_FLUX] = of_pickup[TRACK_POLARIZATION] = 1.0;
}

/* Goes on with the lanes that left the reach in this direction, from table to table. */
static bool follow_peaks(const struct expansion *expansion, const struct expansion_factors *by,
    const struct expansion_pair *pair, int direction, double *step, double *values)
{
    const double spacing = EXPANSION_SPACING * by->reach;
    for (int c = 1; c <= EXPANSION_SPAN; c++) {
        double is_wanted[LANES], there[LANES], found[LANES];
        bool is_any = false;
        for (int i = 0; i < LANES; i++) {
            const bool is_out = direction * step[i] > by->reach;
            is_wanted[i] = is_out ? 1.0 : 0.0;
            there[i] = is_out ? step[i] - direction * spacing : 0.0;
            is_any = is_any || is_out;
        }
        if (!is_any) {
            return true;
        }
        const int row = EXPANSION_PEAKS + EXPANSION_SPAN + direction * c;
        if (!expansion_find_extremes(
                expansion_get_rows(expansion, (size_t)row), by, pair, is_wanted, there, found)) {
            return false;
        }
        for (int i = 0; i < LANES; i++) {
            step[i] = is_wanted[i] > 0.0 ? there[i] : step[i];
            values[i] = is_wanted[i] > 0.0 ? found[i] : values[i];
        }
    }
    return true;
}

static bool find_peaks(const struct expansion *expansion, const struct expansion_factors *by,
    const struct expansion_pair *pair, double *values)
{
    const struct expansion_rows *rows =
        expansion_get_rows(expansion, EXPANSION_PEAKS + EXPANSION_SPAN);
    double step[LANES] = {0.0};
    if (!expansion_find_extremes(rows, by, pair, rows->is_used, step, values) ||
        !follow_peaks(expansion, by, pair, 1, step, values) ||
        !follow_peaks(expansion, by, pair, -1, step, values)) {
        return false;
    }
    return expansion_is_inside(step, by->reach);
}

/* The middle of each wave's peaks; the peaks are set. */
static bool set_peaks(const struct expansion *expansion, const struct expansion_factors *by,
    struct figures *figures, double *middle)
{
    static const enum figure peaks[] = {
        FIGURE_FIELD_PEAK, FIGURE_FLUX_DENSITY_PEAK, FIGURE_POLARIZATION_PEAK};
    double of_field[3], of_pickup[3], found[LANES];
    struct expansion_pair pair = {.level = {0.0}};
    set_shares(by, of_field, of_pickup);
    for (int i = 0; i < LANES; i++) {
        pair.own_field[i] = of_field[expansion_get_wave(i)];
        pair.own_pickup[i] = of_pickup[expansion_get_wave(i)];
    }
    if (!find_peaks(expansion, by, &pair, found)) {
        return false;
    }
    for (int wave = 0; wave < TRACK_WAVES; wave++) {
        const double top = found[2 * wave], bottom = found[2 * wave + 1];
        figures_set(figures, peaks[wave], 0.5 * (top - bottom));
        middle[wave] = 0.5 * (top + bottom);
    }
    return true;
}

static bool set_sides(const struct expansion *expansion, const struct expansion_factors *by,
    const double *middle, struct figures *figures)
{
    static const struct {
        enum figure mean, first;
        double sign;
    } sides[] = {{FIGURE_REMANENCE, FIGURE_REMANENCE_FALLING, 1.0},
        {FIGURE_COERCIVITY, FIGURE_COERCIVITY_FALLING, -1.0},
        {FIGURE_COERCIVITY_J, FIGURE_COERCIVITY_J_FALLING, -1.0}};
    const struct expansion_rows *rows = expansion_get_rows(expansion, EXPANSION_CROSSINGS);
    double of_field[3], of_pickup[3], found[LANES];
    struct expansion_pair pair;
    set_shares(by, of_field, of_pickup);
    for (int i = 0; i < LANES; i++) {
        const int wave = expansion_get_wave(i), other = wave == TRACK_FIELD ? TRACK_FLUX : 0;
        pair.own_field[i] = of_field[wave];
        pair.own_pickup[i] = of_pickup[wave];
        pair.other_field[i] = of_field[other];
        pair.other_pickup[i] = of_pickup[other];
        pair.level[i] = wave == TRACK_FIELD ? -by->bias : middle[wave];
    }
    if (!expansion_find_crossings(rows, by, &pair, found)) {
        return false;
    }
    for (int wave = 0; wave < TRACK_WAVES; wave++) {
        const double add = wave == TRACK_FIELD ? -middle[TRACK_FLUX] : by->bias;
        const double sign = sides[wave].sign;
        if (rows->is_used[2 * wave] > 0.0 && rows->is_used[2 * wave + 1] > 0.0) {
            figures_set_sides(figures, sides[wave].mean, sides[wave].first,
                sign * (found[2 * wave] + add), -sign * (found[2 * wave + 1] + add));
        }
    }
    return true;
}

/* Integral of |dB/dx|, from the values at all extremes. */
static bool find_variation(
    const struct expansion *expansion, const struct expansion_factors *by, double *variation)
{
    struct expansion_pair pair = {.level = {0.0}};
    double step[LANES] = {0.0}, found[LANES], sum = 0.0, first = 0.0, last = 0.0;
    for (int i = 0; i < LANES; i++) {
        pair.own_field[i] = by->mixed;
        pair.own_pickup[i] = 1.0;
    }
    for (size_t turn = 0; turn < expansion->turn_count; turn++) {
        const size_t lane = turn % LANES;
        const struct expansion_rows *rows =
            expansion_get_rows(expansion, EXPANSION_TURNS + turn / LANES);
        if (lane == 0) {
            memset(step, 0, sizeof step);
            if (!expansion_find_extremes(rows, by, &pair, rows->is_used, step, found)) {
                return false;
            }
        }
        if (!(fabs(step[lane]) <= by->reach)) {
            return false;
        }
        if (turn == 0) {
            first = found[lane];
        } else {
            sum += fabs(found[lane] - last);
        }
        last = found[lane];
    }
    *variation = sum + fabs(first - last);
    return true;
}

/* sum_{k >= 2} k^m e / (1 + l D) conj(p) e^{ik shift}, m = -2 ... 3. */
static void shift_moments(
    const struct expansion *expansion, const struct expansion_factors *by, double complex *moments)
{
    for (int m = 0; m < EXPANSION_MOMENTS; m++) {
        moments[m] = 0.0;
        for (size_t order = expansion->leads; order-- > 0;) {
            const double complex *cross = expansion->cross[order] + m;
            double complex sum = cross[TERMS - 1];
            for (int n = TERMS - 1; n > 0; n--) {
                const double scale = by->shift / n;
                sum = I * (scale * sum) + cross[n - 1];
            }
            moments[m] = by->moved * moments[m] + sum;
        }
    }
}

/* In sums over k of k^p H conj(X), with a e conj(p) e^{ik shift} (1 - i q1 / k) (1 + i q2 / k)
 * (1 - i k r) = ... (A + i B / k + C / k^2 - i r k): see docs/uncertainty.md. `at` is the moment of
 * k^p. */
static double complex combine(const struct expansion_factors *by, const double complex *at)
{
    const double a = by->closed - by->field_corner * by->integrator;
    const double b = by->corner - by->field_corner * by->closed;
    const double c = by->field_corner * by->corner;
    return by->field * by->pickup *
           (a * at[0] + I * b * at[-1] + c * at[-2] - I * by->integrator * at[1]);
}

/* sum k^p |H|^2 and |X|^2; `at` are the recording's sums of k^p. */
static double square_field(
    const struct expansion *expansion, const struct expansion_factors *by, int at)
{
    double sum = 0.0;
    for (size_t order = expansion->leads; order-- > 0;) {
        const double *squares = expansion->field_squares[order] + at;
        sum = by->moved * sum + squares[0] + by->field_corner * by->field_corner * squares[-1];
    }
    return by->field * by->field * sum;
}

static double square_pickup(const struct expansion_factors *by, const double *at)
{
    const double own = by->closed * by->closed - 2.0 * by->integrator * by->corner;
    return by->pickup * by->pickup *
           (own * at[0] + by->corner * by->corner * at[-1] +
               by->integrator * by->integrator * at[1]);
}

static void set_sums(const struct expansion *expansion, const struct expansion_factors *by,
    struct figures_sums *sums)
{
    enum { ZERO = 2 }; /* k^0 among the moments */
    double complex moments[EXPANSION_MOMENTS];
    const double m = by->mixed;
    shift_moments(expansion, by, moments);
    const double complex h =
        by->field * expansion->field_first * (1.0 - I * by->field_corner) / (1.0 + I * by->lead);
    const double complex turned = expansion->pickup_first * (cos(by->shift) - I * sin(by->shift));
    const double complex x = by->pickup * turned * (by->closed + I * (by->integrator - by->corner));
    const double complex b = x + m * h;
    /* Im(H conj(m H)) is 0 */
    sums->area_J_per_m3 = PI * (cimag(combine(by, moments + ZERO + 1)) + cimag(h * conj(x)));
    sums->lag_deg = figures_wrap_lag((carg(h) - carg(b)) * 180.0 / PI);
    sums->fundamental = cabs(b);
    sums->overtones =
        sqrt(square_pickup(by, expansion->pickup_squares + 1) +
             2.0 * m * creal(combine(by, moments + ZERO)) + m * m * square_field(expansion, by, 1));
    const double slopes = square_pickup(by, expansion->pickup_squares + 2) +
                          2.0 * m * creal(combine(by, moments + ZERO + 2)) +
                          m * m * square_field(expansion, by, 2);
    sums->slope = sqrt(slopes + sums->fundamental * sums->fundamental);
}

bool expansion_compute(
    const struct expansion *expansion, const struct expansion_trial *trial, struct figures *figures)
{
    const struct expansion_factors by = find_factors(expansion, trial);
    struct figures_sums sums;
    double middle[TRACK_WAVES];
    const double lead_reach = expansion->leads > 1 ? expansion->lead_reach : 0.0;
    if (!(fabs(by.shift) <= by.reach && fabs(by.moved) <= lead_reach)) {
        return false;
    }
    *figures = (struct figures){0};
    if (!set_peaks(expansion, &by, figures, middle) ||
        !set_sides(expansion, &by, middle, figures)) {
        return false;
    }
    sums.total_variation = 4.0 * figures->list[FIGURE_FLUX_DENSITY_PEAK].value;
    if (expansion->turn_count > 2 && !find_variation(expansion, &by, &sums.total_variation)) {
        return false;
    }
    set_sums(expansion, &by, &sums);
    figures_set_energy(&sums, trial->frequency_Hz, trial->density_kg_per_m3, figures);
    figures_set_ratios(&sums, figures);
    if (trial->frequency_Hz > 0.0) {
        figures_set(figures, FIGURE_FREQUENCY, trial->frequency_Hz);
    }
    return true;
}
