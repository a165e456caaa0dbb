// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/block.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"

static const double TURN = 6.283185307179586476925286766559;

enum { LIST_LIMIT = 256 };
/* Phases (radian) that lie nearer to a line than this are on it: below, records without noise show
 * the fit's own rounding. */
static const double ROUNDING = 1e-9;
/* A share of the frequency below which slipping rows move no coefficient worth naming. */
static const double SLIP_LEAST = 1e-9;

enum status block_list_init(
    struct block_list *list, size_t harmonics, double nu0, double origin0, struct error *err)
{
    *list = (struct block_list){.harmonics = harmonics, .nu0 = nu0, .origin0 = origin0};
    list->variance[0] = list->variance[1] = 1.0;
    list->merged = list->span = 1;
    for (int m = 0; m < 2; m++) {
        list->reference[m] = memory_create(harmonics + 1, sizeof *list->reference[m]);
        if (list->reference[m] == NULL) {
            block_list_clear(list);
            return fail_memory(err);
        }
    }
    list->scratch = memory_create(harmonics + 1, sizeof *list->scratch);
    if (list->scratch == NULL) {
        block_list_clear(list);
        return fail_memory(err);
    }
    return STATUS_OK;
}

void block_list_clear(struct block_list *list)
{
    for (size_t b = 0; b < list->count; b++) {
        memory_destroy(list->list[b].value[0]);
        memory_destroy(list->list[b].value[1]);
    }
    memory_destroy(list->list);
    memory_destroy(list->reference[0]);
    memory_destroy(list->reference[1]);
    memory_destroy(list->scratch);
    *list = (struct block_list){0};
}

void block_list_set_reference(struct block_list *list, double complex *const reference[2],
    size_t harmonics, const double variance[2])
{
    const size_t top = harmonics < list->harmonics ? harmonics : list->harmonics;
    for (int m = 0; m < 2; m++) {
        memset(list->reference[m], 0, (list->harmonics + 1) * sizeof *list->reference[m]);
        memcpy(list->reference[m], reference[m], (top + 1) * sizeof *list->reference[m]);
        list->variance[m] = variance[m] > 0.0 ? variance[m] : 1.0;
    }
    list->has_reference = true;
}

/* What one sample tells of the phase: sum of k^2 |c_k|^2 / (2 variance) over the channels. */
static double compute_information(const struct block_list *list)
{
    double sum = 0.0;
    for (int m = 0; m < 2; m++) {
        for (size_t k = list->harmonics; k >= 1; k--) {
            const double size = (double)k * cabs(list->reference[m][k]);
            sum += size * size / (2.0 * list->variance[m]);
        }
    }
    return sum;
}

double block_list_get_phase_noise(const struct block_list *list, double frames)
{
    return 1.0 / sqrt(compute_information(list) * frames);
}

/* The phase by which `value` is ahead of the reference: from the fundamental first, so that no
 * harmonic is mistaken by a turn, then from all by Newton's rule. */
static double measure_phase(const struct block_list *list, double complex *const value[2])
{
    double complex product = 0.0;
    for (int m = 0; m < 2; m++) {
        product += conj(list->reference[m][1]) * value[m][1] / list->variance[m];
    }
    double phase = carg(product);
    for (int round = 0; round < 3; round++) {
        double gradient = 0.0, curvature = 0.0;
        for (size_t k = 1; k <= list->harmonics; k++) {
            list->scratch[k] = cexp(-I * (double)k * phase);
        }
        for (int m = 0; m < 2; m++) {
            for (size_t k = list->harmonics; k >= 1; k--) {
                const double complex turned = value[m][k] * list->scratch[k];
                const double complex cross = conj(list->reference[m][k]) * turned;
                gradient += (double)k * cimag(cross) / list->variance[m];
                curvature += (double)k * (double)k * creal(cross) / list->variance[m];
            }
        }
        if (!(curvature > 0.0)) {
            break;
        }
        phase += gradient / curvature;
    }
    return phase;
}

static void turn_by(double complex *const value[2], size_t harmonics, double phase)
{
    for (size_t k = 1; k <= harmonics; k++) {
        const double complex factor = cexp(-I * (double)k * phase);
        value[0][k] *= factor;
        value[1][k] *= factor;
    }
}

/* b takes up the next block after it; the pair is turned so that both lie on a common slope. */
static void merge_pair(
    struct block *b, const struct block *next, size_t harmonics, const struct block_line *line)
{
    const double frames = b->frames + next->frames;
    const double share = next->frames / frames;
    double excess = 0.0; /* of the second phase over what the slope says */
    if (line->is_steady) {
        excess = next->phase - b->phase - line->slope * (next->centre - b->centre);
    }
    for (int m = 0; m < 2; m++) {
        for (size_t k = 0; k <= harmonics; k++) {
            const double complex first = b->value[m][k] * cexp(-I * (double)k * share * excess);
            const double complex second =
                next->value[m][k] * cexp(I * (double)k * (1.0 - share) * excess);
            b->value[m][k] = (1.0 - share) * first + share * second;
        }
    }
    b->phase += share * (next->phase - b->phase);
    b->centre += share * (next->centre - b->centre);
    b->frames = frames;
}

