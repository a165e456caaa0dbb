// SPDX-License-Identifier: GPL-3.0-or-later
/* By GSL, but for the normal quantile, which num/random has with the same bits everywhere. */
#include "num/distribution.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

#include "num/random.h"

double normal_compute_quantile(double share)
{
    if (share <= 0) {
        return -INFINITY;
    }
    return share < 1 ? random_compute_quantile(share) : INFINITY;
}

double student_compute_share(double t, double freedom)
{
    return gsl_cdf_tdist_P(t, freedom);
}

double student_compute_quantile(double share, double freedom)
{
    return gsl_cdf_tdist_Pinv(share, freedom);
}

double chi_square_compute_share(double x, double freedom)
{
    return x > 0 ? gsl_cdf_chisq_P(x, freedom) : 0;
}

double chi_square_compute_quantile(double share, double freedom)
{
    return gsl_cdf_chisq_Pinv(share, freedom);
}

double fisher_compute_share(double f, double freedom_above, double freedom_below)
{
    return f > 0 ? gsl_cdf_fdist_P(f, freedom_above, freedom_below) : 0;
}

double fisher_compute_share_above(double f, double freedom_above, double freedom_below)
{
    return f > 0 ? gsl_cdf_fdist_Q(f, freedom_above, freedom_below) : 1;
}
