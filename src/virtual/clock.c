// SPDX-License-Identifier: GPL-3.0-or-later
#include "virtual/clock.h"

#include <math.h>

static const double turn = 6.283185307179586477;

/* a * b = product + rest, exactly (T. J. Dekker, Numer. Math. 18 (1971) 224). */
static double multiply(double a, double b, double *rest)
{
    const double splitter = 134217729.0; /* 2^27 + 1 */
    double product = a * b;
    double a_high = splitter * a - (splitter * a - a);
    double b_high = splitter * b - (splitter * b - b);
    double a_low = a - a_high;
    double b_low = b - b_high;
    *rest = ((a_high * b_high - product) + a_high * b_low + a_low * b_high) + a_low * b_low;
    return product;
}

static double get_fraction(double x)
{
    double fraction = x - floor(x);
    return fraction < 1.0 ? fraction : 0.0;
}

void clock_init(struct clock *clock, const struct ring *ring)
{
    const struct ring_faults *faults = &ring->faults;
    *clock = (struct clock){
        .frequency_Hz = ring->frequency_Hz,
        .true_rate_Hz = ring->sample_rate_Hz * (1.0 + faults->clock_error.value),
        .turns_per_row = (1.0 + ring->recording.overrun.value) / (double)ring->rows,
        .start_turns = ring->recording.phase.value / turn,
        .frequency_drift = faults->frequency_drift.value,
        .delay_s = {[RING_PICKUP] = ring->rig.pickup_delay.value + faults->skew.value},
    };
    if (!ring->rig.is_trace)
        clock->middle_s = 0.5 * (double)ring->rows / clock->true_rate_Hz;
}

double clock_get_age(const struct clock *clock, size_t row)
{
    return clock->frequency_Hz > 0.0 ? (double)row / clock->true_rate_Hz - clock->middle_s : 0.0;
}

double clock_get_pace(const struct clock *clock, size_t row)
{
    return 1.0 + clock->frequency_drift * clock_get_age(clock, row);
}

double clock_get_turns(
    const struct clock *clock, enum ring_input input, size_t row, double offset_s)
{
    if (!(clock->frequency_Hz > 0.0))
        return get_fraction(clock->start_turns + clock->turns_per_row * (double)row);
    /* t + t_rest = row / rate; f t + cycles_rest = the cycles before that */
    double product_rest, cycles_rest;
    double t = (double)row / clock->true_rate_Hz;
    double product = multiply(t, clock->true_rate_Hz, &product_rest);
    double t_rest = (((double)row - product) - product_rest) / clock->true_rate_Hz;
    double cycles = multiply(t, clock->frequency_Hz, &cycles_rest);
    double late = offset_s + clock->delay_s[input];
    double drift = 0.5 * clock->frequency_drift * (t + late) * (t + late - 2.0 * clock->middle_s);
    double small = clock->frequency_Hz * (t_rest + late + drift) + cycles_rest;
    return get_fraction((cycles - floor(cycles)) + get_fraction(clock->start_turns) + small);
}
