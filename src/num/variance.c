// SPDX-License-Identifier: GPL-3.0-or-later
/* All sums are taken over differences from the first value, and between a group's mean and that of
 * the group around it. The coefficient of component m in the expected sum of squares of level l is
 * C(l, m) - C(l - 1, m), with C(l, m) = sum over groups u of level l, and groups v of level m
 * within it, of n_v²/n_u. */
#include "num/variance.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include "base/memory.h"
#include "num/distribution.h"
#include "num/statistics.h"

/* A value with the numbers of its groups, outermost first, for sorting. */
struct item {
    double off; /* from the first value */
    size_t levels;
    size_t group[VARIANCE_LEVELS];
};

/* A group of items: a run in the sorted list. */
struct run {
    size_t first, count, parent;
    double mean;
};

struct work {
    size_t count, levels;
    struct item *items;
    struct run *runs[VARIANCE_LEVELS + 2]; /* [0]: the whole; [levels + 1]: single items */
    size_t run_count[VARIANCE_LEVELS + 2];
    double *scratch;
};

static int compare(const void *left, const void *right)
{
    const struct item *a = left, *b = right;
    for (size_t level = 0; level < a->levels; level++) {
        if (a->group[level] != b->group[level]) {
            return a->group[level] < b->group[level] ? -1 : 1;
        }
    }
    return (a->off > b->off) - (a->off < b->off);
}

static bool is_same(const struct item *a, const struct item *b, size_t levels)
{
    for (size_t level = 0; level < levels; level++) {
        if (a->group[level] != b->group[level]) {
            return false;
        }
    }
    return true;
}

static void set_mean(struct work *work, struct run *run)
{
    for (size_t i = 0; i < run->count; i++) {
        work->scratch[i] = work->items[run->first + i].off;
    }
    run->mean = compensated_sum(work->scratch, run->count) / (double)run->count;
}

/* The runs of depth `depth`: items that share their first `depth` groups. */
static void find_runs(struct work *work, size_t depth)
{
    size_t made = 0, parent = 0;
    struct run *runs = work->runs[depth];
    for (size_t i = 0; i < work->count; i++) {
        const bool is_single = depth > work->levels;
        if (i == 0 || is_single || !is_same(&work->items[i - 1], &work->items[i], depth)) {
            while (depth > 0 &&
                   i >= work->runs[depth - 1][parent].first + work->runs[depth - 1][parent].count) {
                parent++;
            }
            runs[made++] = (struct run){.first = i, .parent = parent};
        }
        runs[made - 1].count++;
    }
    work->run_count[depth] = made;
    for (size_t r = 0; r < made; r++) {
        set_mean(work, &runs[r]);
    }
}

static double sum_squares(const struct work *work, size_t depth)
{
    const struct run *runs = work->runs[depth];
    for (size_t r = 0; r < work->run_count[depth]; r++) {
        const double off = runs[r].mean - work->runs[depth - 1][runs[r].parent].mean;
        work->scratch[r] = (double)runs[r].count * off * off;
    }
    return compensated_sum(work->scratch, work->run_count[depth]);
}

/* C(outer, inner), depths with 0 for the whole. */
static double sum_shares(const struct work *work, size_t outer, size_t inner)
{
    double sum = 0;
    size_t u = 0;
    for (size_t v = 0; v < work->run_count[inner]; v++) {
        const struct run *within = &work->runs[inner][v];
        while (within->first >= work->runs[outer][u].first + work->runs[outer][u].count) {
            u++;
        }
        sum += (double)within->count * (double)within->count / (double)work->runs[outer][u].count;
    }
    return sum;
}

static void set_line(const struct work *work, size_t level, struct variance_table *table)
{
    struct variance_line *line = &table->line[level];
    const size_t depth = level + 1;
    line->squares = sum_squares(work, depth);
    line->freedom = (double)(work->run_count[depth] - work->run_count[depth - 1]);
    /* without degrees of freedom all of this is 0 / 0 */
    line->mean_square = line->squares / line->freedom;
    for (size_t inner = level; inner <= table->levels; inner++) {
        const double share =
            sum_shares(work, depth, inner + 1) - sum_shares(work, depth - 1, inner + 1);
        line->coefficient[inner] = share / line->freedom;
    }
    line->ratio = line->significance = NAN;
}

