// SPDX-License-Identifier: GPL-3.0-or-later
/* A cycle is parted at the extremes of its field. On each branch the rows at which the field does
 * not go on are passed over, J = B - mu0 H becomes the nearest sequence that never falls
 * (num/isotonic.h), which makes dB/dH >= mu0, and points are left out that the straight lines
 * between the others meet within the bound (num/thin.h). */
#include "card/branch.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "num/isotonic.h"
#include "num/thin.h"
#include "quantity/constant.h"

#define POINTS_LEAST 8
#define AREA_BOUND 2e-4 /* thinning may change the area between the branches by this part */
#define HALVINGS 12
#define TOO_NEAR 1e-9 /* of the range: two points that are one */

/* A branch in the making, by rising field. Room for the crossings is left. */
struct branch {
    double *field, *polarization, *flux_density;
    bool *is_crossing, *keep;
    size_t count;
};
#define CROSSINGS 2

static bool create_branch(struct branch *branch, size_t count)
{
    const size_t room = count + 1 + CROSSINGS;
    branch->field = memory_create(room, sizeof(double));
    branch->polarization = memory_create(room, sizeof(double));
    branch->flux_density = memory_create(room, sizeof(double));
    branch->is_crossing = memory_create(room, sizeof(bool));
    branch->keep = memory_create(room, sizeof(bool));
    return branch->field != NULL && branch->polarization != NULL && branch->flux_density != NULL &&
           branch->is_crossing != NULL && branch->keep != NULL;
}

static void clear_branch(struct branch *branch)
{
    memory_destroy(branch->field);
    memory_destroy(branch->polarization);
    memory_destroy(branch->flux_density);
    memory_destroy(branch->is_crossing);
    memory_destroy(branch->keep);
}

/* Takes the points first, first + step, ... (count of them, around the cycle), those at which the
 * field rises. The last always stays, being the extreme. */
static void take(struct branch *branch, const double *field, const double *flux_density,
    size_t cycle, size_t first, size_t step, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const size_t at = (first + i * step) % cycle;
        if (i > 0 && !(field[at] > branch->field[branch->count - 1])) {
            continue;
        }
        branch->field[branch->count] = field[at];
        branch->polarization[branch->count] = flux_density[at] - MAGNETIC_CONSTANT * field[at];
        branch->count++;
    }
}

/* Makes J monotone; how far it was moved, at most. */
static enum status make_monotone(struct branch *branch, double *change, struct error *err)
{
    enum status status =
        isotonic_compute(branch->polarization, branch->count, branch->flux_density, err);
    for (size_t i = 0; status == STATUS_OK && i < branch->count; i++) {
        *change = fmax(*change, fabs(branch->flux_density[i] - branch->polarization[i]));
        branch->polarization[i] = branch->flux_density[i];
    }
    return status;
}

/* Both branches end in the same points: the higher J above, the lower below, so that both stay
 * monotone. */
static void join_ends(struct branch *rising, struct branch *falling)
{
    double *low[2] = {&rising->polarization[0], &falling->polarization[0]};
    double *high[2] = {
        &rising->polarization[rising->count - 1], &falling->polarization[falling->count - 1]};
    *low[0] = *low[1] = fmin(*low[0], *low[1]);
    *high[0] = *high[1] = fmax(*high[0], *high[1]);
}

static void set_flux_density(struct branch *branch)
{
    for (size_t i = 0; i < branch->count; i++) {
        branch->flux_density[i] = branch->polarization[i] + MAGNETIC_CONSTANT * branch->field[i];
    }
}

/* Puts in the point where `by` (field or flux density of the branch) passes zero, and marks it. */
static void add_crossing(struct branch *branch, const double *by)
{
    const double near = TOO_NEAR * (by[branch->count - 1] - by[0]);
    size_t i = 1;
    while (i + 1 < branch->count && by[i] < -near) {
        i++;
    }
    const bool is_there = fabs(by[i]) <= near;
    const double share = is_there ? 1.0 : -by[i - 1] / (by[i] - by[i - 1]);
    double field = branch->field[i - 1] + share * (branch->field[i] - branch->field[i - 1]);
    double flux_density = branch->flux_density[i - 1] +
                          share * (branch->flux_density[i] - branch->flux_density[i - 1]);
    if (by == branch->field) {
        field = 0.0;
    } else {
        flux_density = 0.0;
    }
    if (!is_there) {
        const size_t behind = branch->count - i;
        memmove(&branch->field[i + 1], &branch->field[i], behind * sizeof(double));
        memmove(&branch->flux_density[i + 1], &branch->flux_density[i], behind * sizeof(double));
        memmove(&branch->is_crossing[i + 1], &branch->is_crossing[i], behind * sizeof(bool));
        branch->count++;
    }
    branch->field[i] = field;
    branch->flux_density[i] = flux_density;
    branch->is_crossing[i] = true;
}

static void add_crossings(struct branch *branch)
{
    add_crossing(branch, branch->field);
    add_crossing(branch, branch->flux_density);
}

static bool passes_zero(const double *list, size_t count)
{
    return count > 2 && list[0] < 0 && list[count - 1] > 0;
}

/* What is kept, as memory of the card; a point that rounding lets not rise is passed over. */
static struct card_graph keep_points(struct card *card, const struct branch *branch)
{
    struct card_graph graph = {.field = card_create_numbers(card, branch->count),
        .flux_density = card_create_numbers(card, branch->count)};
    size_t count = 0;
    if (graph.field == NULL || graph.flux_density == NULL) {
        return (struct card_graph){0};
    }
    for (size_t i = 0; i < branch->count; i++) {
        const bool is_rising =
            count == 0 || (branch->field[i] > graph.field[count - 1] &&
                              branch->flux_density[i] > graph.flux_density[count - 1]);
        if (branch->keep[i] && is_rising) {
            graph.field[count] = branch->field[i];
            graph.flux_density[count++] = branch->flux_density[i];
        }
    }
    graph.count = count;
    return graph;
}

