// SPDX-License-Identifier: GPL-3.0-or-later
/* Loops of one frequency as a curve: their tips, and figures between them.
 *
 * The normal curve is the locus of the tips of symmetric loops in the cyclic state (IEC 60050-221);
 * the tips of the lowest frequency stand for it, since eddy currents push a loop's tip outwards.
 *
 * Between loops the logarithms of figures are taken by a cubic through the four nearest ones over
 * the logarithm of the peak (num/local_cubic.h): power laws come out exactly. The uncertainty of
 * what is interpolated has four parts: what all loops share (the least relative u of them, as of
 * one rig and one ring: it does not average out), the rest of each loop's own, the peak's own u
 * through the slope, and for the interpolation a third of the distance to the parabola. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "num/local_cubic.h"
#include "quantity/constant.h"
#include "series/curve_part.h"
#include "series/series_part.h"

/* Points nearer than this (relative) become one, at their mean: a polynomial through both would
 * amplify what parts them. */
static const double NODE_DISTANCE = 0.02;

/* How far beyond its ends a curve may be read (relative). */
static const double OVERHANG = 5e-3;

/* Share of the distance of cubic and parabola that counts as the interpolation's u. */
static const double CUBIC_SHARE = 1.0 / 3;

static double get_value(const struct series *series, size_t loop, enum figure figure)
{
    const struct figure_value *value = &series->loops[loop].figures.list[figure];
    return value->is_present ? value->value : NAN;
}

static double get_u(const struct series *series, size_t loop, enum figure figure)
{
    const struct figure_value *value = &series->loops[loop].figures.list[figure];
    return value->is_present && value->has_u ? value->u : 0;
}

/* --- curves ------------------------------------------------------------------------------------
 */

static void set_permeability(const struct series *series, struct series_curve *curve, size_t i)
{
    const size_t loop = curve->loop[i];
    const double told = get_value(series, loop, FIGURE_AMPLITUDE_PERMEABILITY);
    const double flux = get_value(series, loop, FIGURE_FLUX_DENSITY_PEAK);
    const double polarization = get_value(series, loop, FIGURE_POLARIZATION_PEAK);
    const double field = curve->field_peak[i];
    const double at_tip = !isnan(flux) ? flux : polarization + MAGNETIC_CONSTANT * field;
    curve->permeability[i] = !isnan(told) ? told : at_tip / (MAGNETIC_CONSTANT * field);
    curve->u_permeability[i] = get_u(series, loop, FIGURE_AMPLITUDE_PERMEABILITY);
    if (isnan(told) && curve->u_peak[i] > 0 && curve->u_field_peak[i] > 0)
        curve->u_permeability[i] = curve->permeability[i] * hypot(curve->u_peak[i] / curve->peak[i],
                                                                curve->u_field_peak[i] / field);
    if (curve->permeability[i] > 0 &&
        (curve->most == SERIES_NONE || curve->permeability[i] > curve->permeability[curve->most]))
        curve->most = i;
}

static enum status create_curve(const struct series *series, size_t first, size_t count,
    struct series_curve *curve, struct error *err)
{
    *curve = (struct series_curve){.count = count, .most = SERIES_NONE};
    curve->loop = memory_create(count, sizeof *curve->loop);
    curve->field_peak = memory_create(6 * count, sizeof *curve->field_peak);
    if (!curve->loop || !curve->field_peak) {
        memory_destroy(curve->loop);
        memory_destroy(curve->field_peak);
        return fail_memory(err);
    }
    curve->u_field_peak = curve->field_peak + count;
    curve->peak = curve->field_peak + 2 * count;
    curve->u_peak = curve->field_peak + 3 * count;
    curve->permeability = curve->field_peak + 4 * count;
    curve->u_permeability = curve->field_peak + 5 * count;
    for (size_t i = 0; i < count; i++) {
        const size_t loop = first + i;
        const double frequency = get_value(series, loop, FIGURE_FREQUENCY);
        curve->loop[i] = loop;
        curve->frequency_Hz += isnan(frequency) ? 0 : frequency;
        curve->field_peak[i] = get_value(series, loop, FIGURE_FIELD_PEAK);
        curve->u_field_peak[i] = get_u(series, loop, FIGURE_FIELD_PEAK);
        curve->peak[i] = series_get_peak(series, loop);
        curve->u_peak[i] = get_u(series, loop, series_get_peak_figure(series));
        set_permeability(series, curve, i);
    }
    curve->frequency_Hz /= (double)count;
    return STATUS_OK;
}

/* How many loops from `first` on are of its frequency: peaks rise within one, frequencies between.
 */
static size_t count_frequency(const struct series *series, size_t first)
{
    size_t end = first + 1;
    double last = get_value(series, first, FIGURE_FREQUENCY);
    while (end < series->count) {
        const double frequency = get_value(series, end, FIGURE_FREQUENCY);
        if (isnan(last) ? !isnan(frequency)
                        : !(fabs(frequency / last - 1) <= SERIES_SAME_FREQUENCY))
            break;
        end++;
    }
    return end - first;
}

