// SPDX-License-Identifier: GPL-3.0-or-later
#include "calibrate/doubt.h"

enum status doubt_add(struct quantity *const *values, size_t count, doubt_compute *compute,
    void *user, double variances[DOUBT_RESULTS], struct error *err)
{
    enum status status = STATUS_OK;
    for (size_t i = 0; status == STATUS_OK && i < count; i++) {
        const double middle = values[i]->value;
        const double u = values[i]->is_present ? quantity_get_uncertainty(values[i]) : 0.0;
        double above[DOUBT_RESULTS] = {0}, below[DOUBT_RESULTS] = {0};
        if (!(u > 0.0)) {
            continue;
        }
        values[i]->value = middle + u;
        status = compute(user, above, err);
        values[i]->value = middle - u;
        if (status == STATUS_OK) {
            status = compute(user, below, err);
        }
        values[i]->value = middle;
        for (int n = 0; n < DOUBT_RESULTS; n++) {
            const double half = 0.5 * (above[n] - below[n]);
            variances[n] += half * half;
        }
    }
    return status;
}