static void free_values(struct block *block)
{
    memory_destroy(block->value[0]);
    memory_destroy(block->value[1]);
    *block = (struct block){0};
}

static void merge_all(struct block_list *list)
{
    const struct block_line line = block_list_fit_line(list);
    const size_t pairs = list->count / 2;
    for (size_t b = 0; b < pairs; b++) {
        merge_pair(&list->list[2 * b], &list->list[2 * b + 1], list->harmonics, &line);
        free_values(&list->list[2 * b + 1]);
        if (b > 0) {
            list->list[b] = list->list[2 * b];
        }
    }
    list->count = pairs;
    list->merged *= 2;
}

static enum status append(struct block_list *list, struct block **block, struct error *err)
{
    struct block *grown =
        memory_reserve(list->list, &list->capacity, list->count + 1, sizeof *grown);
    if (grown == NULL) {
        return fail_memory(err);
    }
    list->list = grown;
    struct block fresh = {0};
    fresh.value[0] = memory_create(list->harmonics + 1, sizeof *fresh.value[0]);
    fresh.value[1] = memory_create(list->harmonics + 1, sizeof *fresh.value[1]);
    if (fresh.value[0] == NULL || fresh.value[1] == NULL) {
        free_values(&fresh);
        return fail_memory(err);
    }
    list->list[list->count] = fresh;
    *block = &list->list[list->count++];
    return STATUS_OK;
}

/* Blocks are merged only when a list of full ones is complete, so that all stand for as many
 * frames. */
static void make_room(struct block_list *list)
{
    if (list->pending >= list->merged || list->pending == 0) {
        list->pending = 0;
        if (list->count >= LIST_LIMIT) {
            merge_all(list);
        }
    }
}

double block_list_measure(struct block_list *list, double complex *const value[2])
{
    if (!list->has_reference) {
        block_list_set_reference(list, value, list->harmonics, list->variance);
    }
    return measure_phase(list, value);
}

enum status block_list_add(struct block_list *list, double complex *const value[2], double centre,
    double frames, double nu, double origin, double phase, struct error *err)
{
    make_room(list);
    struct block *block = NULL;
    const enum status status = append(list, &block, err);
    if (status != STATUS_OK) {
        return status;
    }
    const size_t bytes = (list->harmonics + 1) * sizeof *block->value[0];
    memcpy(block->value[0], value[0], bytes);
    memcpy(block->value[1], value[1], bytes);
    block->centre = centre;
    block->frames = frames;
    list->nominal += frames * nu;
    turn_by(block->value, list->harmonics, phase);
    block->phase = phase + TURN * (nu * (centre - origin) - list->nu0 * (centre - list->origin0));
    if (list->has_last) { /* the nominal frequency says how many whole turns lie between */
        const double turned = TURN * (nu - list->nu0) * (centre - list->last_centre);
        block->phase -= TURN * round((block->phase - list->last_phase - turned) / TURN);
    }
    list->has_last = true;
    list->last_phase = block->phase;
    list->last_centre = centre;
    const bool is_part = list->pending > 0;
    list->pending += list->span;
    if (is_part) {
        const struct block_line line = block_list_fit_line(list);
        merge_pair(block - 1, block, list->harmonics, &line);
        free_values(block);
        list->count--;
    }
    return STATUS_OK;
}

struct block_line block_list_fit_line(const struct block_list *list)
{
    struct block_line line = {.is_steady = true, .scatter = 1.0};
    double weight = 0.0, time = 0.0, phase = 0.0;
    for (size_t b = 0; b < list->count; b++) {
        weight += list->list[b].frames;
        time += list->list[b].frames * list->list[b].centre;
        phase += list->list[b].frames * list->list[b].phase;
    }
    if (!(weight > 0.0)) {
        return line;
    }
    time /= weight;
    phase /= weight;
    double spread = 0.0, product = 0.0;
    for (size_t b = 0; b < list->count; b++) {
        const double x = list->list[b].centre - time;
        spread += list->list[b].frames * x * x;
        product += list->list[b].frames * x * (list->list[b].phase - phase);
    }
    line.slope = spread > 0.0 ? product / spread : 0.0;
    line.offset = phase - line.slope * time;
    const double information = compute_information(list);
    double squares = 0.0;
    for (size_t b = 0; b < list->count; b++) {
        const double rest = list->list[b].phase - line.offset - line.slope * list->list[b].centre;
        squares += information * list->list[b].frames * rest * rest;
        line.largest = fmax(line.largest, fabs(rest));
    }
    line.expected = sqrt((double)list->count / (weight * information));
    line.u_slope = spread > 0.0 ? 1.0 / sqrt(spread * information) : 0.0;
    if (list->count > 2) {
        const double freedom = (double)list->count - 2.0;
        line.scatter = squares / freedom;
        line.is_steady = line.scatter < 1.0 + 6.0 * sqrt(2.0 / freedom) || line.largest < ROUNDING;
    }
    return line;
}

