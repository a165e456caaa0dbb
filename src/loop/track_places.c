// SPDX-License-Identifier: GPL-3.0-or-later
/* Where a known loop has its peaks, crossings and turns. */
#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "loop/track_part.h"
#include "num/fourier.h"
#include "quantity/constant.h"

static const double MU0 = MAGNETIC_CONSTANT;

enum { CROSSINGS = 64, TURNS = 64 };

double track_get_phase(const struct track *track, int wave, int place)
{
    const double *const lists[] = {track->top, track->bottom, track->falling, track->rising};
    return lists[place][wave];
}

void track_set_waves(struct track *track, const struct fourier_loop *loop)
{
    for (size_t k = 0; k <= track->harmonics; k++) {
        track->wave[TRACK_FIELD][k] = loop->field[k];
        track->wave[TRACK_FLUX][k] = loop->flux_density[k];
        track->wave[TRACK_POLARIZATION][k] = loop->flux_density[k] - MU0 * loop->field[k];
    }
}

/* Of the largest possible value: crossings so near each other in value are told by direction. */
static const double ALIKE = 1e-9;

/* The crossing which the figure was read at: the one with its value. That need not be one of the
 * branch's direction, for of three in a row the middle one counts. */
static double choose_crossing(const struct fourier_crossing *list, size_t count, int is_rising,
    const double complex *other, size_t harmonics, double wanted)
{
    double best = NAN, distance = INFINITY, largest = 0.0;
    for (size_t k = 0; k <= harmonics; k++) {
        largest += cabs(other[k]);
    }
    for (size_t i = 0; i < count; i++) {
        const double off = fabs(fourier_get(other, harmonics, list[i].phase, NULL) - wanted) +
                           (list[i].is_rising == is_rising ? 0.0 : ALIKE * largest);
        if (off < distance) {
            best = list[i].phase;
            distance = off;
        }
    }
    return best;
}

static enum status find_crossings(struct track *track, int which, const double complex *base,
    const double complex *other, const struct figure_value *falling, double sign, struct error *err)
{
    struct fourier_crossing list[CROSSINGS];
    size_t count = 0;
    track->falling[which] = track->rising[which] = NAN;
    if (!falling->is_present) {
        return STATUS_OK;
    }
    const enum status status =
        fourier_find_crossings(base, track->harmonics, 0.0, list, CROSSINGS, &count, err);
    if (status == STATUS_OK) {
        count = count < CROSSINGS ? count : CROSSINGS;
        track->falling[which] =
            choose_crossing(list, count, 0, other, track->harmonics, sign * falling[0].value);
        track->rising[which] =
            choose_crossing(list, count, 1, other, track->harmonics, -sign * falling[1].value);
    }
    return status;
}

/* All extremes of B: where dB/dx passes zero. */
static enum status find_turns(struct track *track, struct error *err)
{
    const size_t n = track->harmonics, limit = 2 * n + 2;
    double complex *slope = memory_create(n + 1, sizeof *slope);
    struct fourier_crossing *list = memory_create(limit, sizeof *list);
    enum status status = slope == NULL || list == NULL ? fail_memory(err) : STATUS_OK;
    for (size_t k = 0; status == STATUS_OK && k <= n; k++) {
        slope[k] = I * (double)k * track->wave[TRACK_FLUX][k];
    }
    size_t count = 0;
    if (status == STATUS_OK) {
        status = fourier_find_crossings(slope, n, 0.0, list, limit, &count, err);
    }
    if (status == STATUS_OK) {
        track->turn_count = count < limit ? count : limit;
        track->turns = memory_create(track->turn_count + 1, sizeof *track->turns);
        status = track->turns == NULL ? fail_memory(err) : STATUS_OK;
    }
    for (size_t i = 0; status == STATUS_OK && i < track->turn_count; i++) {
        track->turns[i] = list[i].phase;
        track->is_first_top = !list[0].is_rising;
    }
    memory_destroy(slope);
    memory_destroy(list);
    return status;
}

static enum status create_waves(struct track *track, struct error *err)
{
    bool is_short = false;
    track->padded = (track->harmonics + TRACK_LANES) / TRACK_LANES * TRACK_LANES;
    for (int i = TRACK_FIELD; i <= TRACK_POLARIZATION; i++) {
        track->wave[i] = memory_create(track->harmonics + 1, sizeof *track->wave[i]);
        track->parts[i] = memory_create(2 * track->padded, sizeof *track->parts[i]);
        is_short = is_short || track->wave[i] == NULL || track->parts[i] == NULL;
    }
    return is_short ? fail_memory(err) : STATUS_OK;
}

