// SPDX-License-Identifier: GPL-3.0-or-later
/* The order of the faults is that of the bench: what the wires carry (gain, exchanged wires and an
 * unknown corner are in the signals; amplitude ramp), which input they lead to (swapped), what
 * leaks between them (crosstalk), what the input adds (hum, offset, drift, noise), where it ends
 * (clipping), what the recording loses. */
#include "virtual/recorder.h"

#include <math.h>

#include "num/portable.h"
#include "num/random.h"
#include "virtual/stream.h"

static const double turn = 6.283185307179586477;

enum status recorder_create(struct recorder *recorder, const struct ring *ring,
    const struct fourier_loop *waves, uint64_t seed, struct error *err)
{
    struct recorder made = {.ring = ring, .seed = seed};
    clock_init(&made.clock, ring);
    enum status status = gaps_create(&made.gaps, ring, seed, err);
    for (int i = 0; !status && i < RING_INPUTS; i++)
        status = signal_create(&made.signals[i], ring, (enum ring_input)i, waves, err);
    if (status) {
        recorder_clear(&made);
        return status;
    }
    made.rows = gaps_get_rows(&made.gaps, ring->rows);
    *recorder = made;
    return STATUS_OK;
}

void recorder_clear(struct recorder *recorder)
{
    for (int i = 0; i < RING_INPUTS; i++)
        signal_clear(&recorder->signals[i]);
    gaps_clear(&recorder->gaps);
    *recorder = (struct recorder){0};
}

/* The rows of a block: where they come from and when they were sampled. */
struct rows {
    size_t count;
    size_t numbers[SIGNAL_BLOCK];
    bool is_blank[SIGNAL_BLOCK];
    double jitter[SIGNAL_BLOCK]; /* s */
};

static void find_rows(
    const struct recorder *recorder, size_t first, size_t count, struct rows *rows)
{
    double rms = recorder->ring->recording.jitter.value;
    struct random random;
    random_init(&random, recorder->seed, STREAM_JITTER);
    rows->count = count;
    for (size_t i = 0; i < count; i++) {
        rows->numbers[i] = gaps_find_row(&recorder->gaps, first + i, &rows->is_blank[i]);
        rows->jitter[i] = 0.0;
        if (rms > 0.0) {
            random_set_index(&random, rows->numbers[i]);
            rows->jitter[i] = rms * random_get_normal(&random);
        }
    }
}

/* What the wires carry. */
static void compute_signal(
    const struct recorder *recorder, enum ring_input input, const struct rows *rows, double *values)
{
    const struct clock *clock = &recorder->clock;
    const struct signal *signal = &recorder->signals[input];
    double ramp = recorder->ring->faults.amplitude_ramp.value;
    double turns[SIGNAL_BLOCK];
    for (size_t i = 0; i < rows->count; i++)
        turns[i] = clock_get_turns(clock, input, rows->numbers[i], rows->jitter[i]);
    signal_compute(signal, turns, rows->count, values);
    for (size_t i = 0; i < rows->count; i++) {
        if (signal->is_derivative)
            values[i] *= clock_get_pace(clock, rows->numbers[i]);
        values[i] *= 1.0 + ramp * clock_get_age(clock, rows->numbers[i]);
    }
}

/* What leaks from each input into the other. */
static void add_crosstalk(
    const struct recorder *recorder, size_t count, double values[RING_INPUTS][SIGNAL_BLOCK])
{
    const struct quantity *share = recorder->ring->faults.crosstalk;
    for (size_t i = 0; i < count; i++) {
        double excitation = values[RING_EXCITATION][i];
        values[RING_EXCITATION][i] += share[RING_EXCITATION].value * values[RING_PICKUP][i];
        values[RING_PICKUP][i] += share[RING_PICKUP].value * excitation;
    }
}

static double get_hum(const struct recorder *recorder, enum ring_input input, size_t row)
{
    const struct ring_faults *faults = &recorder->ring->faults;
    if (!(faults->hum.values[input] > 0.0))
        return 0.0;
    double sine, cosine;
    double cycles = faults->hum_frequency.value * (double)row / recorder->clock.true_rate_Hz;
    portable_sin_cos_turns(cycles + faults->hum_phase.value / turn, &sine, &cosine);
    return faults->hum.values[input] * sine;
}

/* What the input adds, and where it ends. */
static void add_input_faults(
    const struct recorder *recorder, enum ring_input input, const struct rows *rows, double *values)
{
    const struct ring_faults *faults = &recorder->ring->faults;
    double last = (double)(recorder->ring->rows - 1);
    double limit = faults->clipping.values[input];
    double noise = faults->noise.values[input];
    struct random random;
    random_init(&random, recorder->seed,
        input == RING_EXCITATION ? STREAM_NOISE_EXCITATION : STREAM_NOISE_PICKUP);
    for (size_t i = 0; i < rows->count; i++) {
        size_t row = rows->numbers[i];
        values[i] += get_hum(recorder, input, row) + faults->offset.values[input] +
                     faults->drift.values[input] * ((double)row / last);
        if (noise > 0.0) {
            random_set_index(&random, row);
            values[i] += noise * random_get_normal(&random);
        }
        if (faults->clipping.words[input])
            values[i] = fmin(fmax(values[i], -limit), limit);
        if (rows->is_blank[i])
            values[i] = (double)NAN;
    }
}

void recorder_compute(const struct recorder *recorder, size_t first, size_t count,
    double values[RING_INPUTS][SIGNAL_BLOCK], double times[SIGNAL_BLOCK])
{
    struct rows rows;
    bool is_swapped = recorder->ring->faults.is_swapped;
    find_rows(recorder, first, count, &rows);
    for (int i = 0; i < RING_INPUTS; i++)
        compute_signal(recorder, (enum ring_input)i, &rows, values[is_swapped ? 1 - i : i]);
    add_crosstalk(recorder, count, values);
    for (int i = 0; i < RING_INPUTS; i++)
        add_input_faults(recorder, (enum ring_input)i, &rows, values[i]);
    double rate = recorder->ring->sample_rate_Hz;
    for (size_t i = 0; i < count; i++)
        times[i] = rate > 0.0 ? (double)rows.numbers[i] / rate + rows.jitter[i] : 0.0;
}
