// SPDX-License-Identifier: GPL-3.0-or-later
#include "virtual/gaps.h"

#include "base/memory.h"
#include "num/random.h"
#include "virtual/stream.h"

enum status gaps_create(
    struct gaps *gaps, const struct ring *ring, uint64_t seed, struct error *err)
{
    struct gaps made = {
        .kind = ring->faults.missing_kind,
        .count = (size_t)ring->faults.missing_runs.value,
        .length = (size_t)ring->faults.missing_length.value,
    };
    if (made.count == 0) {
        *gaps = made;
        return STATUS_OK;
    }
    made.starts = memory_create(made.count, sizeof *made.starts);
    if (made.starts == NULL)
        return fail_memory(err);
    struct random random;
    random_init(&random, seed, STREAM_GAPS);
    size_t part = ring->rows / made.count; /* ring_check: at least 2 (length + 1) */
    for (size_t i = 0; i < made.count; i++)
        made.starts[i] =
            i * part + made.length + (size_t)random_get_below(&random, part - 2 * made.length);
    *gaps = made;
    return STATUS_OK;
}

void gaps_clear(struct gaps *gaps)
{
    memory_destroy(gaps->starts);
    *gaps = (struct gaps){0};
}

size_t gaps_get_rows(const struct gaps *gaps, size_t rows)
{
    return gaps->kind == RING_MISSING_DROPPED ? rows - gaps->count * gaps->length : rows;
}

/* How many runs begin at a place or before it; places are rows, less those dropped before. */
static size_t count_before(const struct gaps *gaps, size_t place)
{
    size_t dropped = gaps->kind == RING_MISSING_DROPPED ? gaps->length : 0;
    size_t low = 0, high = gaps->count;
    while (low < high) {
        size_t middle = (low + high) / 2;
        if (gaps->starts[middle] - middle * dropped <= place)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

size_t gaps_find_row(const struct gaps *gaps, size_t place, bool *is_blank)
{
    size_t before = count_before(gaps, place);
    *is_blank = false;
    if (gaps->kind == RING_MISSING_DROPPED)
        return place + before * gaps->length;
    if (before == 0 || place >= gaps->starts[before - 1] + gaps->length)
        return place;
    if (gaps->kind == RING_MISSING_HELD)
        return gaps->starts[before - 1] - 1;
    if (gaps->kind == RING_MISSING_REPEATED)
        return place - gaps->length;
    *is_blank = true;
    return place;
}
