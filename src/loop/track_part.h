// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LOOP_TRACK_PART_H
#define LODECARD_LOOP_TRACK_PART_H

#include "loop/track.h"

/* What finding the places of a known loop and following them have in common. */

enum { TRACK_FIELD, TRACK_FLUX, TRACK_POLARIZATION, TRACK_WAVES };

/* The twelve known phases: extremes and crossings of H, B, J. Rows of the table are wave by wave.
 */
enum { TRACK_TOP, TRACK_BOTTOM, TRACK_FALLING, TRACK_RISING, TRACK_PLACES };

enum { TRACK_LANES = 4 };

/* NaN: the waveform does not pass zero. */
double track_get_phase(const struct track *track, int wave, int place);

/* H, B, J of a loop into track->wave. */
void track_set_waves(struct track *track, const struct fourier_loop *loop);

#endif
