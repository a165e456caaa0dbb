// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/sampling.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>

#include "base/memory.h"
#include "capture/grid.h"

/* Deviations below this share of the interval are those of arithmetic in the logger. */
#define NEGLIGIBLE 1e-9
#define ROUNDINGS 4 /* of a double, from a printed time to here */

/* The known times, and what is worked out on the way. */
struct judgement {
    struct grid_points rows; /* index: the row's number, from 0 */
    double *places;          /* index on a grid on which rows are missing */
    double *steps;           /* between known rows, a row: for their median */
    double step;             /* their median */
    double half_width;       /* by how much a time may be off the grid */
    double quantum;
};

static void clear(struct judgement *judgement)
{
    memory_destroy(judgement->rows.index);
    memory_destroy(judgement->rows.time);
    memory_destroy(judgement->places);
    memory_destroy(judgement->steps);
}

static enum status fail_order(
    const double *times, size_t row, size_t before, size_t first_row, struct error *err)
{
    if (times[row] == times[before]) {
        return fail(err, STATUS_INPUT,
            "times printed with too few digits come out equal: print more of them, or give the "
            "sample rate instead",
            "row %zu has the time of row %zu before it, %.15g s", row + first_row,
            before + first_row, times[row]);
    }
    return fail(err, STATUS_INPUT,
        "cut the table where the clock was set or the logger began again: one recording each",
        "row %zu is earlier than row %zu before it: %.15g s after %.15g s", row + first_row,
        before + first_row, times[row], times[before]);
}

/* Takes the known times, which must increase. */
static enum status collect(struct judgement *judgement, const double *times, size_t count,
    size_t first_row, struct error *err)
{
    struct grid_points *rows = &judgement->rows;
    rows->index = memory_create(count, sizeof *rows->index);
    rows->time = memory_create(count, sizeof *rows->time);
    judgement->places = memory_create(count, sizeof *judgement->places);
    judgement->steps = memory_create(count, sizeof *judgement->steps);
    if (rows->index == NULL || rows->time == NULL || judgement->places == NULL ||
        judgement->steps == NULL) {
        return fail_memory(err);
    }
    size_t before = 0;
    for (size_t i = 0; i < count; i++) {
        if (!isfinite(times[i])) {
            continue;
        }
        if (rows->count > 0 && !(times[i] > times[before])) {
            return fail_order(times, i, before, first_row, err);
        }
        rows->index[rows->count] = (double)i;
        rows->time[rows->count++] = times[i];
        before = i;
    }
    if (rows->count < 3) {
        return fail(err, STATUS_INPUT, "three are needed to know the sampling",
            "only %zu of %zu times are known from row %zu on", rows->count, count, first_row);
    }
    return STATUS_OK;
}

/* --- steps ------------------------------------------------------------------------------------
 */

static double get_step(const struct grid_points *rows, size_t i)
{
    return (rows->time[i] - rows->time[i - 1]) / (rows->index[i] - rows->index[i - 1]);
}

static int compare(const void *a, const void *b)
{
    double first = *(const double *)a;
    double second = *(const double *)b;
    return (first > second) - (first < second);
}

static void measure_steps(struct judgement *judgement)
{
    const struct grid_points *rows = &judgement->rows;
    size_t count = rows->count - 1;
    for (size_t i = 1; i <= count; i++) {
        judgement->steps[i - 1] = get_step(rows, i);
    }
    qsort(judgement->steps, count, sizeof *judgement->steps, compare);
    judgement->step = judgement->steps[count / 2];
    double largest = fmax(fabs(rows->time[0]), fabs(rows->time[count]));
    judgement->half_width =
        0.5 * judgement->quantum + NEGLIGIBLE * judgement->step + ROUNDINGS * DBL_EPSILON * largest;
}

/* --- grids on which rows are missing ----------------------------------------------------------
 */

/* The longest stretch of rows whose steps are the median's but for the printed rounding: begin and
 * number of rows. */
static struct grid_points find_stretch(const struct judgement *judgement)
{
    const struct grid_points *rows = &judgement->rows;
    struct grid_points longest = {rows->index, rows->time, 1};
    size_t begin = 0;
    for (size_t i = 1; i < rows->count; i++) {
        if (fabs(get_step(rows, i) - judgement->step) > 4 * judgement->half_width) {
            begin = i;
        }
        if (i - begin + 1 > longest.count) {
            longest = (struct grid_points){rows->index + begin, rows->time + begin, i - begin + 1};
        }
    }
    return longest;
}

/* Gives every known row its place on a grid whose interval is in the band; false when a step is no
 * whole number of intervals, or may be two. */
static bool find_places(struct judgement *judgement, const struct grid_band *band)
{
    const struct grid_points *rows = &judgement->rows;
    double interval = 0.5 * (band->least + band->most);
    double doubt = 0.5 * (band->most - band->least);
    double place = rows->index[0];
    judgement->places[0] = place;
    for (size_t i = 1; i < rows->count; i++) {
        double step = rows->time[i] - rows->time[i - 1];
        double whole = rint(step / interval);
        double slack = 2 * judgement->half_width + whole * doubt;
        if (whole < rows->index[i] - rows->index[i - 1] || slack >= 0.5 * interval ||
            fabs(step - whole * interval) > slack) {
            return false;
        }
        place += whole;
        judgement->places[i] = place;
    }
    return true;
}

