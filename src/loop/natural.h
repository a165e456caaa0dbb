// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LOOP_NATURAL_H
#define LODECARD_LOOP_NATURAL_H

#include "loop/evidence.h"

/* What an honest waveform does of itself, from its fit and the steps of its format; INFINITY where
 * that cannot be told, NaN without memory. Input 0 is the excitation, 1 the pickup. */

/* How many samples in a row may stay within one step of an extreme. */
double natural_get_top(const struct evidence *evidence, int m);

/* How many frames in a row may repeat the one before in both inputs. */
double natural_get_repeat(const struct evidence *evidence);

/* How many samples may share one extreme where noise is wider than a step. */
double natural_get_pile(const struct evidence *evidence, int m);

#endif
