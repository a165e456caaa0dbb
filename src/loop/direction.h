// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LOOP_DIRECTION_H
#define LODECARD_LOOP_DIRECTION_H

#include "loop/loop.h"
#include "loop/trace.h"
#include "num/periodic.h"

/* Which way round a loop runs. A pickup coil turned round is told by a note, and by is_reversed:
 * the caller sets its sign right. A loop that runs backwards otherwise comes from swapped channels
 * or from a skew larger than the lag angle: a fatal note. */
void direction_judge(struct loop *loop, const struct periodic_fit *fit);
void direction_judge_trace(struct loop *loop, const struct trace *trace);

#endif
