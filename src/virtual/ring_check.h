// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_VIRTUAL_RING_CHECK_H
#define LODECARD_VIRTUAL_RING_CHECK_H

#include "setup/schema.h"

/* What no table can say about a ring.yaml, and what follows from it: the model and its parameters,
 * the terms of an ordered series, levels in their units, sample rate, rows and harmonics. */
schema_check ring_check; /* target: struct ring */

#endif