/* Looks for a grid on which rows are missing; `points` then has the places on it. */
static enum status find_sparse_grid(struct judgement *judgement, struct grid_points *points,
    struct grid_band *band, struct error *err)
{
    struct grid_points stretch = find_stretch(judgement);
    band->is_possible = false;
    if (stretch.count < 3) {
        return STATUS_OK;
    }
    enum status status = grid_find_band(&stretch, judgement->half_width, band, err);
    if (status != STATUS_OK || !band->is_possible) {
        return status;
    }
    if (!find_places(judgement, band)) {
        band->is_possible = false;
        return STATUS_OK;
    }
    *points = judgement->rows;
    points->index = judgement->places;
    return grid_find_band(points, judgement->half_width, band, err);
}

/* Places by the rounded steps, for times that are on no grid. */
static struct grid_points place_roughly(struct judgement *judgement)
{
    const struct grid_points *rows = &judgement->rows;
    struct grid_points points = *rows;
    points.index = judgement->places;
    points.index[0] = rows->index[0];
    for (size_t i = 1; i < rows->count; i++) {
        double whole = rint((rows->time[i] - rows->time[i - 1]) / judgement->step);
        points.index[i] = points.index[i - 1] + fmax(whole, rows->index[i] - rows->index[i - 1]);
    }
    return points;
}

/* --- the result -------------------------------------------------------------------------------
 */

/* The interval in the band: the simplest number, else that of least squares. */
static double choose_interval(const struct grid_points *points, const struct grid_band *band)
{
    double start;
    double interval;
    double simple = grid_find_simple_interval(band->least, band->most);
    if (simple > 0) {
        return simple;
    }
    grid_compute_line(points, &start, &interval);
    return fmin(fmax(interval, band->least), band->most);
}

/* The start that keeps every time within the half-width: the printed one of row 0 if it does, else
 * the nearest to the mean. */
static double choose_start(const struct grid_points *points, double interval, double half_width)
{
    double least = -INFINITY;
    double most = INFINITY;
    double mean = 0;
    for (size_t i = 0; i < points->count; i++) {
        double start = points->time[i] - points->index[i] * interval;
        least = fmax(least, start - half_width);
        most = fmin(most, start + half_width);
        mean += start / (double)points->count;
    }
    double first = points->index[0] == 0 ? points->time[0] : mean;
    return first >= least && first <= most ? first : fmin(fmax(mean, least), most);
}

static void measure_jitter(
    const struct grid_points *points, double start, double interval, struct sampling *sampling)
{
    double squares = 0;
    double largest = 0;
    for (size_t i = 0; i < points->count; i++) {
        double off = points->time[i] - (start + points->index[i] * interval);
        squares += off * off;
        largest = fmax(largest, fabs(off));
    }
    sampling->jitter_rms_s = sqrt(squares / (double)points->count);
    sampling->jitter_max_s = largest;
}

/* Steps in which rows are missing: those that are there, with unknown times, do not count. A clock
 * that jitters by half an interval makes steps of two without losing a row. */
static void measure_gaps(const struct grid_points *rows, double interval, struct sampling *sampling)
{
    const double limit = sampling->is_grid ? 1.5 : 2.5;
    for (size_t i = 1; i < rows->count; i++) {
        double unknown = rows->index[i] - rows->index[i - 1] - 1;
        double step = rows->time[i] - rows->time[i - 1] - unknown * interval;
        if (step > limit * interval) {
            sampling->gap_count++;
            sampling->gap_longest_s = fmax(sampling->gap_longest_s, step);
        }
    }
}

static enum status judge(struct judgement *judgement, struct sampling *sampling, struct error *err)
{
    struct sampling found = {0};
    struct grid_band band;
    struct grid_points points = judgement->rows;
    enum status status = grid_find_band(&points, judgement->half_width, &band, err);
    found.is_even = status == STATUS_OK && band.is_possible;
    if (status == STATUS_OK && !found.is_even) {
        status = find_sparse_grid(judgement, &points, &band, err);
    }
    if (status != STATUS_OK) {
        return status;
    }
    found.is_grid = band.is_possible;
    if (found.is_grid) {
        found.interval_s = choose_interval(&points, &band);
        found.start_s = choose_start(&points, found.interval_s, judgement->half_width);
        measure_jitter(&points, found.start_s, found.interval_s, &found);
    } else {
        double start;
        double interval;
        points = place_roughly(judgement);
        grid_compute_line(&points, &start, &interval);
        found.interval_s = judgement->step;
        measure_jitter(&points, start, interval, &found);
    }
    measure_gaps(&judgement->rows, found.interval_s, &found);
    *sampling = found;
    return STATUS_OK;
}

enum status sampling_judge(const double *times, size_t count, double quantum_s, size_t first_row,
    struct sampling *sampling, struct error *err)
{
    struct judgement judgement = {.quantum = quantum_s};
    enum status status = collect(&judgement, times, count, first_row, err);
    if (status == STATUS_OK) {
        measure_steps(&judgement);
        status = judge(&judgement, sampling, err);
    }
    clear(&judgement);
    return status;
}
