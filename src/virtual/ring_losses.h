// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_VIRTUAL_RING_LOSSES_H
#define LODECARD_VIRTUAL_RING_LOSSES_H

#include "virtual/ring.h"

/* The loss terms that are ordered, at the drive's peak flux density; 0 where none is. */
struct ring_terms {
    double classical_J_s_per_m3;
    double excess_J_per_m3_per_sqrt_Hz;
};
enum status ring_losses_compute(
    const struct ring *ring, struct ring_terms *terms, struct error *err) MUST_CHECK;

#endif
