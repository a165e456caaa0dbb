// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/student.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

#include "num/random.h"

/* Beyond this the t quantile is the normal one to ten digits. */
static const double FREEDOM_LIMIT = 1e10;

double student_compute_coverage(double probability, double freedom)
{
    const double below = 0.5 + 0.5 * probability;
    return freedom < FREEDOM_LIMIT ? gsl_cdf_tdist_Pinv(below, freedom)
                                   : random_compute_quantile(below);
}

double normal_compute_share(double z)
{
    return 0.5 * erfc(-z * sqrt(0.5));
}
