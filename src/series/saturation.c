// SPDX-License-Identifier: GPL-3.0-or-later
/* Saturation by the law of approach (P. Weiss, J. de Physique 9 (1910) 373; N. S. Akulov, Z. Phys.
 * 69 (1931) 822): J = Js - a/H, where inclusions and strain rule, or J = Js - b/H², where the
 * anisotropy does. Which of the two a steel follows shows far above the fields of a ring only; both
 * are fitted to the upper half of the field range, the result lies in the middle, and their
 * distance is the full width of a rectangular contribution to u. The data do not carry a saturation
 * where the two are apart by more than 5 %, where J still rises by more than 5 % over that half,
 * and where the largest loop is no major loop or its branches have not met: the flat top of a loop
 * that turned back too early looks like saturation and is none. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "num/least_squares.h"
#include "quantity/constant.h"
#include "series/series_part.h"

#define POINTS_LEAST 4

static const double RANGE = 0.5;  /* of the peak field */
static const double LIMIT = 0.05; /* of Js */

/* The branches have met where they are nearer than this part of J. */
static const double BRANCHES = 0.02;

struct approach {
    double *field, *polarization, *matrix;
    size_t count;
    bool has_parted; /* the branches of the loop, above half of the peak field */
};

static void add(struct approach *approach, double field, double flux_density)
{
    approach->field[approach->count] = field;
    approach->polarization[approach->count++] = flux_density - MAGNETIC_CONSTANT * field;
}

/* J of the rising branch at a field: it ends at the tip `top`. NaN: not reached. */
static double get_rising(const struct series_loop *loop, size_t top, double field)
{
    for (size_t n = 1; n < loop->point_count; n++) {
        const size_t i = (top + loop->point_count - n) % loop->point_count;
        const size_t j = (i + 1) % loop->point_count;
        if (loop->field[i] > field || !(loop->field[j] > loop->field[i]))
            continue;
        const double share = (field - loop->field[i]) / (loop->field[j] - loop->field[i]);
        return loop->flux_density[i] + share * (loop->flux_density[j] - loop->flux_density[i]) -
               MAGNETIC_CONSTANT * field;
    }
    return NAN;
}

/* The falling branch of the largest loop from its positive tip, as far as the rising one is near.
 */
static void take_branch(const struct series_loop *loop, struct approach *approach)
{
    size_t top = 0;
    for (size_t i = 1; i < loop->point_count; i++)
        top = loop->field[i] > loop->field[top] ? i : top;
    const double most = loop->field[top];
    for (size_t n = 0; n < loop->point_count; n++) {
        const size_t i = (top + n) % loop->point_count;
        const double falling = loop->flux_density[i] - MAGNETIC_CONSTANT * loop->field[i];
        if (loop->field[i] < RANGE * most)
            break;
        if (n && !(falling - get_rising(loop, top, loop->field[i]) < BRANCHES * falling)) {
            approach->has_parted = true;
            break;
        }
        add(approach, loop->field[i], loop->flux_density[i]);
    }
}

/* Without points: the tips of the normal curve. */
static void take_tips(const struct series *series, struct approach *approach)
{
    const struct series_curve *curve = &series->curves[series->normal];
    const double most = curve->field_peak[curve->count - 1];
    for (size_t i = 0; i < curve->count; i++) {
        const struct series_loop *loop = &series->loops[curve->loop[i]];
        const struct figure_value *flux = &loop->figures.list[FIGURE_FLUX_DENSITY_PEAK];
        const struct figure_value *polarization = &loop->figures.list[FIGURE_POLARIZATION_PEAK];
        if (!(curve->field_peak[i] >= RANGE * most))
            continue;
        add(approach, curve->field_peak[i],
            flux->is_present ? flux->value
                             : polarization->value + MAGNETIC_CONSTANT * curve->field_peak[i]);
    }
}

