// SPDX-License-Identifier: GPL-3.0-or-later
/* The reluctivity over B²: what solvers interpolate on straight lines. Stretches of the curve are
 * halved until the line is near enough, and until H = nu B rises along it. */
#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "card/solver.h"

#define BOUND 2e-4
#define HALVINGS 16

/* The curve at a field from its points and slopes: cubic between two (Hermite), straight beyond. */
static double get_flux_density(const struct card_graph *curve, double field, double *slope)
{
    size_t low = 0, high = curve->count - 1;
    while (high - low > 1) {
        const size_t middle = low + (high - low) / 2;
        if (curve->field[middle] <= field) {
            low = middle;
        } else {
            high = middle;
        }
    }
    const double span = curve->field[high] - curve->field[low];
    const double t = fmin(fmax((field - curve->field[low]) / span, 0.0), 1.0);
    const double beyond = field - (curve->field[low] + t * span);
    const double rise = curve->flux_density[high] - curve->flux_density[low];
    const double a = curve->slope[low] * span, b = curve->slope[high] * span;
    const double bend = a + b - 2.0 * rise, turn = 3.0 * rise - 2.0 * a - b;
    const double steep = ((3.0 * bend * t + 2.0 * turn) * t + a) / span;
    if (slope != NULL) {
        *slope = steep;
    }
    return curve->flux_density[low] + ((bend * t + turn) * t + a) * t +
           (t == 0.0 || t == 1.0 ? steep * beyond : 0.0);
}

struct table {
    size_t count, capacity;
    double *squared, *reluctivity;
};

static bool table_add(struct table *table, double squared, double reluctivity)
{
    if (table->count == table->capacity) {
        return false;
    }
    table->squared[table->count] = squared;
    table->reluctivity[table->count++] = reluctivity;
    return true;
}

/* nu at a field above 0, and B². */
static double get_reluctivity(const struct card_graph *curve, double field, double *squared)
{
    double slope;
    const double flux_density = get_flux_density(curve, field, &slope);
    *squared = flux_density * flux_density;
    return field > 0 ? field / flux_density : 1.0 / slope;
}

/* Whether the straight line nu(B²) between two fields is near enough, and H = nu B rises on it. */
static bool is_near(const struct card_graph *curve, double low, double high)
{
    double s0, s1;
    const double n0 = get_reluctivity(curve, low, &s0), n1 = get_reluctivity(curve, high, &s1);
    const double steep = (n1 - n0) / (s1 - s0);
    for (int i = 1; i < 4; i++) {
        double s;
        const double n = get_reluctivity(curve, low + 0.25 * i * (high - low), &s);
        if (fabs(n0 + steep * (s - s0) - n) > BOUND * n) {
            return false;
        }
    }
    return n0 + 2.0 * s0 * steep > 0 && n1 + 2.0 * s1 * steep > 0;
}

/* Adds the table's points behind `low` up to `high`. */
static bool refine(
    const struct card_graph *curve, double low, double high, int halvings, struct table *table)
{
    const double middle = 0.5 * (low + high);
    if (halvings > 0 && !is_near(curve, low, high)) {
        return refine(curve, low, middle, halvings - 1, table) &&
               refine(curve, middle, high, halvings - 1, table);
    }
    double squared;
    const double reluctivity = get_reluctivity(curve, high, &squared);
    return table_add(table, squared, reluctivity);
}

enum status card_reluctivity_make(struct card *card, struct error *err)
{
    const struct card_graph *curve = &card->solver.curve;
    struct table table = {.capacity = CARD_LIST_MOST,
        .squared = memory_create(CARD_LIST_MOST, sizeof(double)),
        .reluctivity = memory_create(CARD_LIST_MOST, sizeof(double))};
    enum status status =
        table.squared == NULL || table.reluctivity == NULL ? fail_memory(err) : STATUS_OK;
    bool is_room = status == STATUS_OK && table_add(&table, 0.0, 1.0 / curve->slope[0]);
    for (size_t i = 1; is_room && i < curve->count; i++) {
        is_room = refine(curve, curve->field[i - 1], curve->field[i], HALVINGS, &table);
    }
    if (status == STATUS_OK && !is_room) {
        status = fail(err, STATUS_INPUT, "measure fewer amplitudes, or leave repeats out",
            "the table of reluctivity would have more than %d points", CARD_LIST_MOST);
    }
    struct card_reluctivity *made = &card->solver.reluctivity;
    if (status == STATUS_OK) {
        made->flux_density_squared = card_create_numbers(card, table.count);
        made->reluctivity = card_create_numbers(card, table.count);
        status = card->failed ? fail_memory(err) : STATUS_OK;
    }
    if (status == STATUS_OK) {
        memcpy(made->flux_density_squared, table.squared, table.count * sizeof(double));
        memcpy(made->reluctivity, table.reluctivity, table.count * sizeof(double));
        made->count = table.count;
        made->bound_relative = BOUND;
    }
    memory_destroy(table.squared);
    memory_destroy(table.reluctivity);
    return status;
}
