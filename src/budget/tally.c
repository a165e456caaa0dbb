// SPDX-License-Identifier: GPL-3.0-or-later
#include "budget/tally.h"

#include <math.h>

#include "base/memory.h"

enum { CELLS = 1 << 17 };

static enum status set_range(
    struct tally *tally, const double *values, size_t count, struct error *err)
{
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < count; i++) {
        low = values[i] < low ? values[i] : low;
        high = values[i] > high ? values[i] : high;
    }
    if (!(low <= high)) {
        return STATUS_OK; /* nothing there yet */
    }
    tally->counts = memory_create(CELLS, sizeof *tally->counts);
    if (tally->counts == NULL) {
        return fail_memory(err);
    }
    const double span = high > low ? high - low : fmax(fabs(high), 1.0) * 1e-12;
    tally->lowest = low - span;
    tally->cell = 3.0 * span / CELLS;
    return STATUS_OK;
}

/* Mean and squares of a lot, and both lots as one: T. F. Chan, G. H. Golub, R. J. LeVeque, Amer.
 * Statist. 37 (1983) 242. */
static void add_moments(struct tally *tally, const double *values, size_t count, size_t found)
{
    if (found == 0) {
        return;
    }
    const double n = (double)found, before = (double)tally->trials;
    const double base = tally->trials > 0 ? tally->mean : tally->lowest;
    double sum = 0.0, squares = 0.0;
    for (size_t i = 0; i < count; i++) {
        const double d = values[i] - base;
        sum += isfinite(d) ? d : 0.0;
    }
    const double mean = base + sum / n, off = mean - tally->mean;
    for (size_t i = 0; i < count; i++) {
        const double d = values[i] - mean;
        squares += isfinite(d) ? d * d : 0.0;
    }
    tally->squares += squares + (before > 0.0 ? off * off * before * n / (before + n) : 0.0);
    tally->mean += before > 0.0 ? off * n / (before + n) : off;
    tally->trials += found;
}

enum status tally_add(struct tally *tally, const double *values, size_t count, struct error *err)
{
    if (tally->counts == NULL) {
        const enum status status = set_range(tally, values, count, err);
        if (status != STATUS_OK) {
            return status;
        }
    }
    const double inverse = 1.0 / tally->cell;
    size_t found = 0;
    for (size_t i = 0; tally->counts != NULL && i < count; i++) {
        if (isfinite(values[i])) {
            /* what lies beyond the cells stands in the outermost */
            const double place = (values[i] - tally->lowest) * inverse;
            tally->counts[place < 0.0 ? 0 : place < CELLS ? (size_t)place : CELLS - 1]++;
            found++;
        }
    }
    tally->missing += count - found;
    add_moments(tally, values, count, found);
    return STATUS_OK;
}

double tally_get_u(const struct tally *tally)
{
    return tally->trials > 1 ? sqrt(tally->squares / (double)(tally->trials - 1)) : NAN;
}

/* A place in the distribution: walks upwards with the share of trials below. */
struct walker {
    const struct tally *tally;
    size_t cell;
    double below; /* trials in the cells before */
};

/* The value below which `wanted` trials lie: no more than there are; `wanted` must not fall from
 * call to call. */
static double walk(struct walker *walker, double wanted)
{
    const struct tally *tally = walker->tally;
    while (walker->below + tally->counts[walker->cell] < wanted) {
        walker->below += tally->counts[walker->cell++];
    }
    const double held = tally->counts[walker->cell];
    const double share = held > 0.0 ? (wanted - walker->below) / held : 0.0;
    return tally->lowest + tally->cell * ((double)walker->cell + share);
}

void tally_find_symmetric(const struct tally *tally, double probability, double interval[2])
{
    interval[0] = interval[1] = NAN;
    if (tally->counts != NULL) {
        struct walker walker = {.tally = tally};
        const double n = (double)tally->trials, outside = 0.5 * (1.0 - probability);
        interval[0] = walk(&walker, outside * n);
        interval[1] = walk(&walker, (1.0 - outside) * n);
    }
}

void tally_find_shortest(const struct tally *tally, double probability, double interval[2])
{
    interval[0] = interval[1] = NAN;
    if (tally->counts == NULL) {
        return;
    }
    struct walker low = {.tally = tally}, high = {.tally = tally};
    const double n = (double)tally->trials, inside = probability * n;
    double best = INFINITY;
    for (size_t cell = 0; cell < CELLS; cell++) {
        /* from the lower edge of each cell that holds a trial */
        if (tally->counts[cell] > 0) {
            const double begin = tally->lowest + tally->cell * (double)cell;
            if (low.below + inside > n) {
                break;
            }
            const double end = walk(&high, low.below + inside);
            if (end - begin < best) {
                best = end - begin;
                interval[0] = begin;
                interval[1] = end;
            }
        }
        low.below += tally->counts[cell];
    }
}

void tally_clear(struct tally *tally)
{
    memory_destroy(tally->counts);
    *tally = (struct tally){0};
}