/* The lowest frequency with three amplitudes or more; else that with the most. */
static size_t find_normal(const struct series *series)
{
    size_t best = 0;
    for (size_t c = 0; c < series->curve_count; c++) {
        if (series->curves[c].most == SERIES_NONE)
            continue;
        if (series->curves[c].count >= 3)
            return c;
        if (series->curves[best].most == SERIES_NONE ||
            series->curves[c].count > series->curves[best].count)
            best = c;
    }
    return series->curves[best].most == SERIES_NONE ? SERIES_NONE : best;
}

static void find_largest(struct series *series)
{
    series->largest = SERIES_NONE;
    for (size_t i = 0; i < series->count; i++) {
        const double field = get_value(series, i, FIGURE_FIELD_PEAK);
        if (!isnan(field) && (series->largest == SERIES_NONE ||
                                 field > get_value(series, series->largest, FIGURE_FIELD_PEAK)))
            series->largest = i;
    }
    if (series->largest == SERIES_NONE)
        return;
    const double coercivity = get_value(series, series->largest, FIGURE_COERCIVITY);
    series->is_major = get_value(series, series->largest, FIGURE_FIELD_PEAK) >= 3 * coercivity;
}

enum status series_set_curves(struct series *series, struct error *err)
{
    series->curves = memory_create(series->count, sizeof *series->curves);
    if (!series->curves)
        return fail_memory(err);
    for (size_t first = 0; first < series->count;) {
        size_t count = count_frequency(series, first);
        enum status status =
            create_curve(series, first, count, &series->curves[series->curve_count], err);
        if (status)
            return status;
        series->curve_count++;
        first += count;
    }
    series->normal = find_normal(series);
    find_largest(series);
    return STATUS_OK;
}

/* --- between the loops -------------------------------------------------------------------------
 */

static int compare(const void *left, const void *right)
{
    const struct curve_node *a = left, *b = right;
    return a->x < b->x ? -1 : a->x > b->x;
}

/* Foreign loops may have peaks and losses without a logarithm. */
static size_t drop_endless(struct curve_node *nodes, size_t count)
{
    size_t kept = 0;
    for (size_t i = 0; i < count; i++)
        if (isfinite(nodes[i].x) && isfinite(nodes[i].y))
            nodes[kept++] = nodes[i];
    return kept;
}

/* Sorts by x and joins those that are too near; gives how many are left. */
static size_t join_nodes(struct curve_node *nodes, size_t count)
{
    size_t kept = 0;
    count = drop_endless(nodes, count);
    qsort(nodes, count, sizeof *nodes, compare);
    for (size_t i = 0; i < count;) {
        struct curve_node sum = {0};
        size_t n = 0;
        const double begin = nodes[i].x;
        for (; i < count && nodes[i].x - begin <= NODE_DISTANCE; i++, n++) {
            sum.x += nodes[i].x;
            sum.y += nodes[i].y;
            sum.u_x = fmax(sum.u_x, nodes[i].u_x);
            sum.u_y = fmax(sum.u_y, nodes[i].u_y);
        }
        sum.x /= (double)n;
        sum.y /= (double)n;
        nodes[kept++] = sum;
    }
    return kept;
}

/* The part of u that all nodes share. */
static double get_common(const struct curve_node *nodes, size_t count)
{
    double least = INFINITY;
    for (size_t i = 0; i < count; i++)
        least = fmin(least, nodes[i].u_y);
    return least;
}

bool curve_interpolate(
    struct curve_node *nodes, size_t count, double at, struct curve_node *found, double *common)
{
    struct local_cubic cubic;
    count = join_nodes(nodes, count);
    double *x = memory_create(count + 1, sizeof *x);
    if (!x || count == 0) {
        memory_destroy(x);
        return false;
    }
    for (size_t i = 0; i < count; i++)
        x[i] = nodes[i].x;
    bool is_inside = at >= x[0] - OVERHANG && at <= x[count - 1] + OVERHANG;
    local_cubic_find(x, count, at, &cubic);
    memory_destroy(x);
    const double shared = get_common(nodes, count);
    double value = 0, lower = 0, slope = 0, variance = shared * shared, u_x = INFINITY;
    for (size_t i = 0; i < cubic.count; i++) {
        const struct curve_node *node = &nodes[cubic.first + i];
        value += cubic.weight[i] * node->y;
        lower += cubic.lower[i] * node->y;
        slope += cubic.slope[i] * node->y;
        variance += pow(cubic.weight[i], 2) * (pow(node->u_y, 2) - shared * shared);
        u_x = fmin(u_x, node->u_x);
    }
    variance += pow(slope * u_x, 2) + pow(CUBIC_SHARE * (value - lower), 2);
    *found = (struct curve_node){at, value, u_x, sqrt(variance)};
    if (common)
        *common = hypot(shared, slope * u_x);
    return is_inside;
}

