// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_REPORT_NUMBER_H
#define LODECARD_PAPER_REPORT_NUMBER_H

#include "qualify/limits.h"
#include "quantity/figure.h"

/* Numbers of one figure in a report: one prefix, and as many decimals as give the expanded
 * uncertainty (k = 2) two significant digits (JCGM 100:2008, 7.2.6). */
struct report_scale {
    double factor; /* SI per shown unit */
    int decimals;  /* negative: rounded to tens, hundreds ... */
    char unit[24]; /* with its prefix; "" for plain numbers */
};

/* For values up to `most` with standard uncertainties from `u` on. u not above 0: not known, five
 * significant digits of `most`. */
struct report_scale report_scale_compute(enum figure figure, double most, double u);

#define REPORT_NUMBER_SIZE 48
/* "18.94"; a dash for what is not finite. */
const char *report_write_number(
    const struct report_scale *scale, double value, char out[REPORT_NUMBER_SIZE]);

/* The same with its unit, and with two decimals more where `is_finer`: for deviations. */
const char *report_write_value(
    const struct report_scale *scale, double value, bool is_finer, char out[REPORT_NUMBER_SIZE]);

/* "18.94 ± 0.10": with the expanded uncertainty 2 u; without u the value alone. */
const char *report_write_expanded(
    const struct report_scale *scale, double value, double u, char out[2 * REPORT_NUMBER_SIZE]);

/* "17.5 to 20.5 kA/m", "at least 920 mT", "at most ..."; limits as exact as they were given. */
const char *report_write_limit(
    const struct report_scale *scale, const struct limit *limit, char out[3 * REPORT_NUMBER_SIZE]);

/* "17.58 to 20.42": decimals of the scale; open ends as above. */
const char *report_write_range(
    const struct report_scale *scale, double lower, double upper, char out[3 * REPORT_NUMBER_SIZE]);

/* "74.88 %"; "> 99.99 %", "< 0.01 %" beyond; a dash for NaN. */
const char *report_write_share(double share, char out[REPORT_NUMBER_SIZE]);

#endif