double block_list_get_runaway(const struct block_list *list)
{
    double most = 0.0;
    for (size_t b = 2; b < list->count; b++) {
        const struct block *at = &list->list[b];
        const double early = (at[-1].phase - at[-2].phase) / (at[-1].centre - at[-2].centre);
        const double late = (at[0].phase - at[-1].phase) / (at[0].centre - at[-1].centre);
        most = fmax(most, fabs(late - early) * (at[0].centre - at[-1].centre));
    }
    return most / TURN;
}

/* The phases' slope (radian a sample) at block b, from it and its neighbours. */
static double get_slope(const struct block_list *list, size_t b)
{
    const size_t last = list->count - 2, early_enough = b < last ? b : last;
    const size_t middle = early_enough > 1 ? early_enough : 1;
    const struct block *p = &list->list[middle - 1];
    const double early = (p[1].phase - p[0].phase) / (p[1].centre - p[0].centre);
    const double late = (p[2].phase - p[1].phase) / (p[2].centre - p[1].centre);
    const double place = list->list[b].centre - 0.5 * (p[0].centre + p[1].centre);
    return early + (late - early) * 2.0 * place / (p[2].centre - p[0].centre);
}

/* By which share the phases' mean frequency is above the nominal one; not a number without blocks.
 */
static double compute_slip(const struct block_list *list, const struct block_line *line)
{
    double weight = 0.0, slope = 0.0;
    for (size_t b = 0; b < list->count; b++) {
        weight += list->list[b].frames;
        slope += list->list[b].frames * (line->is_steady ? line->slope : get_slope(list, b));
    }
    const double nominal = list->nominal / weight;
    return (list->nu0 - nominal + slope / weight / TURN) / nominal;
}

/* With c[-l] the conjugate of c[l], both half of a real waveform's coefficient. */
static void undo_slip(double complex *c, size_t harmonics, double slip, double complex *scratch)
{
    memcpy(scratch, c, (harmonics + 1) * sizeof *scratch);
    for (size_t k = 0; k <= harmonics; k++) {
        double complex sum = 0.0;
        for (size_t l = 1; l <= harmonics; l++) {
            const double above = l == k ? 0.0 : (double)l / ((double)k - (double)l);
            const double below = (double)l / ((double)k + (double)l);
            sum += above * scratch[l] - below * conj(scratch[l]);
        }
        c[k] += k == 0 ? 0.5 * slip * sum : slip * sum;
    }
}

void block_list_compute_mean(
    struct block_list *list, const struct block_line *line, double complex *const mean[2])
{
    double weight = 0.0;
    for (int m = 0; m < 2; m++) {
        memset(mean[m], 0, (list->harmonics + 1) * sizeof *mean[m]);
    }
    for (size_t b = 0; b < list->count; b++) {
        const struct block *block = &list->list[b];
        double rest = 0.0;
        if (line->is_steady) {
            rest = block->phase - line->offset - line->slope * block->centre;
        }
        weight += block->frames;
        for (size_t k = 0; k <= list->harmonics; k++) {
            const double complex factor = block->frames * cexp(I * (double)k * rest);
            mean[0][k] += factor * block->value[0][k];
            mean[1][k] += factor * block->value[1][k];
        }
    }
    for (size_t k = 0; weight > 0.0 && k <= list->harmonics; k++) {
        mean[0][k] /= weight;
        mean[1][k] /= weight;
    }
    const double slip = compute_slip(list, line);
    for (int m = 0; m < 2 && fabs(slip) > SLIP_LEAST; m++) {
        undo_slip(mean[m], list->harmonics, slip, list->scratch);
    }
}

size_t choose_harmonics(double complex *const value[2], size_t channels, size_t harmonics,
    double frames, const double variance[2])
{
    const double penalty = 6.0, rounding = 2e-11;
    double largest[2] = {0.0, 0.0};
    for (size_t m = 0; m < channels; m++) {
        for (size_t k = 1; k <= harmonics; k++) {
            largest[m] = fmax(largest[m], cabs(value[m][k]));
        }
    }
    size_t best = 1;
    double score = 0.0, highest = -INFINITY;
    for (size_t k = 1; k <= harmonics; k++) {
        for (size_t m = 0; m < channels; m++) {
            const double size = cabs(value[m][k]);
            if (size > rounding * largest[m] && variance[m] > 0.0) {
                /* one overwhelming harmonic must not hide rounding in the sum */
                score += fmin(size * size * frames / (2.0 * variance[m]), 1e9);
            }
            score -= penalty;
        }
        if (score > highest) {
            highest = score;
            best = k;
        }
    }
    return best;
}
