// SPDX-License-Identifier: GPL-3.0-or-later
#include "budget/trials.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "budget/draw.h"
#include "budget/tally.h"

/* How something scatters from lot to lot. */
struct spread {
    double count, mean, squares;
};

static void spread_add(struct spread *spread, double value)
{
    spread->count += 1.0;
    const double d = value - spread->mean;
    spread->mean += d / spread->count;
    spread->squares += d * (value - spread->mean);
}

static double spread_get_u(const struct spread *spread)
{
    return spread->count > 1.0 ? sqrt(spread->squares / (spread->count - 1.0) / spread->count)
                               : NAN;
}

enum { MEAN, U, LOW, HIGH, WATCHED };

struct watched {
    struct tally tally;
    struct spread spread[WATCHED];
};

struct run {
    const struct budget_problem *problem;
    const struct trials_options *options;
    struct draw inputs, scatter;
    struct watched *list; /* [output] */
    double *lot;          /* [output * TRIALS_LOT + trial] */
};

static enum status run_init(struct run *run, struct error *err)
{
    const size_t outputs = run->problem->model.outputs;
    run->list = memory_create(outputs + 1, sizeof *run->list);
    run->lot = memory_create(outputs * TRIALS_LOT + 1, sizeof *run->lot);
    if (run->list == NULL || run->lot == NULL) {
        return fail_memory(err);
    }
    const enum status status = draw_create(&run->inputs, &run->problem->inputs, err);
    return status != STATUS_OK ? status : draw_create(&run->scatter, &run->problem->scatter, err);
}

static void run_clear(struct run *run)
{
    for (size_t j = 0; run->list != NULL && j < run->problem->model.outputs; j++) {
        tally_clear(&run->list[j].tally);
    }
    draw_clear(&run->inputs);
    draw_clear(&run->scatter);
    memory_destroy(run->list);
    memory_destroy(run->lot);
}

/* What one thread works with. */
struct worker {
    void *work;
    double *values; /* inputs, outputs, scatter, room for draws */
};

static bool worker_init(struct worker *worker, const struct budget_problem *problem)
{
    const struct budget_model *model = &problem->model;
    const size_t most =
        problem->inputs.count > model->outputs ? problem->inputs.count : model->outputs;
    worker->values = memory_create((3 + DRAW_ROOM) * most + 1, sizeof *worker->values);
    worker->work = model->create_work != NULL ? model->create_work(model->subject) : NULL;
    return worker->values != NULL && (model->create_work == NULL || worker->work != NULL);
}

static void worker_clear(struct worker *worker, const struct budget_problem *problem)
{
    if (worker->work != NULL) {
        problem->model.destroy_work(worker->work);
    }
    memory_destroy(worker->values);
}

static void take_trial(const struct run *run, struct worker *worker, size_t number, size_t place)
{
    const struct budget_model *model = &run->problem->model;
    const size_t n = run->problem->inputs.count, m = model->outputs, most = n > m ? n : m;
    double *inputs = worker->values, *outputs = inputs + most, *scatter = outputs + most;
    double *room = scatter + most;
    struct random random;
    random_init(&random, run->options->seed, number);
    draw_take(&run->inputs, &random, room, inputs);
    draw_take(&run->scatter, &random, room, scatter);
    model->compute(model->subject, worker->work, inputs, outputs);
    for (size_t j = 0; j < m; j++) {
        run->lot[j * TRIALS_LOT + place] =
            outputs[j] + (run->problem->scatter.count > 0 ? scatter[j] : 0.0);
    }
}

static enum status fill_lot(struct run *run, size_t first, size_t count, struct error *err)
{
    bool is_short = false;
#pragma omp parallel
    {
        struct worker worker = {0};
        const bool is_ready = worker_init(&worker, run->problem);
        if (!is_ready) {
#pragma omp atomic write
            is_short = true;
        }
#pragma omp for schedule(dynamic, 100)
        for (size_t i = 0; i < count; i++) {
            if (is_ready) {
                take_trial(run, &worker, first + i, i);
            }
        }
        worker_clear(&worker, run->problem);
    }
    return is_short ? fail_memory(err) : STATUS_OK;
}

/* The value that would stand at place `k` of the sorted list (C. A. R. Hoare, algorithm 65, Comm.
 * ACM 4 (1961) 321); the list is shuffled. */
static double select_value(double *list, ptrdiff_t count, ptrdiff_t k)
{
    ptrdiff_t first = 0, last = count - 1;
    while (first < last) {
        const double pivot = list[k];
        ptrdiff_t i = first, j = last;
        do {
            while (list[i] < pivot) {
                i++;
            }
            while (pivot < list[j]) {
                j--;
            }
            if (i <= j) {
                const double held = list[i];
                list[i++] = list[j];
                list[j--] = held;
            }
        } while (i <= j);
        first = j < k ? i : first;
        last = k < i ? j : last;
    }
    return list[k];
}

