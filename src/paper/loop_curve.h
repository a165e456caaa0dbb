// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_LOOP_CURVE_H
#define LODECARD_PAPER_LOOP_CURVE_H

#include "base/error.h"
#include "loop/loop.h"

/* The points of a loop as a picture shows them, from the minimum of H. */
struct loop_curve {
    size_t count;
    double *field;        /* A/m */
    double *flux_density; /* T */
    double *time;         /* s; NULL for a trace, and slope too */
    double *slope;        /* dB/dt, T/s */
    double *field_wave;   /* H and B again, with the first point repeated at the end of the cycle */
    double *flux_wave;
    size_t wave_count;
    double period;    /* s; 0 for a trace */
    size_t arrows[2]; /* a point on either branch, for arrowheads */
    size_t arrow_count;
};

enum status loop_curve_create(
    const struct loop *loop, struct loop_curve *curve, struct error *err) MUST_CHECK;
void loop_curve_clear(struct loop_curve *curve); /* safe on a zeroed struct and twice */

#endif
