// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/loop_curve.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"

#define POINTS 1440 /* of a periodic loop: steps finer than a pen is wide, even on steep flanks */
#define TRACE_POINTS_MOST 4000

static size_t choose_count(const struct loop *loop)
{
    if (!loop->is_trace)
        return POINTS;
    return loop->trace_count < TRACE_POINTS_MOST ? loop->trace_count : TRACE_POINTS_MOST;
}

static bool allocate(struct loop_curve *curve, bool has_waves)
{
    curve->field = memory_create(curve->count, sizeof(double));
    curve->flux_density = memory_create(curve->count, sizeof(double));
    if (!has_waves)
        return curve->field && curve->flux_density;
    curve->wave_count = curve->count + 1;
    curve->time = memory_create(curve->wave_count, sizeof(double));
    curve->slope = memory_create(curve->wave_count, sizeof(double));
    curve->field_wave = memory_create(curve->wave_count, sizeof(double));
    curve->flux_wave = memory_create(curve->wave_count, sizeof(double));
    return curve->field && curve->flux_density && curve->time && curve->slope &&
           curve->field_wave && curve->flux_wave;
}

/* dB/dt by central differences: with this many points a cycle its error cannot be seen. */
static void set_waves(struct loop_curve *curve)
{
    size_t count = curve->count;
    double step = curve->period / (double)count;
    for (size_t i = 0; i <= count; i++) {
        double after = curve->flux_density[(i + 1) % count];
        double before = curve->flux_density[(i + count - 1) % count];
        curve->time[i] = (double)i * step;
        curve->slope[i] = (after - before) / (2 * step);
        curve->field_wave[i] = curve->field[i % count];
        curve->flux_wave[i] = curve->flux_density[i % count];
    }
}

/* Halfway between the remanent and the coercive point: where B falls through half the remanence,
 * and where it rises through minus that. */
static void set_arrows(struct loop_curve *curve, double remanence)
{
    for (int branch = 0; branch < 2; branch++) {
        double sign = branch ? -1 : 1;
        for (size_t i = 0; i < curve->count; i++) {
            double here = sign * curve->flux_density[i];
            double next = sign * curve->flux_density[(i + 1) % curve->count];
            if (here >= remanence / 2 && next < remanence / 2) {
                curve->arrows[curve->arrow_count++] = i;
                break;
            }
        }
    }
}

enum status loop_curve_create(const struct loop *loop, struct loop_curve *curve, struct error *err)
{
    struct loop_curve made = {.count = choose_count(loop)};
    const struct figure_value *frequency = &loop->figures.list[FIGURE_FREQUENCY];
    bool has_waves = !loop->is_trace && frequency->is_present && frequency->value > 0;
    enum status status = STATUS_OK;
    if (!allocate(&made, has_waves))
        status = fail_memory(err);
    if (!status)
        status = loop_compute_points(loop, made.count, made.field, made.flux_density, err);
    if (status) {
        loop_curve_clear(&made);
        return status;
    }
    if (has_waves) {
        made.period = 1 / frequency->value;
        set_waves(&made);
    }
    set_arrows(&made, loop->figures.list[FIGURE_REMANENCE].value);
    *curve = made;
    return STATUS_OK;
}

void loop_curve_clear(struct loop_curve *curve)
{
    memory_destroy(curve->field);
    memory_destroy(curve->flux_density);
    memory_destroy(curve->time);
    memory_destroy(curve->slope);
    memory_destroy(curve->field_wave);
    memory_destroy(curve->flux_wave);
    *curve = (struct loop_curve){0};
}
