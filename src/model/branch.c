// SPDX-License-Identifier: GPL-3.0-or-later
#include "model/branch.h"

#include <math.h>
#include <stdbool.h>

#include "base/memory.h"
#include "num/monotone.h"
#include "quantity/constant.h"

/* Part of a cycle on which the field goes one way; sign -1 turns it round. */
struct part {
    double *field; /* rising */
    double *flux_density;
    size_t count;
};

static enum status part_create(struct part *part, size_t count, struct error *err)
{
    part->field = memory_create(count, sizeof *part->field);
    part->flux_density = memory_create(count, sizeof *part->flux_density);
    return part->field && part->flux_density ? STATUS_OK : fail_memory(err);
}

static void part_clear(struct part *part)
{
    memory_destroy(part->field);
    memory_destroy(part->flux_density);
}

/* Middle and half distance of the extremes. */
struct extent {
    double middle, half;
    size_t least, most; /* where they are */
};

static struct extent get_extent(const double *values, size_t count)
{
    struct extent extent = {0};
    for (size_t i = 1; i < count; i++) {
        if (values[i] < values[extent.least])
            extent.least = i;
        if (values[i] > values[extent.most])
            extent.most = i;
    }
    double low = values[extent.least], high = values[extent.most];
    extent.middle = 0.5 * (low + high);
    extent.half = 0.5 * (high - low);
    return extent;
}

/* The points from index `begin` on to `end`, round the cycle, centred; those that do not lead on
 * are left out, except that the end replaces the last one. `sign` -1 mirrors them. */
static void fill_part(struct part *part, const double *field, const double *flux_density,
    size_t count, const struct extent *h, const struct extent *b, double sign)
{
    size_t begin = sign > 0.0 ? h->least : h->most, end = sign > 0.0 ? h->most : h->least;
    double gap = 1e-9 * h->half;
    part->count = 0;
    for (size_t i = begin;; i = (i + 1) % count) {
        double x = sign * (field[i] - h->middle), y = sign * (flux_density[i] - b->middle);
        while (i == end && part->count > 1 && !(x > part->field[part->count - 1] + gap))
            part->count--;
        if (part->count == 0 || x > part->field[part->count - 1] + gap) {
            part->field[part->count] = x;
            part->flux_density[part->count++] = y;
        }
        if (i == end)
            break;
    }
}

/* `mirrored` is the falling part with its signs turned: it rises. */
static enum status symmetrize(const struct part *rising, const struct part *mirrored,
    struct branch *branch, struct error *err)
{
    struct monotone *curve;
    enum status status =
        monotone_create(rising->field, rising->flux_density, rising->count, &curve, err);
    if (status)
        return status;
    size_t stride = (mirrored->count + BRANCH_POINTS - 3) / (BRANCH_POINTS - 1);
    branch->peak = -mirrored->field[0];
    for (size_t i = 0; i < mirrored->count; i += stride) {
        bool is_last = i + stride >= mirrored->count;
        size_t at = is_last ? mirrored->count - 1 : i;
        double field = mirrored->field[at]; /* of the mirrored branch: from -peak up */
        double flux = 0.5 * (mirrored->flux_density[at] + monotone_get(curve, field, NULL));
        branch->field[branch->count] = -field;
        branch->polarization[branch->count++] = -flux + MAGNETIC_CONSTANT * field;
    }
    monotone_destroy(curve);
    size_t last = branch->count - 1;
    double tip = 0.5 * (branch->polarization[0] - branch->polarization[last]);
    branch->polarization[0] = tip;
    branch->polarization[last] = -tip;
    branch->field[last] = -branch->peak;
    return STATUS_OK;
}

enum status branch_create(const double *field, const double *flux_density, size_t count,
    struct branch *branch, struct error *err)
{
    if (count < 8)
        return fail(err, STATUS_INPUT, "give it more points a cycle",
            "a model cannot be fitted to a loop of %zu points", count);
    struct extent h = get_extent(field, count), b = get_extent(flux_density, count);
    struct part rising = {0}, falling = {0};
    struct branch made = {0};
    made.field = memory_create(BRANCH_POINTS + 2, sizeof *made.field);
    made.polarization = memory_create(BRANCH_POINTS + 2, sizeof *made.polarization);
    enum status status = made.field && made.polarization ? STATUS_OK : fail_memory(err);
    if (!status)
        status = part_create(&rising, count + 1, err);
    if (!status)
        status = part_create(&falling, count + 1, err);
    if (!status && !(h.half > 0.0 && b.half > 0.0 && isfinite(h.half) && isfinite(b.half)))
        status = fail(err, STATUS_INPUT, "leave it out", "a loop has no extent in field or flux");
    if (!status) {
        fill_part(&rising, field, flux_density, count, &h, &b, 1.0);
        fill_part(&falling, field, flux_density, count, &h, &b, -1.0);
        if (rising.count < 3 || falling.count < 3)
            status = fail(err, STATUS_INPUT, "take the points of one cycle in their order",
                "the points of a loop have no two branches");
    }
    if (!status)
        status = symmetrize(&rising, &falling, &made, err);
    part_clear(&rising);
    part_clear(&falling);
    if (status)
        branch_clear(&made);
    else
        *branch = made;
    return status;
}

void branch_clear(struct branch *branch)
{
    memory_destroy(branch->field);
    memory_destroy(branch->polarization);
    *branch = (struct branch){0};
}

/* x where y, falling, passes 0. */
static double find_zero(const double *x, const double *y, size_t count)
{
    for (size_t i = 1; i < count; i++)
        if (y[i - 1] >= 0.0 && y[i] < 0.0)
            return x[i - 1] + (x[i] - x[i - 1]) * (y[i - 1] / (y[i - 1] - y[i]));
    return NAN;
}

struct branch_figures branch_get_figures(const struct branch *branch, const double *flux_density)
{
    const double *h = branch->field;
    struct branch_figures figures = {.flux_density_peak = flux_density[0]};
    for (size_t i = 1; i < branch->count; i++) {
        double middle = 0.5 * (flux_density[i - 1] + flux_density[i]);
        figures.area += 2.0 * middle * (h[i - 1] - h[i]);
    }
    figures.coercivity = -find_zero(h, flux_density, branch->count);
    figures.remanence = find_zero(flux_density, h, branch->count);
    return figures;
}

double branch_get_coercivity(const struct branch *branch)
{
    return -find_zero(branch->field, branch->polarization, branch->count);
}
