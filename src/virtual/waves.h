// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_VIRTUAL_WAVES_H
#define LODECARD_VIRTUAL_WAVES_H

#include "base/error.h"
#include "loop/loop.h"
#include "virtual/ring.h"

/* H and B of the ring as finite Fourier series: the terms that are ordered, or those of a model's
 * closed loop up to the last harmonic ordered (odd ones only: the models are symmetric). What the
 * series leaves out of the model's loop is left out of everything: the truth and the recording are
 * both made from the series. Without steel B is that of the air; an ordered voltage stands in place
 * of the field. Clear with fourier_loop_clear. */
enum status waves_compute(
    const struct ring *ring, struct fourier_loop *waves, struct error *err) MUST_CHECK;

#endif