/* Whether a figure lives on a logarithmic scale: all its values positive. */
static bool is_positive(
    const struct series *series, const struct series_curve *curve, enum figure figure)
{
    for (size_t i = 0; i < curve->count; i++)
        if (get_value(series, curve->loop[i], figure) <= 0)
            return false;
    return true;
}

static bool compute_figure(const struct series *series, const struct series_curve *curve,
    enum figure variable, double value, enum figure figure, struct curve_node *nodes,
    struct figures *figures)
{
    const bool is_log = is_positive(series, curve, figure);
    struct curve_node found;
    size_t count = 0;
    for (size_t i = 0; i < curve->count; i++) {
        const double x = get_value(series, curve->loop[i], variable);
        const double y = get_value(series, curve->loop[i], figure);
        const double u = get_u(series, curve->loop[i], figure);
        const double u_x = get_u(series, curve->loop[i], variable);
        if (isnan(x) || isnan(y))
            continue;
        nodes[count++] =
            (struct curve_node){log(x), is_log ? log(y) : y, u_x / x, is_log ? u / y : u};
    }
    if (count < 2 || !curve_interpolate(nodes, count, log(value), &found, NULL))
        return false;
    const double y = is_log ? exp(found.y) : found.y;
    bool has_u = false;
    for (size_t i = 0; i < count; i++)
        has_u = has_u || nodes[i].u_y > 0;
    figures_set(figures, figure, y);
    if (has_u)
        figures_set_u(figures, figure, is_log ? y * found.u_y : found.u_y);
    return true;
}

/* Figures that a loop has and no curve: counts, and what belongs to one capture. */
static bool is_of_steel(enum figure figure)
{
    switch (figure) {
    case FIGURE_FREQUENCY:
    case FIGURE_CYCLES:
    case FIGURE_HARMONICS:
    case FIGURE_FIELD_BIAS:
    case FIGURE_CLOSURE_GAP:
    case FIGURE_LOOP_AREA_CHORD:
    case FIGURE_LOOP_AREA_DRIFT_SHARED:
    case FIGURE_REMANENCE_ASYMMETRY:
    case FIGURE_COERCIVITY_ASYMMETRY:
    case FIGURE_COERCIVITY_J_ASYMMETRY:
        return false;
    default:
        return true;
    }
}

enum status series_compute_at(const struct series *series, size_t curve, enum figure variable,
    double value, struct figures *figures, struct error *err)
{
    const struct series_curve *it = &series->curves[curve];
    const char *name = figure_table[variable].name, *unit = figure_table[variable].unit;
    struct figures made = {0};
    double least = INFINITY, most = 0;
    for (size_t i = 0; i < it->count; i++) {
        const double x = get_value(series, it->loop[i], variable);
        least = x < least ? x : least;
        most = x > most ? x : most;
    }
    if (!(most > 0))
        return fail(
            err, STATUS_INPUT, "state another peak", "the loops do not tell their %s", name);
    if (!(value >= least * (1 - OVERHANG)) || !(value <= most * (1 + OVERHANG)))
        return fail(err, STATUS_INPUT, "stay within the measured range, or measure there",
            "a %s of %g %s is outside the loops at %.4g Hz (%.4g ... %.4g %s)", name, value, unit,
            it->frequency_Hz, least, most, unit);
    struct curve_node *nodes = memory_create(it->count, sizeof *nodes);
    if (!nodes)
        return fail_memory(err);
    figures_set(&made, variable, value);
    if (it->frequency_Hz > 0)
        figures_set(&made, FIGURE_FREQUENCY, it->frequency_Hz);
    for (enum figure figure = 0; figure < FIGURE_COUNT; figure++)
        if (figure != variable && is_of_steel(figure))
            (void)compute_figure(series, it, variable, value, figure, nodes, &made);
    memory_destroy(nodes);
    *figures = made;
    return STATUS_OK;
}

/* --- --at --------------------------------------------------------------------------------------
 */

/* Each wish on each curve that reaches it; one that no curve reaches is an error. */
enum status series_set_at(
    struct series *series, const struct series_options *options, struct error *err)
{
    if (options->wish_count == 0)
        return STATUS_OK;
    series->at = memory_create(options->wish_count * series->curve_count, sizeof *series->at);
    if (!series->at)
        return fail_memory(err);
    for (size_t w = 0; w < options->wish_count; w++) {
        const struct series_wish *wish = &options->wishes[w];
        size_t before = series->at_count;
        enum status status = STATUS_OK;
        enum figure variable = wish->variable == FIGURE_FLUX_DENSITY_PEAK
                                   ? series_get_peak_figure(series)
                                   : wish->variable;
        for (size_t c = 0; c < series->curve_count; c++) {
            struct series_at *at = &series->at[series->at_count];
            struct error inner;
            enum status got =
                series_compute_at(series, c, variable, wish->value, &at->figures, &inner);
            if (got) {
                status = got;
                *err = inner;
                continue;
            }
            at->variable = variable;
            at->value = wish->value;
            at->frequency_Hz = series->curves[c].frequency_Hz;
            series->at_count++;
        }
        if (series->at_count == before)
            return status;
    }
    return STATUS_OK;
}
