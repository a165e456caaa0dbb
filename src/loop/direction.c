// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop/direction.h"

#include <math.h>

/* Beyond a right angle the steel would give energy back; a little more may be skew. */
static const double LAG_LIMIT_DEG = 92.0;

static const double PI = 3.14159265358979323846264338327950;

static void note_reversed(struct loop *loop)
{
    notes_add(&loop->notes, "reversed", NOTE_WARNING,
        "swap the pickup coil's ends, or set inputs.pickup.invert: yes",
        "the pickup coil is wound or connected the other way round; the sign of B was set right");
}

void direction_judge(struct loop *loop, const struct periodic_fit *fit)
{
    const struct figure_value *area = &loop->figures.list[FIGURE_LOOP_AREA];
    const double lag = loop->figures.list[FIGURE_LAG_ANGLE].value;
    if (area->has_u && fabs(area->value) < 2.0 * area->u) {
        return;
    }
    if (area->value < 0.0 && cos(lag * PI / 180.0) < 0.0) {
        loop->is_reversed = true;
        note_reversed(loop);
        return;
    }
    /* what a skew of two samples can do */
    const double skew = 720.0 / fit->samples_per_cycle;
    if (area->value < 0.0 && fabs(lag) <= skew) {
        notes_add(&loop->notes, "delay-sensitive", NOTE_FATAL,
            "calibrate pickup_delay with one signal on both inputs",
            "the loop runs backwards with a lag angle of %.3f degree: less than a skew of two "
            "samples "
            "(%.3f degree) explains that",
            lag, skew);
        notes_add_measure(&loop->notes, "lag_angle_deg", lag, skew);
    } else if (area->value < 0.0) {
        notes_add(&loop->notes, "swapped", NOTE_FATAL,
            "exchange the channels of excitation and pickup in the rig",
            "the loop runs backwards (lag angle %.2f degree): excitation and pickup look swapped",
            lag);
        notes_add_measure(&loop->notes, "lag_angle_deg", lag, skew);
    } else if (lag > LAG_LIMIT_DEG) {
        notes_add(&loop->notes, "swapped", NOTE_WARNING,
            "look whether the rig names the right channels, and calibrate pickup_delay",
            "B lags H by %.2f degree, which no steel does (limit %.0f): excitation and pickup may "
            "be swapped, or their samples skewed",
            lag, LAG_LIMIT_DEG);
        notes_add_measure(&loop->notes, "lag_angle_deg", lag, LAG_LIMIT_DEG);
    }
}

static double compute_product(const struct trace *trace)
{
    double sum = 0.0, h = 0.0, b = 0.0;
    for (size_t i = 0; i < trace->count; i++) {
        h += trace->field[i] / (double)trace->count;
        b += trace->flux_density[i] / (double)trace->count;
    }
    for (size_t i = 0; i < trace->count; i++) {
        sum += (trace->field[i] - h) * (trace->flux_density[i] - b);
    }
    return sum;
}

void direction_judge_trace(struct loop *loop, const struct trace *trace)
{
    if (trace->count < 3 || trace_compute_area(trace) >= 0.0) {
        return;
    }
    if (compute_product(trace) > 0.0) {
        notes_add(&loop->notes, "swapped", NOTE_FATAL,
            "exchange the columns of excitation and pickup in the rig, or list the rows in the "
            "order they were taken",
            "the trace runs backwards: excitation and pickup look swapped, or its rows are in "
            "reverse");
        return;
    }
    loop->is_reversed = true;
    note_reversed(loop);
}
