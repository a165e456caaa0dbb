// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop/trace.h"

#include <math.h>

#include "base/memory.h"
#include "quantity/constant.h"

static const double OVERRUN_SHARE = 0.01;
/* A traverse that ends above its first field by more than this share began inside a branch and is
 * not whole: nothing is cut, and the closure gap tells. */
static const double TIP_SHARE = 0.25;

/* A swing of the field by more than this share of its span is one from tip to tip: one traverse has
 * two at most, wherever it begins. */
static const double SWING_SHARE = 0.6;

enum { SWINGS_MAXIMUM = 2 };

void trace_clear(struct trace *trace)
{
    memory_destroy(trace->field);
    memory_destroy(trace->flux_density);
    *trace = (struct trace){0};
}

struct range {
    size_t lowest, highest; /* rows */
    double low, high;
};

static struct range find_range(const double *values, size_t count)
{
    struct range range = {.low = values[0], .high = values[0]};
    for (size_t i = 1; i < count; i++) {
        if (values[i] < range.low) {
            range.low = values[i];
            range.lowest = i;
        }
        if (values[i] > range.high) {
            range.high = values[i];
            range.highest = i;
        }
    }
    return range;
}

/* With the field's sign set so that the traverse first goes down: it is whole when, after its
 * lowest field, it is back at its first one, either rising (it began at a tip) or falling from the
 * top (it began inside a branch). Gives the first row beyond, or the count. */
static size_t find_end(const double *field, size_t count, double sign, double span)
{
    size_t lowest = 0;
    for (size_t i = 0; i < count; i++) {
        lowest = sign * field[i] < sign * field[lowest] ? i : lowest;
    }
    size_t highest = lowest;
    for (size_t i = lowest; i < count; i++) {
        highest = sign * field[i] > sign * field[highest] ? i : highest;
    }
    const double first = sign * field[0], last = sign * field[count - 1];
    const double top = sign * field[highest], margin = OVERRUN_SHARE * span;
    if (last > first + margin && top - first <= TIP_SHARE * span) {
        for (size_t i = lowest; i < count; i++) {
            if (sign * field[i] > first) {
                return i;
            }
        }
    }
    if (last < first - margin && top >= first - margin) {
        for (size_t i = highest; i < count; i++) {
            if (sign * field[i] < first) {
                return i;
            }
        }
    }
    return count;
}

size_t trace_cut_overrun(struct trace *trace)
{
    if (trace->count < TRACE_ROWS_LEAST) {
        return 0;
    }
    const struct range range = find_range(trace->field, trace->count);
    const double span = range.high - range.low, margin = OVERRUN_SHARE * span;
    double sign = 0.0;
    for (size_t i = 1; i < trace->count && sign == 0.0; i++) {
        const double moved = trace->field[i] - trace->field[0];
        sign = moved < -margin ? 1.0 : moved > margin ? -1.0 : 0.0;
    }
    if (sign == 0.0) {
        return 0;
    }
    const size_t end = find_end(trace->field, trace->count, sign, span);
    const size_t dropped = trace->count - end;
    trace->count = end;
    return dropped;
}

double trace_compute_area(const struct trace *trace)
{
    double area = 0.0;
    for (size_t i = 0; i < trace->count; i++) {
        const size_t j = i + 1 < trace->count ? i + 1 : 0;
        area += 0.5 * (trace->field[i] + trace->field[j]) *
                (trace->flux_density[j] - trace->flux_density[i]);
    }
    return area;
}

static size_t count_swings(const double *field, size_t count, double span)
{
    double low = field[0], high = field[0];
    size_t swings = 0;
    int direction = 0; /* of the last swing */
    for (size_t i = 1; i < count; i++) {
        low = fmin(low, field[i]);
        high = fmax(high, field[i]);
        if (direction <= 0 && field[i] - low > SWING_SHARE * span) {
            direction = 1;
        } else if (direction >= 0 && high - field[i] > SWING_SHARE * span) {
            direction = -1;
        } else {
            continue;
        }
        swings++;
        low = high = field[i];
    }
    return swings;
}

/* The mean of `other` where `base` passes zero on the way from row `from` to row `to` around the
 * closed polygon. */
static double read_branch(
    const double *base, const double *other, size_t count, size_t from, size_t to)
{
    double sum = 0.0;
    size_t found = 0;
    for (size_t i = from, j; i != to; i = j) {
        j = i + 1 < count ? i + 1 : 0;
        if ((base[i] < 0.0) != (base[j] < 0.0)) {
            const double share = base[i] / (base[i] - base[j]);
            sum += other[i] + share * (other[j] - other[i]);
            found++;
        }
    }
    return found > 0 ? sum / (double)found : NAN;
}

