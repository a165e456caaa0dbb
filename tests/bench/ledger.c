// SPDX-License-Identifier: GPL-3.0-or-later
/* A ledger of many loops: how fast they go in, and how long what people ask takes.
 *
 *     ledger FILE COUNT      fills FILE with COUNT loops, in batches of 100, unless it has them;
 *                            prints lines "what seconds processor-seconds"
 *
 * 10 loops a ring, 100 rings a heat, 50 heats a supplier. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/memory.h"
#include "ledger/find.h"
#include "ledger/kind.h"
#include "ledger/record.h"

#define BATCH 100
#define RUNS 5

static void need(enum status status, const struct error *err)
{
    if (status != STATUS_OK) {
        fprintf(stderr, "%s\n", err->message);
        exit(1);
    }
}

static double get_seconds(clockid_t clock)
{
    struct timespec now;
    clock_gettime(clock, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* A number in 0 ... 1 that belongs to `seed`. */
static double scatter(unsigned long long seed)
{
    seed = (seed + 1) * 0x9E3779B97F4A7C15ULL;
    seed = (seed ^ (seed >> 30)) * 0xBF58476D1CE4E5B9ULL;
    return (double)((seed ^ (seed >> 27)) >> 11) / 9007199254740992.0;
}

static void add_one(struct ledger *ledger, size_t number)
{
    char names[7][40], notes[] = "[]";
    const size_t ring = number / 10, heat = ring / 100, supplier = heat / 50;
    struct ledger_loop loop = {.channels = 2,
        .frames = 96000,
        .sample_rate_Hz = 48000,
        .has_part = true,
        .length_s = 2,
        .notes = notes,
        .note_codes = notes + 2};
    struct error err = {0};
    enum ledger_outcome outcome;
    long long id;
    snprintf(names[0], sizeof names[0], "c%zu.wav", number);
    snprintf(names[1], sizeof names[1], "R-%zu", ring);
    snprintf(names[2], sizeof names[2], "H%zu", heat);
    snprintf(names[3], sizeof names[3], "supplier %zu", supplier);
    snprintf(names[4], sizeof names[4], "{\"name\": \"R-%zu\"}", ring);
    snprintf(names[5], sizeof names[5], "{\"name\": \"bench %zu\"}", number % 3);
    snprintf(names[6], sizeof names[6], "bench %zu", number % 3);
    snprintf(loop.sha256, sizeof loop.sha256, "%064zx", number);
    loop.file = names[0];
    loop.specimen_name = names[1];
    loop.heat = names[2];
    loop.supplier = names[3];
    loop.specimen = names[4];
    loop.rig = names[5];
    loop.rig_name = names[6];
    for (size_t i = 0; i < FIGURE_LOOP_FULLNESS; i++) {
        figures_set(&loop.figures, (enum figure)i, scatter(100 * number + i));
        figures_set_u(&loop.figures, (enum figure)i, 1e-3 * scatter(100 * number + 50 + i));
    }
    figures_set(&loop.figures, FIGURE_COERCIVITY, 17000 + 3000 * scatter(number));
    need(ledger_add_loop(ledger, &loop, &outcome, &id, &err), &err);
}

static void fill(struct ledger *ledger, size_t from, size_t count)
{
    struct error err = {0};
    const double began = get_seconds(CLOCK_MONOTONIC);
    double last = began;
    for (size_t i = from; i < count; i += BATCH) {
        need(ledger_begin(ledger, &err), &err);
        for (size_t j = i; j < i + BATCH && j < count; j++) {
            add_one(ledger, j);
        }
        need(ledger_commit(ledger, &err), &err);
        last = i < from + (count - from) * 9 / 10 ? get_seconds(CLOCK_MONOTONIC) : last;
    }
    const double end = get_seconds(CLOCK_MONOTONIC), all = (double)(count - from);
    printf("add-rate %.0f 0\nadd-rate-last-tenth %.0f 0\n", all / (end - began),
        all / 10 / (end - last));
}

static enum status count_row(const struct ledger_row *row, void *user, struct error *err)
{
    (void)row;
    (void)err;
    ++*(size_t *)user;
    return STATUS_OK;
}

static enum status count_cells(
    const char *const *names, const char *const *cells, size_t count, void *user, struct error *err)
{
    (void)names;
    (void)cells;
    (void)count;
    (void)err;
    ++*(size_t *)user;
    return STATUS_OK;
}

