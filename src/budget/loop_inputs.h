// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_BUDGET_LOOP_INPUTS_H
#define LODECARD_BUDGET_LOOP_INPUTS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "budget/problem.h"
#include "loop/loop.h"
#include "setup/setup.h"

/* What the figures of a loop are made from, as inputs of a budget: every value of rig and specimen
 * that has a stated uncertainty and acts, each named by its key in the file, the frequency of the
 * fit, the gap of a trace. */

/* What the inputs make of rig and specimen: scratch of one thread. */
struct loop_setting {
    struct rig rig;           /* shallow copies, */
    struct specimen specimen; /* values set anew */
    double frequency_Hz;      /* the fit's */
    double gap;               /* share of a trace's closure gap that counts as area, -1 ... 1 */
};

/* Where an input's value goes. */
struct loop_input {
    int file;      /* what the offset counts from */
    size_t offset; /* of a double */
};

enum { LOOP_INPUT_OF_CAPTURE = 0 }; /* `file` of what the capture itself tells */
enum { LOOP_INPUTS_MOST = 48 };

struct loop_inputs {
    struct budget_input list[LOOP_INPUTS_MOST];
    struct loop_input place[LOOP_INPUTS_MOST];
    size_t count;
    double correlation[LOOP_INPUTS_MOST * LOOP_INPUTS_MOST]; /* count * count of it */
    bool is_correlated;
};

void loop_inputs_find(struct loop_inputs *inputs, const struct loop *loop, const struct rig *rig,
    const struct specimen *specimen);

/* A setting as the files have it; the texts in it are borrowed. */
void loop_setting_init(struct loop_setting *setting, const struct loop *loop, const struct rig *rig,
    const struct specimen *specimen);

/* Puts values of the inputs, in their order, into their places. */
void loop_setting_set(
    struct loop_setting *setting, const struct loop_inputs *inputs, const double *values);

#endif
