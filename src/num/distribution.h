// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_DISTRIBUTION_H
#define LODECARD_NUM_DISTRIBUTION_H

/* Shares below a value and the values below which a share lies, of the distributions that decisions
 * need. Shares are in 0 ... 1; degrees of freedom are above 0 and need not be whole. (The normal
 * share and Student's coverage factor: num/student.h.) */
double normal_compute_quantile(double share);
double student_compute_share(double t, double freedom);
double student_compute_quantile(double share, double freedom);
double chi_square_compute_share(double x, double freedom);
double chi_square_compute_quantile(double share, double freedom);
double fisher_compute_share(double f, double freedom_above, double freedom_below);
double fisher_compute_share_above(double f, double freedom_above, double freedom_below);

#endif
