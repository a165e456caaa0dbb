// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop/excerpt.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "num/stray.h"

/* Makes room for as many of `frames` as belong to the excerpt, and gives their number and place;
 * NULL: out of memory. */
static double *reserve(struct excerpt *excerpt, size_t *frames)
{
    const size_t lack = STRAY_FRAMES - excerpt->count;
    const size_t part = *frames < lack ? *frames : lack;
    double *values = memory_reserve(
        excerpt->values, &excerpt->capacity, 2 * (excerpt->count + part), sizeof *values);
    if (values == NULL) {
        return NULL;
    }
    excerpt->values = values;
    double *at = values + 2 * excerpt->count;
    *frames = part;
    excerpt->count += part;
    return at;
}

enum status excerpt_add(
    struct excerpt *excerpt, const double *values, size_t frames, struct error *err)
{
    if (excerpt->count == STRAY_FRAMES || frames == 0) {
        return STATUS_OK;
    }
    double *at = reserve(excerpt, &frames);
    if (at == NULL) {
        return fail_memory(err);
    }
    memcpy(at, values, 2 * frames * sizeof *values);
    return STATUS_OK;
}

enum status excerpt_add_missing(struct excerpt *excerpt, size_t frames, struct error *err)
{
    if (excerpt->count == STRAY_FRAMES || frames == 0) {
        return STATUS_OK;
    }
    double *at = reserve(excerpt, &frames);
    if (at == NULL) {
        return fail_memory(err);
    }
    for (size_t i = 0; i < 2 * frames; i++) {
        at[i] = NAN;
    }
    return STATUS_OK;
}

void excerpt_count_extreme(
    const struct excerpt *excerpt, size_t m, double sign, size_t *outermost, size_t *next)
{
    double highest = -INFINITY, second = -INFINITY;
    *outermost = *next = 0;
    for (size_t n = 0; n < excerpt->count; n++) {
        const double value = sign * excerpt->values[2 * n + m];
        if (value > highest) {
            second = highest;
            *next = *outermost;
            highest = value;
            *outermost = 1;
        } else if (value == highest) {
            ++*outermost;
        } else if (value > second) {
            second = value;
            *next = 1;
        } else if (value == second) {
            ++*next;
        }
    }
}

void excerpt_clear(struct excerpt *excerpt)
{
    memory_destroy(excerpt->values);
    *excerpt = (struct excerpt){0};
}
