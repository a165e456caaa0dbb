// SPDX-License-Identifier: GPL-3.0-or-later
/* Laws of loss against amplitude, E = c (B / 1 T)^n, fitted in logarithms: with n free, with n
 * = 1.6 (C. P. Steinmetz, "On the Law of Hysteresis", Trans. AIEE 9 (1892) 3), and with n = a + b
 * B, which follows the rise of the exponent towards saturation (a form of the handbooks).
 *
 * Points: the hysteresis terms of those separations that have the most terms, if there are three or
 * more; else the whole loss of each loop of the normal curve. */
#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "num/least_squares.h"
#include "series/series_part.h"

#define STEINMETZ 1.6
#define TERMS 3

/* Points off by less than this obey the law. */
static const double HOLDS = 0.03;

struct law_point {
    double peak, energy;
    double u; /* relative; 0: unknown */
};

struct law_points {
    struct law_point *list;
    size_t count;
    double *room; /* (TERMS + 2) * count */
};

/* --- points ------------------------------------------------------------------------------------
 */

/* Fits with points to spare go ahead of those that only join their points, three terms ahead of
 * two.
 */
static unsigned get_rank(const struct series_separation *it)
{
    const size_t fitted = 1u + !it->is_classical + it->has_excess;
    return 2u * (it->count > fitted) + it->has_excess;
}

static void take_separations(const struct series *series, struct law_points *points)
{
    unsigned best = 0;
    for (size_t i = 0; i < series->separation_count; i++)
        best = get_rank(&series->separations[i]) > best ? get_rank(&series->separations[i]) : best;
    for (size_t i = 0; i < series->separation_count; i++) {
        const struct series_separation *it = &series->separations[i];
        if (get_rank(it) != best || !(it->hysteresis_J_per_m3 > 0))
            continue;
        points->list[points->count++] = (struct law_point){it->peak_T, it->hysteresis_J_per_m3,
            it->has_covariance ? sqrt(it->covariance[0][0]) / it->hysteresis_J_per_m3 : 0};
    }
}

static void take_loops(const struct series *series, struct law_points *points)
{
    size_t best = series->normal;
    points->count = 0;
    for (size_t c = 0; best == SERIES_NONE && c < series->curve_count; c++)
        if (series->curves[c].count >= 3)
            best = c;
    if (best == SERIES_NONE)
        return;
    const struct series_curve *curve = &series->curves[best];
    for (size_t i = 0; i < curve->count; i++) {
        const struct series_loop *loop = &series->loops[curve->loop[i]];
        if (!isnan(loop->energy))
            points->list[points->count++] =
                (struct law_point){curve->peak[i], loop->energy, loop->u_energy / loop->energy};
    }
}

/* --- fits --------------------------------------------------------------------------------------
 */

static double get_exponent(const struct series_power_law *law, double peak)
{
    return law->exponent + law->exponent_per_T * peak;
}

static double get_residual(const struct series_power_law *law, const struct law_point *point)
{
    return point->energy / (law->coefficient * pow(point->peak, get_exponent(law, point->peak))) -
           1;
}

static void set_residuals(struct series_power_law *law, const struct law_points *points)
{
    double sum = 0;
    size_t run = 0, longest = 0;
    law->count = points->count;
    law->least_T = points->list[0].peak;
    law->most_T = points->list[points->count - 1].peak;
    for (size_t i = 0; i < points->count; i++) {
        const double off = get_residual(law, &points->list[i]);
        sum += off * off;
        law->residual_most = fmax(law->residual_most, fabs(off));
        run = fabs(off) <= HOLDS ? run + 1 : 0;
        if (run > longest && run >= 2) {
            longest = run;
            law->holds_least_T = points->list[i + 1 - run].peak;
            law->holds_most_T = points->list[i].peak;
        }
    }
    law->residual_relative = sqrt(sum / (double)points->count);
}

/* Logarithm of the coefficient, exponent, exponent per tesla. */
static void set_terms(struct series_power_law *law, const struct law_points *points,
    const double *solution, const double *covariance, size_t terms, double sum)
{
    double least = INFINITY, share = 0, variance[TERMS] = {0};
    for (size_t i = 0; i < points->count; i++)
        least = fmin(least, points->list[i].u);
    const bool has_u = least > 0;
    for (size_t i = 0; has_u && i < points->count; i++)
        share += (1 - pow(least / points->list[i].u, 2)) / (double)points->count;
    const double rest = points->count > terms ? sum / (double)(points->count - terms) : 0;
    for (size_t t = 0; t < terms; t++)
        variance[t] = fmax(share, rest) * covariance[t * (terms + 1)];
    law->has_u = has_u || points->count > terms;
    law->coefficient = exp(solution[0]);
    law->u_coefficient = law->coefficient * sqrt(variance[0] + least * least);
    law->exponent = law->is_fixed ? STEINMETZ : solution[1];
    law->u_exponent = law->is_fixed ? 0 : sqrt(variance[1]);
    law->exponent_per_T = law->is_varying ? solution[2] : 0;
    law->u_exponent_per_T = law->is_varying ? sqrt(variance[2]) : 0;
}

static bool has_uncertainties(const struct law_points *points)
{
    for (size_t i = 0; i < points->count; i++)
        if (!(points->list[i].u > 0))
            return false;
    return true;
}

static void fit(struct series_power_law *law, const struct law_points *points)
{
    const size_t terms = law->is_fixed ? 1 : law->is_varying ? 3 : 2;
    const bool has_u = has_uncertainties(points);
    double *matrix = points->room, *values = matrix + TERMS * points->count,
           *weights = values + points->count;
    double solution[TERMS], covariance[TERMS * TERMS], sum;
    struct error err;
    if (points->count < terms + 1)
        return;
    for (size_t i = 0; i < points->count; i++) {
        const struct law_point *point = &points->list[i];
        const double x = log(point->peak), row[TERMS] = {1, x, point->peak * x};
        memcpy(matrix + i * terms, row, terms * sizeof *row);
        values[i] = log(point->energy) - (law->is_fixed ? STEINMETZ * x : 0);
        weights[i] = has_u ? 1 / (point->u * point->u) : 1;
    }
    const struct linear_problem problem = {matrix, values, weights, points->count, terms};
    if (linear_problem_solve(&problem, solution, covariance, &sum, &err))
        return;
    law->is_present = true;
    set_terms(law, points, solution, covariance, terms, sum);
    set_residuals(law, points);
}

enum status series_set_laws(
    struct series *series, const struct series_options *options, struct error *err)
{
    const size_t most =
        series->count > series->separation_count ? series->count : series->separation_count;
    struct law_points points = {.list = memory_create(most, sizeof *points.list),
        .room = memory_create((TERMS + 2) * most, sizeof *points.room)};
    series->fixed.is_fixed = true;
    series->varying.is_varying = true;
    if (!points.list || !points.room) {
        memory_destroy(points.list);
        memory_destroy(points.room);
        return fail_memory(err);
    }
    take_separations(series, &points);
    series->is_separated = points.count >= 3;
    if (!series->is_separated)
        take_loops(series, &points);
    fit(&series->free, &points);
    fit(&series->fixed, &points);
    if (options->has_varying)
        fit(&series->varying, &points);
    memory_destroy(points.list);
    memory_destroy(points.room);
    return STATUS_OK;
}
