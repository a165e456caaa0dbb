// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/grid.h"

#include <float.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/memory.h"

#define SEARCH_STEPS 200 /* more than a double has bits */
#define SIMPLE_DIGITS 6

/* Corners of the points' hull, relative to a line that is near them: one chain bounds them from
 * above, the other from below. */
struct hull {
    double *index;
    double *rest;
    size_t count;
};

void grid_compute_line(const struct grid_points *points, double *start_s, double *interval_s)
{
    double count = (double)points->count;
    double index_mean = 0;
    double time_mean = 0;
    double products = 0;
    double squares = 0;
    for (size_t i = 0; i < points->count; i++) {
        index_mean += points->index[i] / count;
        time_mean += points->time[i] / count;
    }
    for (size_t i = 0; i < points->count; i++) {
        double away = points->index[i] - index_mean;
        products += away * (points->time[i] - time_mean);
        squares += away * away;
    }
    *interval_s = products / squares;
    *start_s = time_mean - *interval_s * index_mean;
}

/* --- the hull ---------------------------------------------------------------------------------
 */

static enum status hull_create(struct hull *hull, size_t count, struct error *err)
{
    hull->index = memory_create(count, sizeof *hull->index);
    hull->rest = memory_create(count, sizeof *hull->rest);
    hull->count = 0;
    return hull->index == NULL || hull->rest == NULL ? fail_memory(err) : STATUS_OK;
}

static void hull_destroy(struct hull *hull)
{
    memory_destroy(hull->index);
    memory_destroy(hull->rest);
}

/* Whether the last corner but one, the last and a new point turn the wrong way (or not at all). */
static bool is_hidden(const struct hull *hull, double index, double rest, double side)
{
    size_t last = hull->count - 1;
    double first_run = hull->index[last] - hull->index[last - 1];
    double second_run = index - hull->index[last];
    double first_rise = hull->rest[last] - hull->rest[last - 1];
    double second_rise = rest - hull->rest[last];
    return side * (second_rise * first_run - first_rise * second_run) >= 0;
}

/* Adds a point to the right; `side` 1 for the chain above, -1 for that below. */
static void hull_add(struct hull *hull, double index, double rest, double side)
{
    while (hull->count > 1 && is_hidden(hull, index, rest, side)) {
        hull->count--;
    }
    hull->index[hull->count] = index;
    hull->rest[hull->count++] = rest;
}

/* The largest of side * (rest - slope * index). */
static double find_extreme(const struct hull *hull, double slope, double side)
{
    double extreme = -INFINITY;
    for (size_t i = 0; i < hull->count; i++) {
        extreme = fmax(extreme, side * (hull->rest[i] - slope * hull->index[i]));
    }
    return extreme;
}

static double find_spread(const struct hull *above, const struct hull *below, double slope)
{
    return find_extreme(above, slope, 1) + find_extreme(below, slope, -1);
}

/* --- the band ---------------------------------------------------------------------------------
 */

/* The slope of the smallest spread, by golden-section search. */
static double find_middle(const struct hull *above, const struct hull *below, double reach)
{
    const double golden = 0.6180339887498949;
    double low = -reach;
    double high = reach;
    double a = high - golden * (high - low);
    double b = low + golden * (high - low);
    double spread_a = find_spread(above, below, a);
    double spread_b = find_spread(above, below, b);
    for (int i = 0; i < SEARCH_STEPS && high - low > DBL_MIN; i++) {
        if (spread_a <= spread_b) {
            high = b;
            b = a;
            spread_b = spread_a;
            a = high - golden * (high - low);
            spread_a = find_spread(above, below, a);
        } else {
            low = a;
            a = b;
            spread_a = spread_b;
            b = low + golden * (high - low);
            spread_b = find_spread(above, below, b);
        }
    }
    return 0.5 * (low + high);
}

/* The slope between `inside` (spread small enough) and `outside` where the spread passes the limit,
 * by bisection; on the inside. */
static double find_edge(
    const struct hull *above, const struct hull *below, double inside, double outside, double limit)
{
    for (int i = 0; i < SEARCH_STEPS; i++) {
        double middle = 0.5 * (inside + outside);
        if (middle == inside || middle == outside) {
            break;
        }
        if (find_spread(above, below, middle) <= limit) {
            inside = middle;
        } else {
            outside = middle;
        }
    }
    return inside;
}

static void find_band(const struct hull *above, const struct hull *below, double length,
    double limit, double interval, struct grid_band *band)
{
    double reach = 2 * (find_spread(above, below, 0) + limit) / length;
    double middle = find_middle(above, below, reach);
    band->is_possible = find_spread(above, below, middle) <= limit;
    band->least = interval + middle;
    band->most = interval + middle;
    if (band->is_possible) {
        band->least = interval + find_edge(above, below, middle, -reach, limit);
        band->most = interval + find_edge(above, below, middle, reach, limit);
    }
}

enum status grid_find_band(const struct grid_points *points, double half_width_s,
    struct grid_band *band, struct error *err)
{
    double start;
    double interval;
    struct hull above = {0};
    struct hull below = {0};
    enum status status = hull_create(&above, points->count, err);
    if (status == STATUS_OK) {
        status = hull_create(&below, points->count, err);
    }
    if (status == STATUS_OK) {
        double first = points->index[0];
        grid_compute_line(points, &start, &interval);
        start += interval * first;
        for (size_t i = 0; i < points->count; i++) {
            double index = points->index[i] - first;
            double rest = points->time[i] - start - interval * index;
            hull_add(&above, index, rest, 1);
            hull_add(&below, index, rest, -1);
        }
        find_band(&above, &below, points->index[points->count - 1] - first, 2 * half_width_s,
            interval, band);
    }
    hull_destroy(&above);
    hull_destroy(&below);
    return status;
}

/* --- simple numbers ---------------------------------------------------------------------------
 */

/* The number with so many significant digits that is nearest to `value`: by way of its decimal
 * print, so that it is the double that a person means. */
static double round_to_digits(double value, int digits)
{
    char words[40];
    snprintf(words, sizeof words, "%.*e", digits - 1, value);
    return strtod(words, NULL); /* of the same locale, whichever it is */
}

double grid_find_simple_interval(double least, double most)
{
    double middle = 0.5 * (least + most);
    double rate = 0.5 * (1 / least + 1 / most);
    double width = (most - least) / middle;
    double expected = 10 * width; /* numbers of one digit between the two, at most */
    for (int digits = 1; digits <= SIMPLE_DIGITS; digits++) {
        if (expected > (digits <= 3 ? 1 : 0.1)) {
            break;
        }
        double by_interval = round_to_digits(middle, digits);
        double by_rate = 1 / round_to_digits(rate, digits);
        bool has_interval = by_interval >= least && by_interval <= most;
        bool has_rate = by_rate >= least && by_rate <= most;
        if (has_interval && has_rate) {
            return fabs(by_interval - middle) <= fabs(by_rate - middle) ? by_interval : by_rate;
        }
        if (has_interval || has_rate) {
            return has_interval ? by_interval : by_rate;
        }
        expected *= 10;
    }
    return 0;
}