/* F has its distribution where the mean square below has the same expectation but for the component
 * that is tested. */
static void set_ratio(struct variance_table *table, size_t level)
{
    struct variance_line *line = &table->line[level];
    const struct variance_line *below = &table->line[level + 1];
    if (!(line->freedom > 0 && below->freedom > 0)) {
        return;
    }
    line->ratio = line->mean_square / below->mean_square;
    for (size_t inner = level + 1; inner <= table->levels; inner++) {
        if (fabs(line->coefficient[inner] - below->coefficient[inner]) >
            1e-9 * line->coefficient[inner]) {
            return;
        }
    }
    line->significance = fisher_compute_share_above(line->ratio, line->freedom, below->freedom);
}

/* From the innermost line outwards; `is_kept`: what came out negative counts as 0. */
static double find_component(const struct variance_table *table, size_t level, bool is_kept)
{
    const struct variance_line *line = &table->line[level];
    double left = line->mean_square;
    for (size_t inner = level + 1; inner <= table->levels; inner++) {
        const struct variance_line *other = &table->line[inner];
        left -= line->coefficient[inner] * (is_kept ? other->kept : other->component);
    }
    return left / line->coefficient[level];
}

static void set_components(struct variance_table *table)
{
    for (size_t level = table->levels + 1; level-- > 0;) {
        struct variance_line *line = &table->line[level];
        line->component = find_component(table, level, false);
        const double kept = find_component(table, level, true);
        line->kept = isnan(kept) ? kept : fmax(kept, 0);
    }
}

static void compute(struct work *work, struct variance_table *table)
{
    qsort(work->items, work->count, sizeof *work->items, compare);
    for (size_t depth = 0; depth <= work->levels + 1; depth++) {
        find_runs(work, depth);
    }
    double total = 0;
    table->levels = work->levels;
    for (size_t level = 0; level <= work->levels; level++) {
        set_line(work, level, table);
        table->groups[level] = work->run_count[level + 1];
        total += table->line[level].squares;
    }
    for (size_t level = 0; level < work->levels; level++) {
        set_ratio(table, level);
    }
    table->total_squares = total;
    table->explained = 1 - table->line[work->levels].squares / total;
    set_components(table);
}

static enum status check(const double *values, size_t count, size_t levels, struct error *err)
{
    if (count < 2 || levels < 1 || levels > VARIANCE_LEVELS) {
        return fail(err, STATUS_INPUT, "it takes two values and one level of groups at least",
            "no analysis of variance of %zu values in %zu levels of groups", count, levels);
    }
    for (size_t i = 0; i < count; i++) {
        if (!isfinite(values[i])) {
            return fail(err, STATUS_INPUT, "all values must be finite",
                "value %zu of an analysis of variance is not a number", i + 1);
        }
    }
    return STATUS_OK;
}

static bool work_init(struct work *work, const double *values, const size_t *group)
{
    bool is_made = (work->items = memory_create(work->count, sizeof *work->items)) != NULL &&
                   (work->scratch = memory_create(work->count, sizeof(double))) != NULL;
    for (size_t depth = 0; depth <= work->levels + 1; depth++) {
        work->runs[depth] = memory_create(work->count, sizeof **work->runs);
        is_made = is_made && work->runs[depth] != NULL;
    }
    for (size_t i = 0; is_made && i < work->count; i++) {
        work->items[i].off = values[i] - values[0];
        work->items[i].levels = work->levels;
        for (size_t level = 0; level < work->levels; level++) {
            work->items[i].group[level] = group[level * work->count + i];
        }
    }
    return is_made;
}

static void work_clear(struct work *work)
{
    memory_destroy(work->items);
    memory_destroy(work->scratch);
    for (size_t depth = 0; depth <= VARIANCE_LEVELS + 1; depth++) {
        memory_destroy(work->runs[depth]);
    }
}

enum status variance_compute(const double *values, const size_t *group, size_t count, size_t levels,
    struct variance_table *table, struct error *err)
{
    struct work work = {.count = count, .levels = levels};
    struct variance_table made = {0};
    enum status status = check(values, count, levels, err);
    if (status != STATUS_OK) {
        return status;
    }
    if (work_init(&work, values, group)) {
        compute(&work, &made);
        *table = made;
    } else {
        status = fail_memory(err);
    }
    work_clear(&work);
    return status;
}
