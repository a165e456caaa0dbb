// SPDX-License-Identifier: GPL-3.0-or-later
#include "model/sweep.h"

#include <math.h>

#include "num/ode.h"
#include "num/portable.h"
#include "quantity/constant.h"

static const double turn = 6.283185307179586477;

static double get_field(const struct sweep *sweep, double phase)
{
    double sine, cosine;
    portable_sin_cos_turns(phase, &sine, &cosine);
    return sweep->peak * cosine;
}

static double get_field_slope(const struct sweep *sweep, double phase)
{
    double sine, cosine;
    portable_sin_cos_turns(phase, &sine, &cosine);
    return -turn * sweep->peak * sine;
}

double sweep_get_flux_slope(struct sweep *sweep, double phase, double irreversible)
{
    struct law_state state = law_get_state(&sweep->law, get_field(sweep, phase), irreversible);
    double susceptibility = 0.0;
    if (phase > sweep->release)
        susceptibility = law_get_susceptibility(&sweep->law, &state, irreversible);
    double total = law_get_total(&sweep->law, &state, susceptibility);
    return MAGNETIC_CONSTANT * (1.0 + total) * get_field_slope(sweep, phase);
}

void sweep_begin(struct sweep *sweep, double irreversible)
{
    double field = law_get_release(&sweep->law, irreversible);
    double low = 0.0;
    double high = 0.5;
    for (;;) { /* bisection down to neighbouring numbers */
        double middle = 0.5 * (low + high);
        if (!(middle > low && middle < high))
            break;
        if (get_field(sweep, middle) > field)
            low = middle;
        else
            high = middle;
    }
    sweep->release = low;
}

static double compute_slope(double phase, double irreversible, void *context)
{
    struct sweep *sweep = context;
    struct law_state state = law_get_state(&sweep->law, get_field(sweep, phase), irreversible);
    return law_get_susceptibility(&sweep->law, &state, irreversible) *
           get_field_slope(sweep, phase);
}

double sweep_advance(
    struct sweep *sweep, double begin, double end, double irreversible, size_t steps, double *error)
{
    const struct ode ode = {.slope = compute_slope, .context = sweep};
    for (size_t i = 0; i < steps; i++) {
        double from = begin + (end - begin) * ((double)i / (double)steps);
        double to = begin + (end - begin) * ((double)(i + 1) / (double)steps);
        double step_error;
        if (to <= sweep->release)
            continue;
        if (from < sweep->release)
            from = sweep->release;
        irreversible = ode_compute_step(&ode, from, irreversible, to - from, &step_error);
        if (error != NULL)
            *error += step_error;
    }
    return irreversible;
}

/* A half cycle from Mi = start to minus Mi = end. The loop is closed where they are equal. */
static double run_half(struct sweep *sweep, double start, size_t steps, double *error)
{
    *error = 0.0;
    sweep->law.is_coarse = false;
    sweep_begin(sweep, start);
    return -sweep_advance(sweep, 0.0, 0.5, start, steps, error);
}

/* The secant method on end - start, from the initial curve: small loops approach their closed form
 * over thousands of cycles, so that cycling alone would not do. */
static enum status close_loop(struct sweep *sweep, size_t steps, double *start, double *error)
{
    enum { ITERATIONS = 60, ROUGH_ITERATIONS = 20 };
    const int iterations = sweep->tolerance > 1e-8 ? ROUGH_ITERATIONS : ITERATIONS;
    double here = *start, before = 0.0, excess_before = 0.0;
    for (int i = 0; i < iterations; i++) {
        double end = run_half(sweep, here, steps, error);
        double excess = end - here;
        if (sweep->law.is_coarse)
            return STATUS_INPUT;
        double next = end;
        if (i > 0 && excess != excess_before)
            next = here - excess * (here - before) / (excess - excess_before);
        if (!(fabs(next) < sweep->law.saturation))
            next = end;
        before = here;
        excess_before = excess;
        here = next;
        if (fabs(next - before) <= fmax(1e-14, 0.1 * sweep->tolerance) * sweep->scale) {
            *start = next;
            return STATUS_OK;
        }
    }
    return STATUS_INPUT;
}

/* The initial curve is a quarter cycle, mirrored: from H = 0 down to the negative tip. */
static double run_initial_curve(struct sweep *sweep, size_t steps)
{
    sweep->law.guess = 0.0;
    sweep_begin(sweep, 0.0);
    return -sweep_advance(sweep, 0.25, 0.5, 0.0, steps, NULL);
}

enum status sweep_find_loop(
    struct sweep *sweep, double *irreversible, size_t *steps, struct error *err)
{
    enum { STEPS = 128, STEPS_LIMIT = 1 << 17 };
    double initial = sweep->law.saturation /
                     (3.0 * sweep->law.shape - sweep->law.coupling * sweep->law.saturation);
    sweep->scale = fmin(sweep->law.saturation, initial * sweep->peak);
    const double rough = sweep->tolerance;
    size_t first = rough > 1e-5 ? STEPS / 16 : rough > 1e-8 ? STEPS / 6 : STEPS;
    const size_t limit = rough > 1e-5 ? 256 : rough > 1e-8 ? 512 : STEPS_LIMIT;
    for (size_t count = *steps ? *steps : first; count <= limit; count *= 2) {
        double error;
        double start = *steps ? *irreversible : run_initial_curve(sweep, count);
        if (close_loop(sweep, count, &start, &error))
            continue;
        double tolerance = fmax(count < STEPS_LIMIT ? 1e-12 : 1e-9, sweep->tolerance);
        if (error <= tolerance * sweep->scale) {
            *irreversible = start;
            *steps = count;
            return STATUS_OK;
        }
    }
    return fail(err, STATUS_INPUT, "raise 'pinning' or 'shape', or lower the peak",
        "the Jiles-Atherton loop is not found: 'pinning' (%g A/m) is too small for a peak of %g "
        "A/m",
        sweep->law.pinning, sweep->peak);
}