static enum status create_table(struct track *track, struct error *err)
{
    track->rows = 3 * TRACK_PLACES + (track->turn_count < TURNS ? track->turn_count : TURNS);
    track->table = memory_create(2 * track->padded * track->rows, sizeof *track->table);
    return track->table == NULL ? fail_memory(err) : STATUS_OK;
}

static void fill_table(struct track *track)
{
    for (size_t i = 0; i < track->rows; i++) {
        double *table = track->table + 2 * track->padded * i;
        const double x = i < 3 * TRACK_PLACES ? track_get_phase(track, (int)(i / TRACK_PLACES),
                                                    (int)(i % TRACK_PLACES))
                                              : track->turns[i - 3 * TRACK_PLACES];
        for (size_t k = 0; k <= track->harmonics; k++) {
            table[k] = cos((double)k * x);
            table[track->padded + k] = sin((double)k * x);
        }
    }
}

static enum status find_places(struct track *track, const struct fourier_loop *loop,
    const struct figures *figures, struct error *err)
{
    static const enum figure first[] = {
        FIGURE_REMANENCE_FALLING, FIGURE_COERCIVITY_FALLING, FIGURE_COERCIVITY_J_FALLING};
    double complex *const *wave = track->wave;
    track_set_waves(track, loop);
    for (int i = TRACK_FIELD; i <= TRACK_POLARIZATION; i++) {
        struct fourier_extremes extremes;
        const enum status status = fourier_find_extremes(wave[i], track->harmonics, &extremes, err);
        if (status != STATUS_OK) {
            return status;
        }
        track->top[i] = extremes.maximum_phase;
        track->bottom[i] = extremes.minimum_phase;
        if (i != TRACK_FIELD) {
            wave[i][0] -= 0.5 * (extremes.maximum + extremes.minimum);
        }
    }
    for (int i = TRACK_FIELD; i <= TRACK_POLARIZATION; i++) {
        const enum status status =
            find_crossings(track, i, wave[i], wave[i == TRACK_FIELD ? TRACK_FLUX : TRACK_FIELD],
                &figures->list[first[i]], i == TRACK_FIELD ? 1.0 : -1.0, err);
        if (status != STATUS_OK) {
            return status;
        }
    }
    enum status status = find_turns(track, err);
    if (status == STATUS_OK) {
        status = create_table(track, err);
    }
    if (status == STATUS_OK) {
        fill_table(track);
    }
    return status;
}

enum status track_create(struct track *track, const struct fourier_loop *loop,
    const struct figures *figures, struct error *err)
{
    struct track fresh = {.harmonics = loop->harmonics};
    enum status status = create_waves(&fresh, err);
    if (status == STATUS_OK) {
        status = find_places(&fresh, loop, figures, err);
    }
    if (status != STATUS_OK) {
        track_clear(&fresh);
        return status;
    }
    *track = fresh;
    return STATUS_OK;
}

enum status track_copy(struct track *copy, const struct track *track, struct error *err)
{
    struct track fresh = {.harmonics = track->harmonics,
        .turn_count = track->turn_count,
        .is_first_top = track->is_first_top};
    memcpy(fresh.top, track->top, sizeof fresh.top);
    memcpy(fresh.bottom, track->bottom, sizeof fresh.bottom);
    memcpy(fresh.falling, track->falling, sizeof fresh.falling);
    memcpy(fresh.rising, track->rising, sizeof fresh.rising);
    fresh.turns = memory_create(track->turn_count + 1, sizeof *fresh.turns);
    enum status status = fresh.turns == NULL ? fail_memory(err) : create_waves(&fresh, err);
    if (status == STATUS_OK) {
        status = create_table(&fresh, err);
    }
    if (status != STATUS_OK) {
        track_clear(&fresh);
        return status;
    }
    memcpy(fresh.turns, track->turns, track->turn_count * sizeof *fresh.turns);
    memcpy(fresh.table, track->table, 2 * track->padded * track->rows * sizeof *fresh.table);
    *copy = fresh;
    return STATUS_OK;
}

void track_clear(struct track *track)
{
    for (int i = TRACK_FIELD; i <= TRACK_POLARIZATION; i++) {
        memory_destroy(track->wave[i]);
        memory_destroy(track->parts[i]);
    }
    memory_destroy(track->table);
    memory_destroy(track->turns);
    *track = (struct track){0};
}
