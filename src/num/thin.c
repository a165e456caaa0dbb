// SPDX-License-Identifier: GPL-3.0-or-later
/* The rule of D. H. Douglas and T. K. Peucker, Cartographica 10 (1973) 112: of a stretch of points
 * the one that is farthest from the line between its ends stays, if it is too far, and parts the
 * stretch in two. The distance is measured along y, as the bound of a function asks for. */
#include "num/thin.h"

#include <math.h>

#include "base/memory.h"

struct stretch {
    size_t first, last;
};

/* The point farthest from the line, or `first` when none is farther than the bound. */
static size_t find_farthest(
    const double *x, const double *y, const struct stretch *stretch, double bound)
{
    const size_t a = stretch->first, b = stretch->last;
    const double slope = (y[b] - y[a]) / (x[b] - x[a]);
    size_t farthest = a;
    double most = bound;
    for (size_t i = a + 1; i < b; i++) {
        const double distance = fabs(y[i] - y[a] - slope * (x[i] - x[a]));
        if (distance > most) {
            most = distance;
            farthest = i;
        }
    }
    return farthest;
}

enum status thin_compute(
    const double *x, const double *y, size_t count, double bound, bool *keep, struct error *err)
{
    if (count == 0) {
        return STATUS_OK;
    }
    struct stretch *waiting = memory_create(count, sizeof *waiting);
    if (waiting == NULL) {
        return fail_memory(err);
    }
    keep[0] = keep[count - 1] = true;
    size_t used = 0;
    for (size_t i = 1, first = 0; i < count; i++) {
        if (keep[i]) {
            waiting[used++] = (struct stretch){.first = first, .last = i};
            first = i;
        }
    }
    while (used > 0) { /* stretches share no inner points: never more than count wait */
        const struct stretch stretch = waiting[--used];
        const size_t middle = find_farthest(x, y, &stretch, bound);
        if (middle != stretch.first) {
            keep[middle] = true;
            waiting[used++] = (struct stretch){.first = stretch.first, .last = middle};
            waiting[used++] = (struct stretch){.first = middle, .last = stretch.last};
        }
    }
    memory_destroy(waiting);
    return STATUS_OK;
}
