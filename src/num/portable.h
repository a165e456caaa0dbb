// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_PORTABLE_H
#define LODECARD_NUM_PORTABLE_H

/* Elementary functions made only of operations that IEEE 754 rounds correctly (+ - * / sqrt and
 * scaling by powers of two), so that they give the same bits on every machine. The C library's own
 * differ between libraries, and between processors with and without fused multiply-add.
 *
 * Largest error seen against 64-bit mantissas, 4e4 arguments each:
 *
 *     function                 range            error
 *     portable_sin_cos_turns   |turns| < 10     1.7e-16 absolute
 *     portable_exp             |x| < 700        1.8e-16 relative
 *     portable_log             all x > 0        4.0e-16 relative
 *     portable_tanh            all              4.9e-16 relative
 */

/* Sine and cosine of 2 pi `turns`; the reduction to an eighth of a turn is exact. */
void portable_sin_cos_turns(double turns, double *sine, double *cosine);

double portable_exp(double x);
double portable_log(double x); /* x > 0 and finite */
double portable_tanh(double x);

#endif