static enum status set_sides(const double *base, const double *other, const struct trace *trace,
    const struct range *field, double sign, enum figure figure, enum figure side,
    struct figures *figures, struct error *err)
{
    const double falling =
        sign * read_branch(base, other, trace->count, field->highest, field->lowest);
    const double rising =
        -sign * read_branch(base, other, trace->count, field->lowest, field->highest);
    if (isnan(falling) || isnan(rising)) {
        return fail(err, STATUS_CAPTURE,
            "a trace is one whole traverse of a loop that surrounds the origin, in the order taken",
            "the trace does not pass zero on both of its branches");
    }
    figures_set(figures, figure, 0.5 * (falling + rising));
    figures_set(figures, side, falling);
    figures_set(figures, (enum figure)(side + 1), rising);
    const double sum = fabs(falling) + fabs(rising);
    if (sum > 0.0) {
        figures_set(figures, (enum figure)(side + 2), (fabs(falling) - fabs(rising)) / sum);
    }
    return STATUS_OK;
}

static double centre(double *values, size_t count)
{
    const struct range range = find_range(values, count);
    const double middle = 0.5 * (range.high + range.low);
    for (size_t i = 0; i < count; i++) {
        values[i] -= middle;
    }
    return 0.5 * (range.high - range.low);
}

static void share_gap(struct trace *trace, double gap)
{
    for (size_t i = 0; i < trace->count; i++) {
        trace->flux_density[i] -= gap * (double)i / (double)(trace->count - 1);
    }
}

/* The area both ways; the flux density is left as `drift` says. */
static void set_areas(
    struct trace *trace, enum trace_drift drift, double peak, struct figures *figures)
{
    const double gap = trace->flux_density[trace->count - 1] - trace->flux_density[0];
    const double chord = trace_compute_area(trace);
    share_gap(trace, gap);
    const double shared = trace_compute_area(trace);
    if (drift == TRACE_DRIFT_CHORD) {
        share_gap(trace, -gap);
    }
    figures_set(figures, FIGURE_CLOSURE_GAP, gap);
    figures_set(figures, FIGURE_LOOP_AREA_CHORD, chord);
    figures_set(figures, FIGURE_LOOP_AREA_DRIFT_SHARED, shared);
    figures_set(figures, FIGURE_LOOP_AREA, drift == TRACE_DRIFT_LINEAR ? shared : chord);
    figures_set_u(figures, FIGURE_LOOP_AREA, fabs(gap) * peak / sqrt(3.0));
}

static enum status set_crossings(const struct trace *trace, const double *polarization,
    const struct range *field, struct figures *figures, struct error *err)
{
    enum status status = set_sides(trace->field, trace->flux_density, trace, field, 1.0,
        FIGURE_REMANENCE, FIGURE_REMANENCE_FALLING, figures, err);
    if (status == STATUS_OK) {
        status = set_sides(trace->flux_density, trace->field, trace, field, -1.0, FIGURE_COERCIVITY,
            FIGURE_COERCIVITY_FALLING, figures, err);
    }
    if (status == STATUS_OK) {
        status = set_sides(polarization, trace->field, trace, field, -1.0, FIGURE_COERCIVITY_J,
            FIGURE_COERCIVITY_J_FALLING, figures, err);
    }
    return status;
}

enum status trace_compute_figures(
    struct trace *trace, enum trace_drift drift, struct figures *figures, struct error *err)
{
    if (trace->count < TRACE_ROWS_LEAST) {
        return fail(err, STATUS_CAPTURE, "a trace is one whole traverse of a loop",
            "the trace has only %zu rows, %d are needed", trace->count, TRACE_ROWS_LEAST);
    }
    const struct range field = find_range(trace->field, trace->count);
    if (count_swings(trace->field, trace->count, field.high - field.low) > SWINGS_MAXIMUM) {
        return fail(err, STATUS_CAPTURE, "a trace is one whole traverse of a loop: cut the table",
            "the trace goes around more than once");
    }
    double *polarization =
        trace->scratch != NULL ? trace->scratch : memory_create(trace->count, sizeof *polarization);
    if (polarization == NULL) {
        return fail_memory(err);
    }
    struct figures result = {0};
    const double hm = 0.5 * (field.high - field.low);
    set_areas(trace, drift, hm, &result);
    for (size_t i = 0; i < trace->count; i++) {
        polarization[i] = trace->flux_density[i] - MAGNETIC_CONSTANT * trace->field[i];
    }
    const double bm = centre(trace->flux_density, trace->count);
    figures_set(&result, FIGURE_FIELD_PEAK, hm);
    figures_set(&result, FIGURE_FLUX_DENSITY_PEAK, bm);
    figures_set(&result, FIGURE_POLARIZATION_PEAK, centre(polarization, trace->count));
    const enum status status = set_crossings(trace, polarization, &field, &result, err);
    if (polarization != trace->scratch) {
        memory_destroy(polarization);
    }
    if (status != STATUS_OK) {
        return status;
    }
    if (hm > 0.0 && bm > 0.0) {
        figures_set(&result, FIGURE_AMPLITUDE_PERMEABILITY, bm / (MAGNETIC_CONSTANT * hm));
        figures_set(&result, FIGURE_SQUARENESS, result.list[FIGURE_REMANENCE].value / bm);
        figures_set(
            &result, FIGURE_LOOP_FULLNESS, result.list[FIGURE_LOOP_AREA].value / (4.0 * hm * bm));
    }
    *figures = result;
    return STATUS_OK;
}
