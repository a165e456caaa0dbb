// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_MODEL_PREISACH_H
#define LODECARD_MODEL_PREISACH_H

#include "model/material.h"

/* The curves of model 'preisach' (preisach.c). */
enum { PREISACH_FIELD, PREISACH_EVERETT };

/* E(a, b) of the flux density, a >= b, T. */
double preisach_get_everett(const struct material *material, double a, double b);

#endif