static void watch_lot(struct watched *watched, double *lot, double probability)
{
    double sum = 0.0, squares = 0.0;
    for (size_t i = 0; i < TRIALS_LOT; i++) {
        if (!isfinite(lot[i])) {
            return;
        }
        sum += lot[i] - lot[0];
    }
    const double mean = lot[0] + sum / TRIALS_LOT;
    for (size_t i = 0; i < TRIALS_LOT; i++) {
        squares += (lot[i] - mean) * (lot[i] - mean);
    }
    const double outside = 0.5 * (1.0 - probability);
    const ptrdiff_t low = (ptrdiff_t)(outside * TRIALS_LOT);
    spread_add(&watched->spread[MEAN], mean);
    spread_add(&watched->spread[U], sqrt(squares / (TRIALS_LOT - 1)));
    spread_add(&watched->spread[LOW], select_value(lot, TRIALS_LOT, low));
    /* what stands behind the first is not below it */
    spread_add(&watched->spread[HIGH],
        select_value(lot + low, TRIALS_LOT - low, TRIALS_LOT - 1 - 2 * low));
}

static enum status add_lot(struct run *run, size_t first, size_t count, struct error *err)
{
    enum status status = fill_lot(run, first, count, err);
    bool is_short = false;
    if (status != STATUS_OK) {
        return status;
    }
#pragma omp parallel for schedule(dynamic, 1)
    for (size_t j = 0; j < run->problem->model.outputs; j++) {
        double *lot = run->lot + j * TRIALS_LOT;
        if (tally_add(&run->list[j].tally, lot, count, NULL) != STATUS_OK) {
#pragma omp atomic write
            is_short = true;
        }
        if (count == TRIALS_LOT) {
            watch_lot(&run->list[j], lot, run->options->probability);
        }
    }
    return is_short ? fail_memory(err) : STATUS_OK;
}

/* delta: half of the last of `digits` significant digits of u. */
static double compute_tolerance(double u, int digits)
{
    return u > 0.0 ? 0.5 * pow(10.0, floor(log10(u)) - (digits - 1)) : 0.0;
}

static bool is_settled(const struct watched *watched, int digits)
{
    const double tolerance = compute_tolerance(tally_get_u(&watched->tally), digits);
    bool is_calm = true;
    for (int i = 0; i < WATCHED; i++) {
        is_calm = is_calm && 2.0 * spread_get_u(&watched->spread[i]) <= tolerance;
    }
    return is_calm;
}

static bool are_settled(const struct run *run)
{
    bool are_calm = true;
    for (size_t j = 0; j < run->problem->model.outputs; j++) {
        /* an output that is missing now and then can never be watched */
        are_calm = are_calm && (run->list[j].tally.missing > 0 ||
                                   is_settled(&run->list[j], run->options->digits));
    }
    return are_calm;
}

static void set_output(
    struct trials_output *output, const struct watched *watched, const struct trials_options *how)
{
    *output = (struct trials_output){.mean = watched->tally.trials > 0 ? watched->tally.mean : NAN,
        .u = tally_get_u(&watched->tally),
        .u_end = {spread_get_u(&watched->spread[LOW]), spread_get_u(&watched->spread[HIGH])},
        .is_settled = is_settled(watched, how->digits),
        .missing = watched->tally.missing};
    output->tolerance = compute_tolerance(output->u, how->digits);
    tally_find_symmetric(&watched->tally, how->probability, output->symmetric);
    tally_find_shortest(&watched->tally, how->probability, output->shortest);
}

enum status trials_create(struct trials *trials, const struct budget_problem *problem,
    const struct trials_options *options, struct error *err)
{
    struct run run = {.problem = problem, .options = options};
    struct trials fresh = {.outputs = problem->model.outputs};
    const bool is_adaptive = options->count == 0;
    const size_t most = is_adaptive ? options->most : options->count;
    enum status status = run_init(&run, err);
    fresh.list = memory_create(fresh.outputs + 1, sizeof *fresh.list);
    if (status == STATUS_OK && fresh.list == NULL) {
        status = fail_memory(err);
    }
    while (status == STATUS_OK && fresh.count < most) {
        const size_t rest = most - fresh.count, count = rest < TRIALS_LOT ? rest : TRIALS_LOT;
        status = add_lot(&run, fresh.count, count, err);
        fresh.count += count;
        if (is_adaptive && fresh.count > TRIALS_LOT && are_settled(&run)) {
            break;
        }
    }
    for (size_t j = 0; status == STATUS_OK && j < fresh.outputs; j++) {
        set_output(&fresh.list[j], &run.list[j], options);
    }
    run_clear(&run);
    if (status != STATUS_OK) {
        trials_clear(&fresh);
        return status;
    }
    *trials = fresh;
    return STATUS_OK;
}

void trials_clear(struct trials *trials)
{
    memory_destroy(trials->list);
    *trials = (struct trials){0};
}

enum trials_verdict trials_validate(
    const struct trials_output *output, double value, double expanded)
{
    const double low = fabs(value - expanded - output->symmetric[0]);
    const double high = fabs(value + expanded - output->symmetric[1]);
    const double most = fmax(low, high);
    if (most <= output->tolerance) {
        return TRIALS_VALIDATED;
    }
    /* what the ends of so few trials wander by themselves */
    const double wander = 2.0 * fmax(output->u_end[0], output->u_end[1]);
    return most - output->tolerance > wander ? TRIALS_NOT_VALIDATED : TRIALS_TOO_FEW;
}
