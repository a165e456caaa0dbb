// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_PAIR_H
#define LODECARD_NUM_PAIR_H

#include <complex.h>

/* re + i im without the product that spoils infinities and signed zeros: what CMPLX of C11 does,
 * which clang 14 lacks with Debian's C library. A complex number is laid out as an array of two
 * (C11, 6.2.5). */
static inline double complex as_complex(double re, double im)
{
    const union {
        double part[2];
        double complex whole;
    } pair = {{re, im}};
    return pair.whole;
}

#endif