/* What people ask: a condition (NULL: none) and how it is answered. */
static const struct question {
    const char *name, *where;
    enum { COUNTS, HEATS, FIND, LOTS } kind;
    enum figure figure;
} questions[] = {
    {"list", NULL, COUNTS, 0},
    {"list-heats", NULL, HEATS, 0},
    {"find-first-100", NULL, FIND, 0},
    {"find-heat", "heat = H7", FIND, 0},
    {"find-supplier", "supplier = 'supplier 1'", FIND, 0},
    {"find-range", "18 kA/m < coercivity < 18.01 kA/m", FIND, 0},
    {"find-range-in-supplier", "coercivity > 19.99 kA/m and supplier = 'supplier 1'", FIND, 0},
    {"lot-heat", "heat = H7", LOTS, FIGURE_LOOP_AREA},
    {"lot-supplier", "supplier = 'supplier 1'", LOTS, FIGURE_COERCIVITY},
    {"lots-coercivity", NULL, LOTS, FIGURE_COERCIVITY},
    {"lots-other-figure", NULL, LOTS, FIGURE_FLUX_DENSITY_PEAK},
    {"lots-with-condition", "flux_density_peak > 0.1 T", LOTS, FIGURE_FLUX_DENSITY_PEAK},
};

static void ask(struct ledger *ledger, const struct question *question)
{
    struct error err = {0};
    struct ledger_search search = LEDGER_SEARCH_ALL;
    struct ledger_where *where = ledger_where_create();
    struct ledger_lots lots = {0};
    size_t count = 0;
    if (question->where != NULL) {
        need(ledger_where_add(where, question->where, &err), &err);
    }
    search.where = where;
    search.limit = 100;
    switch (question->kind) {
    case COUNTS:
        need(ledger_visit_counts(ledger, count_cells, &count, &err), &err);
        break;
    case HEATS:
        need(ledger_visit_kind(ledger, LEDGER_KIND_HEAT, count_cells, &count, &err), &err);
        break;
    case FIND:
        need(ledger_visit_loops(ledger, &search, count_row, &count, &err), &err);
        need(ledger_count_loops(ledger, &search, &count, &err), &err);
        break;
    case LOTS:
        need(ledger_read_lots(ledger, where, question->figure, &lots, &err), &err);
        ledger_lots_clear(&lots);
        break;
    }
    ledger_where_destroy(where);
}

static int compare(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static void measure(const char *path, const struct question *question)
{
    struct ledger *ledger = NULL;
    struct error err = {0};
    double seconds[RUNS], busy[RUNS];
    need(ledger_open(path, LEDGER_READ, NULL, &ledger, &err), &err);
    for (size_t i = 0; i < RUNS; i++) {
        const double began = get_seconds(CLOCK_MONOTONIC);
        const double began_busy = get_seconds(CLOCK_PROCESS_CPUTIME_ID);
        ask(ledger, question);
        seconds[i] = get_seconds(CLOCK_MONOTONIC) - began;
        busy[i] = get_seconds(CLOCK_PROCESS_CPUTIME_ID) - began_busy;
    }
    ledger_close(ledger);
    qsort(seconds, RUNS, sizeof seconds[0], compare);
    qsort(busy, RUNS, sizeof busy[0], compare);
    printf("%s %.6f %.6f\n", question->name, seconds[RUNS / 2], busy[RUNS / 2]);
}

int main(int argc, char **argv)
{
    const struct ledger_change change = {.command = "add"};
    struct ledger *ledger = NULL;
    struct error err = {0};
    size_t there = 0;
    if (argc != 3) {
        fprintf(stderr, "usage: ledger FILE COUNT\n");
        return 1;
    }
    need(ledger_open(argv[1], LEDGER_CREATE, &change, &ledger, &err), &err);
    need(ledger_count_loops(ledger, &LEDGER_SEARCH_ALL, &there, &err), &err);
    const size_t wanted = (size_t)strtoul(argv[2], NULL, 10);
    if (there < wanted) {
        fill(ledger, there, wanted);
    }
    ledger_close(ledger);
    for (size_t i = 0; i < sizeof questions / sizeof questions[0]; i++) {
        measure(argv[1], &questions[i]);
    }
    return 0;
}