static bool fit(const struct approach *approach, int power, double *saturation, double *u)
{
    double solution[2], covariance[4], sum;
    struct error err;
    for (size_t i = 0; i < approach->count; i++) {
        approach->matrix[2 * i] = 1;
        approach->matrix[2 * i + 1] = -pow(approach->field[0] / approach->field[i], power);
    }
    const struct linear_problem problem = {
        approach->matrix, approach->polarization, NULL, approach->count, 2};
    if (linear_problem_solve(&problem, solution, covariance, &sum, &err) || !(solution[1] > 0))
        return false;
    *saturation = solution[0];
    *u = sqrt(covariance[0] * sum / (double)(approach->count - 2));
    return true;
}

static double get_relative_u(const struct series *series)
{
    const struct figures *figures = &series->loops[series->largest].figures;
    const struct figure_value *flux = &figures->list[FIGURE_FLUX_DENSITY_PEAK];
    const struct figure_value *polarization = &figures->list[FIGURE_POLARIZATION_PEAK];
    const struct figure_value *told = polarization->is_present ? polarization : flux;
    return told->is_present && told->has_u ? told->u / told->value : 0;
}

static void refuse(struct series_saturation *saturation, const char *reason)
{
    snprintf(saturation->reason, sizeof saturation->reason, "%s", reason);
}

static void extrapolate(
    const struct series *series, const struct approach *approach, struct series_saturation *it)
{
    double steep, flat, u_steep, u_flat, least = INFINITY;
    char reason[sizeof it->reason];
    const struct figures *largest = &series->loops[series->largest].figures;
    it->count = approach->count;
    if (largest->list[FIGURE_COERCIVITY].is_present && !series->is_major) {
        refuse(it, "the largest loop is no major loop");
        return;
    }
    if (approach->has_parted) {
        refuse(it, "the branches of the largest loop part above half of its peak field");
        return;
    }
    if (approach->count < POINTS_LEAST) {
        refuse(it, "fewer than 4 points above half of the peak field");
        return;
    }
    it->field_least = INFINITY;
    for (size_t i = 0; i < approach->count; i++) {
        it->field_least = fmin(it->field_least, approach->field[i]);
        it->field_most = fmax(it->field_most, approach->field[i]);
        it->reached_T = fmax(it->reached_T, approach->polarization[i]);
        least = fmin(least, approach->polarization[i]);
    }
    if (it->reached_T - least > LIMIT * it->reached_T) {
        snprintf(reason, sizeof reason,
            "J still rises by %.2g %% over the upper half of the field (limit 5 %%)",
            100 * (it->reached_T - least) / it->reached_T);
        refuse(it, reason);
        return;
    }
    if (!fit(approach, 1, &flat, &u_flat) || !fit(approach, 2, &steep, &u_steep) ||
        fabs(flat - steep) > LIMIT * steep) {
        refuse(it, "the two laws of approach give different answers");
        return;
    }
    it->is_present = true;
    it->polarization_T = 0.5 * (flat + steep);
    it->u_polarization_T = hypot(hypot(0.5 * (flat - steep) / sqrt(3), fmax(u_flat, u_steep)),
        get_relative_u(series) * it->polarization_T);
}

enum status series_set_saturation(struct series *series, struct error *err)
{
    struct approach approach = {0};
    if (series->largest == SERIES_NONE || series->normal == SERIES_NONE) {
        refuse(&series->saturation, "the loops do not tell their peak field");
        return STATUS_OK;
    }
    const struct series_loop *loop = &series->loops[series->largest];
    const size_t most = loop->point_count > series->count ? loop->point_count : series->count;
    approach.field = memory_create(4 * most, sizeof *approach.field);
    if (!approach.field)
        return fail_memory(err);
    approach.polarization = approach.field + most;
    approach.matrix = approach.field + 2 * most;
    if (loop->point_count)
        take_branch(loop, &approach);
    else
        take_tips(series, &approach);
    extrapolate(series, &approach, &series->saturation);
    memory_destroy(approach.field);
    return STATUS_OK;
}
