// SPDX-License-Identifier: GPL-3.0-or-later
#include "model/history.h"

#include <math.h>

#include "base/memory.h"
#include "num/root.h"
#include "quantity/constant.h"

struct history {
    const struct material *material;
    const struct history_rule *rule;
    void *machine;
    struct root_finder *finder;
    double field;        /* A/m */
    double flux_density; /* T */
    double slope;        /* dB/dH of the last move, T m/A: where the next root is sought first */
};

enum status history_create(
    const struct material *material, struct history **history, struct error *err)
{
    enum status status = material_check(material, err);
    if (status)
        return status;
    struct history *made = memory_create(1, sizeof *made);
    if (!made)
        return fail_memory(err);
    made->material = material;
    made->rule = material->model->history;
    made->finder = root_finder_create();
    status = made->finder ? STATUS_OK : fail_memory(err);
    if (!status && made->rule->create)
        status = made->rule->create(material, &made->machine, err);
    if (status) {
        history_destroy(made);
        return status;
    }
    history_reset(made);
    *history = made;
    return STATUS_OK;
}

void history_destroy(struct history *history)
{
    if (!history)
        return;
    if (history->machine)
        history->rule->destroy(history->machine);
    root_finder_destroy(history->finder);
    memory_destroy(history);
}

void history_reset(struct history *history)
{
    if (history->machine)
        history->rule->reset(history->machine);
    history->field = history->flux_density = 0.0;
    history->slope = 100.0 * MAGNETIC_CONSTANT;
}

double history_get_field(const struct history *history)
{
    return history->field;
}

double history_get_flux_density(const struct history *history)
{
    return history->flux_density;
}

static enum status move(struct history *history, double field, struct error *err)
{
    double flux_density;
    enum status status = history->rule->move(history->machine, field, &flux_density, err);
    if (status)
        return status;
    double slope = (flux_density - history->flux_density) / (field - history->field);
    if (isfinite(slope) && slope > MAGNETIC_CONSTANT)
        history->slope = slope;
    history->field = field;
    history->flux_density = flux_density;
    return STATUS_OK;
}

/* What the root finder asks: B - wanted at a field. */
struct search {
    struct history *history;
    double wanted;
    enum status status;
    struct error *err;
};

static double get_excess(double field, void *context)
{
    struct search *search = context;
    struct history *history = search->history;
    double flux_density;
    enum status status = history->rule->look(history->machine, field, &flux_density, search->err);
    if (status) {
        search->status = status;
        return NAN;
    }
    return flux_density - search->wanted;
}

/* A field beyond which B has passed what is wanted: no farther than wanted / mu0. */
static double find_far_end(struct search *search, double *near)
{
    struct history *history = search->history;
    double change = search->wanted - history->flux_density;
    double most = change / MAGNETIC_CONSTANT * (1.0 + 1e-9);
    double step = change / history->slope;
    for (*near = history->field; fabs(step) < fabs(most);) {
        double excess = get_excess(history->field + step, search);
        if (!(excess * change < 0.0)) /* passed, or failed */
            return history->field + step;
        *near = history->field + step;
        step *= 2.0;
    }
    return history->field + most;
}

static enum status move_by_flux(struct history *history, double flux_density, struct error *err)
{
    if (flux_density == history->flux_density)
        return STATUS_OK;
    struct search search = {.history = history, .wanted = flux_density, .err = err};
    double near, field;
    double far = find_far_end(&search, &near);
    if (search.status)
        return search.status;
    enum status status = root_finder_solve(history->finder, get_excess, &search, near, far,
        1e-13 * fabs(far - history->field), &field, err);
    if (search.status)
        return search.status;
    return status ? status : move(history, field, err);
}

enum status history_advance(struct history *history, enum model_drive drive, const double *given,
    size_t count, double *found, struct error *err)
{
    if (!history->rule->move)
        return fail(err, STATUS_INPUT, "give it a whole cycle",
            "model '%s' knows only whole cycles, not a history", history->material->model->name);
    for (size_t i = 0; i < count; i++) {
        double value = given[i];
        if (!isfinite(value))
            return fail(err, STATUS_INPUT, "leave it out", "value %zu is not a finite number", i);
        bool is_field = drive == MODEL_DRIVE_FIELD;
        enum status status =
            is_field ? move(history, value, err) : move_by_flux(history, value, err);
        if (status)
            return status;
        found[i] = is_field ? history->flux_density : history->field;
    }
    return STATUS_OK;
}

enum status history_compute_cycle(struct history *history, enum model_drive drive,
    const double *given, size_t count, double *found, struct error *err)
{
    enum { CYCLES = 1000 };
    if (history->rule->compute_cycle)
        return history->rule->compute_cycle(history->material, drive, given, count, found, err);
    double change = INFINITY, size = 0.0;
    for (int cycle = 0; cycle < CYCLES && change > 1e-12 * size; cycle++) {
        change = cycle ? 0.0 : INFINITY;
        size = 0.0;
        for (size_t i = 0; i < count; i++) {
            double before = cycle ? found[i] : 0.0;
            enum status status = history_advance(history, drive, given + i, 1, found + i, err);
            if (status)
                return status;
            change = fmax(change, fabs(found[i] - before));
            size = fmax(size, fabs(found[i]));
        }
    }
    if (change > 1e-12 * size)
        return fail(err, STATUS_INPUT, "drive it farther, so that it forgets how it began",
            "model '%s' does not repeat itself within %d cycles", history->material->model->name,
            CYCLES);
    return STATUS_OK;
}
