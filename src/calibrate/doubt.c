// SPDX-License-Identifier: GPL-3.0-or-later
#include "calibrate/doubt.h"

#include <math.h>

/* Two values at most that move together, each by its own amount. */
struct move {
    struct quantity *value[2];
    double by[2];
};

static void set(const struct move *move, const double *middle, double sign)
{
    for (int i = 0; i < 2; i++) {
        move->value[i]->value = middle[i] + sign * move->by[i];
    }
}

static enum status add_move(const struct move *move, doubt_compute *compute, void *user,
    double variances[DOUBT_RESULTS], struct error *err)
{
    const double middle[2] = {move->value[0]->value, move->value[1]->value};
    double above[DOUBT_RESULTS] = {0}, below[DOUBT_RESULTS] = {0};
    set(move, middle, 1.0);
    enum status status = compute(user, above, err);
    set(move, middle, -1.0);
    if (status == STATUS_OK) {
        status = compute(user, below, err);
    }
    set(move, middle, 0.0);
    for (int n = 0; n < DOUBT_RESULTS; n++) {
        const double half = 0.5 * (above[n] - below[n]);
        variances[n] += half * half;
    }
    return status;
}

enum status doubt_add(struct quantity *const *values, size_t count, doubt_compute *compute,
    void *user, double variances[DOUBT_RESULTS], struct error *err)
{
    enum status status = STATUS_OK;
    for (size_t i = 0; status == STATUS_OK && i < count; i++) {
        const double u = values[i]->is_present ? quantity_get_uncertainty(values[i]) : 0.0;
        if (u > 0.0) {
            struct quantity none = {0};
            const struct move move = {{values[i], &none}, {u, 0.0}};
            status = add_move(&move, compute, user, variances, err);
        }
    }
    return status;
}

static double get_relative(const struct quantity *quantity)
{
    return quantity->is_present ? quantity_get_uncertainty(quantity) / quantity->value : 0.0;
}

enum status doubt_add_pair(struct quantity *a, struct quantity *b, doubt_compute *compute,
    void *user, double variances[DOUBT_RESULTS], struct error *err)
{
    const double ra = get_relative(a), rb = get_relative(b);
    const double common = fmin(ra, rb), rest = sqrt(fabs(ra * ra - rb * rb));
    struct quantity none = {0};
    struct quantity *worse = ra > rb ? a : b;
    const struct move together = {{a, b}, {common * a->value, common * b->value}};
    const struct move alone = {{worse, &none}, {rest * worse->value, 0.0}};
    enum status status =
        common > 0.0 ? add_move(&together, compute, user, variances, err) : STATUS_OK;
    return status == STATUS_OK && rest > 0.0 ? add_move(&alone, compute, user, variances, err)
                                             : status;
}