/* Area under the points that stay. */
static double get_integral(const struct branch *branch, const bool *keep)
{
    double sum = 0;
    for (size_t i = 1, before = 0; i < branch->count; i++) {
        if (keep == NULL || keep[i]) {
            sum += 0.5 * (branch->flux_density[i] + branch->flux_density[before]) *
                   (branch->field[i] - branch->field[before]);
            before = i;
        }
    }
    return sum;
}

static enum status thin(struct branch *branch, double bound, struct error *err)
{
    memcpy(branch->keep, branch->is_crossing, branch->count * sizeof *branch->keep);
    return thin_compute(
        branch->field, branch->flux_density, branch->count, bound, branch->keep, err);
}

/* Thins both, with a lesser bound while the area between them suffers: in the tails of a soft steel
 * the branches are nearer to each other than any useful bound of B. */
static enum status thin_both(
    struct branch *rising, struct branch *falling, double *bound, struct error *err)
{
    const double area = get_integral(falling, NULL) - get_integral(rising, NULL);
    for (int halvings = 0;; halvings++) {
        enum status status = thin(rising, *bound, err);
        if (status == STATUS_OK) {
            status = thin(falling, *bound, err);
        }
        const double drawn =
            get_integral(falling, falling->keep) - get_integral(rising, rising->keep);
        if (status != STATUS_OK || halvings == HALVINGS ||
            fabs(drawn - area) <= AREA_BOUND * fabs(area)) {
            return status;
        }
        *bound *= 0.5;
    }
}

static enum status draw(struct card *card, struct branch *rising, struct branch *falling,
    double bound_relative, struct card_loop *loop, struct error *err)
{
    double change = 0;
    enum status status = make_monotone(rising, &change, err);
    if (status == STATUS_OK) {
        status = make_monotone(falling, &change, err);
    }
    if (status != STATUS_OK) {
        return status;
    }
    join_ends(rising, falling);
    set_flux_density(rising);
    set_flux_density(falling);
    if (!passes_zero(rising->field, rising->count) ||
        !passes_zero(rising->flux_density, rising->count) ||
        !passes_zero(falling->field, falling->count)) {
        return STATUS_OK;
    }
    add_crossings(rising);
    add_crossings(falling);
    double bound =
        bound_relative * fmax(-rising->flux_density[0], rising->flux_density[rising->count - 1]);
    status = thin_both(rising, falling, &bound, err);
    if (status != STATUS_OK) {
        return status;
    }
    struct card_graph up = keep_points(card, rising), down = keep_points(card, falling);
    if (up.count > 0 && down.count > 0) {
        loop->rising = up;
        loop->falling = down;
        loop->bound_T = bound;
        loop->monotone_change_T = change;
        loop->drawn_area_J_per_m3 = card_branch_get_area(&up, &down);
    }
    return STATUS_OK;
}

enum status card_branch_draw(struct card *card, const double *field, const double *flux_density,
    size_t count, double bound_relative, struct card_loop *loop, struct error *err)
{
    size_t lowest = 0, highest = 0;
    for (size_t i = 0; i < count; i++) {
        if (!isfinite(field[i]) || !isfinite(flux_density[i])) {
            return STATUS_OK;
        }
        lowest = field[i] < field[lowest] ? i : lowest;
        highest = field[i] > field[highest] ? i : highest;
    }
    if (count < POINTS_LEAST) {
        return STATUS_OK;
    }
    const size_t up = (highest + count - lowest) % count;
    struct branch rising = {0}, falling = {0};
    enum status status = STATUS_OK;
    if (!create_branch(&rising, count) || !create_branch(&falling, count)) {
        status = fail_memory(err);
    } else {
        take(&rising, field, flux_density, count, lowest, 1, up + 1);
        take(&falling, field, flux_density, count, lowest, count - 1, count - up + 1);
        loop->points_read = (double)count;
        status = draw(card, &rising, &falling, bound_relative, loop, err);
    }
    clear_branch(&rising);
    clear_branch(&falling);
    return status;
}

static double get_graph_integral(const struct card_graph *graph)
{
    double sum = 0;
    for (size_t i = 1; i < graph->count; i++) {
        sum += 0.5 * (graph->flux_density[i] + graph->flux_density[i - 1]) *
               (graph->field[i] - graph->field[i - 1]);
    }
    return sum;
}

double card_branch_get_area(const struct card_graph *rising, const struct card_graph *falling)
{
    return get_graph_integral(falling) - get_graph_integral(rising);
}

/* y at x on the lines between points. */
static double interpolate(const double *x, const double *y, size_t count, double at)
{
    if (at <= x[0] || at >= x[count - 1]) {
        return at <= x[0] ? y[0] : y[count - 1];
    }
    size_t low = 0, high = count - 1;
    while (high - low > 1) {
        const size_t middle = low + (high - low) / 2;
        if (x[middle] <= at) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return y[low] + (y[high] - y[low]) * (at - x[low]) / (x[high] - x[low]);
}

double card_graph_get(const struct card_graph *graph, double field)
{
    return interpolate(graph->field, graph->flux_density, graph->count, field);
}

double card_graph_find(const struct card_graph *graph, double flux_density)
{
    return interpolate(graph->flux_density, graph->field, graph->count, flux_density);
}
