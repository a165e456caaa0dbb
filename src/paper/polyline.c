// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/polyline.h"

#include <math.h>
#include <stdbool.h>

/* How many points one chord may replace: bounds the work to count * REACH. */
#define REACH 64

static bool is_break(const double *x, const double *y, size_t i)
{
    return !isfinite(x[i]) || !isfinite(y[i]);
}

/* Distance of point i from the segment a - b; the distance from the nearer end where the foot lies
 * outside, so that a line that turns back on itself keeps its turning point. */
static double distance(const double *x, const double *y, size_t i, size_t a, size_t b)
{
    double ux = x[b] - x[a];
    double uy = y[b] - y[a];
    double vx = x[i] - x[a];
    double vy = y[i] - y[a];
    double length2 = ux * ux + uy * uy;
    double along = length2 > 0 ? (ux * vx + uy * vy) / length2 : 0;
    along = fmin(fmax(along, 0), 1);
    return hypot(vx - along * ux, vy - along * uy);
}

static bool is_chord_good(const double *x, const double *y, size_t a, size_t b, double tolerance)
{
    for (size_t i = a + 1; i < b; i++)
        if (distance(x, y, i, a, b) > tolerance)
            return false;
    return true;
}

size_t polyline_simplify(double *x, double *y, size_t count, double tolerance)
{
    size_t kept = 0;
    for (size_t at = 0; at < count;) {
        size_t next = at + 1;
        if (!is_break(x, y, at))
            while (next + 1 < count && next - at < REACH && !is_break(x, y, next) &&
                   !is_break(x, y, next + 1) && is_chord_good(x, y, at, next + 1, tolerance))
                next++;
        x[kept] = x[at];
        y[kept] = y[at];
        kept++;
        at = next;
    }
    return kept;
}
