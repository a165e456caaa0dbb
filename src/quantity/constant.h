// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_QUANTITY_CONSTANT_H
#define LODECARD_QUANTITY_CONSTANT_H

/* The magnetic constant, T m/A: the value 4 pi 1e-7 that the measuring standards and the published
 * loops use. The value recommended since 2019 (1.25663706212e-6, CODATA 2018) differs by 5.5e-10,
 * relatively. */
#define MAGNETIC_CONSTANT (4e-7 * 3.14159265358979323846)

#endif
