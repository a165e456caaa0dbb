// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_RANGE_H
#define LODECARD_NUM_RANGE_H

#include <stddef.h>

/* What small samples of a normal population with standard deviation 1 show of it, for 2 to 100
 * values: mean and standard deviation of their range, and mean of their standard deviation. The
 * tables of control charts (ISO 7870-2) print them as d2, d3 and c4; here to 1e-10, from the
 * integrals of L. H. C. Tippett, Biometrika 17 (1925) 364. NaN for other counts. */
double range_compute_mean(size_t count);      /* d2 */
double range_compute_deviation(size_t count); /* d3 */
double deviation_compute_mean(size_t count);  /* c4 */

#endif
