// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_STUDENT_H
#define LODECARD_NUM_STUDENT_H

/* Student's t and the normal distribution, as far as coverage needs them (JCGM 100:2008, annex G).
 */

/* k so that a share `probability` of the t distribution with `freedom` degrees of freedom (above 0;
 * INFINITY: normal) lies within -k ... k. */
double student_compute_coverage(double probability, double freedom);

/* Share of the standard normal distribution below z. */
double normal_compute_share(double z);

#endif
