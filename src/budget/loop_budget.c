// SPDX-License-Identifier: GPL-3.0-or-later
#include "budget/loop_budget.h"

#include <math.h>

#include "base/memory.h"
#include "num/student.h"

/* Simulated repeats where a capture has too few blocks: 127 degrees of freedom. */
enum { SIMULATED = 128, BLOCKS_LEAST = 3 };

static const double COVERAGE = 0.95;
static const double SHARE_LEAST = 1e-6, ALIKE = 1e-6;
static const char SCATTER[] = "scatter";

/* The figures of all blocks as rows of outputs; false when a block lacks one (which then is NaN).
 */
static void fill_blocks(const struct loop_model *model, double *values)
{
    for (size_t b = 0; b < model->loop->block_count; b++) {
        for (size_t j = 0; j < model->output_count; j++) {
            const struct figure_value *value = &model->loop->blocks[b].list[model->output[j]];
            values[b * model->output_count + j] = value->is_present ? value->value : NAN;
        }
    }
}

/* An output that does not scatter, or is not there in every repeat, has no scatter; the frequency's
 * is an input of its own, from the fit. Blocks cover less than the whole record; simulated repeats
 * stand for one record each, not for their mean. */
static void set_list(struct loop_budget *budget)
{
    const struct scatter *scatter = &budget->scatter;
    const double worth = budget->source == LOOP_SCATTER_BLOCKS
                             ? sqrt(fmin(budget->model.loop->basis.block_share, 1.0))
                             : sqrt((double)budget->repeats);
    for (size_t j = 0; j < scatter->quantities; j++) {
        const double u = worth * scatter->u[j];
        const bool is_any = isfinite(u) && budget->model.output[j] != FIGURE_FREQUENCY;
        budget->scatter_list[j] = (struct budget_input){.name = SCATTER,
            .u = is_any ? u : 0.0,
            .freedom = is_any ? scatter->freedom[j] : INFINITY,
            .distribution = BUDGET_T};
        for (size_t k = 0; k < scatter->quantities; k++) {
            double *r = &scatter->correlation[j * scatter->quantities + k];
            *r = j == k ? 1.0 : isfinite(*r) ? *r : 0.0;
        }
    }
}

/* A distortion is a norm: noise never makes it smaller. With f^2 what noise adds to the whole
 * record's square on average, found from how much the repeats' squares are above it (n f^2 each for
 * the blocks of a record, f^2 for simulated records), and 3 f^2 what it may add where harmonics
 * were kept because their noise was large, the figure may be too large by t - sqrt(t^2 - 3 f^2),
 * which widens u. It is of account only where the flux is nearly a sine. */
static void widen_distortion(struct loop_budget *budget, const double *values)
{
    const size_t j = loop_budget_find(budget, FIGURE_FLUX_DISTORTION);
    const size_t outputs = budget->model.output_count;
    if (j == outputs) {
        return;
    }
    const double whole = budget->model.loop->figures.list[FIGURE_FLUX_DISTORTION].value;
    const double n = (double)budget->repeats;
    double above = 0.0;
    for (size_t r = 0; r < budget->repeats; r++) {
        above += (pow(values[r * outputs + j], 2.0) - whole * whole) / n;
    }
    const double noise = above / (budget->source == LOOP_SCATTER_BLOCKS ? n - 1.0 : 1.0);
    const double excess = whole - sqrt(fmax(whole * whole - 3.0 * fmax(noise, 0.0), 0.0));
    double *u = &budget->scatter_list[j].u;
    *u = sqrt(*u * *u + excess * excess);
}

static enum status take_scatter(struct loop_budget *budget, struct error *err)
{
    const struct loop *loop = budget->model.loop;
    const size_t outputs = budget->model.output_count;
    const bool has_blocks = loop->block_count >= BLOCKS_LEAST;
    if (loop->is_trace || outputs == 0 || (!has_blocks && !(loop->basis.frames > 0.0))) {
        return STATUS_OK;
    }
    budget->source = has_blocks ? LOOP_SCATTER_BLOCKS : LOOP_SCATTER_NOISE;
    budget->repeats = has_blocks ? loop->block_count : SIMULATED;
    budget->scatter_list = memory_create(outputs, sizeof *budget->scatter_list);
    double *values = memory_create(budget->repeats * outputs, sizeof *values);
    enum status status =
        values == NULL || budget->scatter_list == NULL ? fail_memory(err) : STATUS_OK;
    if (status == STATUS_OK && has_blocks) {
        fill_blocks(&budget->model, values);
    } else if (status == STATUS_OK) {
        status = loop_model_simulate(&budget->model, budget->repeats, values, err);
    }
    if (status == STATUS_OK) {
        status =
            scatter_create(&budget->scatter, values, budget->repeats, outputs, has_blocks, err);
    }
    if (status == STATUS_OK) {
        set_list(budget);
        widen_distortion(budget, values);
    }
    memory_destroy(values);
    return status;
}

static struct budget_problem get_problem(const struct loop_budget *budget)
{
    return (struct budget_problem){.model = loop_model_get(&budget->model),
        .inputs = {budget->inputs.list, budget->inputs.count,
            budget->inputs.is_correlated ? budget->inputs.correlation : NULL},
        .scatter = {budget->scatter_list,
            budget->source != LOOP_SCATTER_NONE ? budget->model.output_count : 0,
            budget->scatter.correlation}};
}

enum status loop_budget_create(const struct loop *loop, const struct rig *rig,
    const struct specimen *specimen, struct loop_budget **budget, struct error *err)
{
    struct loop_budget *fresh = memory_create(1, sizeof *fresh);
    if (fresh == NULL) {
        return fail_memory(err);
    }
    loop_inputs_find(&fresh->inputs, loop, rig, specimen);
    enum status status = loop_model_create(&fresh->model, loop, rig, specimen, &fresh->inputs, err);
    if (status == STATUS_OK) {
        status = take_scatter(fresh, err);
    }
    if (status == STATUS_OK) {
        const struct budget_problem problem = get_problem(fresh);
        status = propagation_create(&fresh->linear, &problem, err);
    }
    if (status != STATUS_OK) {
        loop_budget_destroy(fresh);
        return status;
    }
    *budget = fresh;
    return STATUS_OK;
}

void loop_budget_destroy(struct loop_budget *budget)
{
    if (budget == NULL) {
        return;
    }
    propagation_clear(&budget->linear);
    trials_clear(&budget->trials);
    scatter_clear(&budget->scatter);
    loop_model_clear(&budget->model);
    memory_destroy(budget->scatter_list);
    memory_destroy(budget);
}

enum status loop_budget_try(
    struct loop_budget *budget, const struct trials_options *options, struct error *err)
{
    const struct budget_problem problem = get_problem(budget);
    struct trials trials;
    const enum status status = trials_create(&trials, &problem, options, err);
    if (status == STATUS_OK) {
        trials_clear(&budget->trials);
        budget->trials = trials;
        budget->has_trials = true;
    }
    return status;
}

void loop_budget_set_figures(const struct loop_budget *budget, struct figures *figures)
{
    for (size_t j = 0; j < budget->model.output_count; j++) {
        const double u = budget->linear.u[j];
        /* what the model cannot follow (a figure that comes and goes) keeps what it had */
        if (isfinite(u) && u > 0.0) {
            figures_set_u(figures, budget->model.output[j], u);
        }
    }
}

bool loop_budget_has_inputs(const struct loop_budget *budget)
{
    for (size_t i = 0; i < budget->inputs.count; i++) {
        if (budget->inputs.place[i].file != LOOP_INPUT_OF_CAPTURE) {
            return true;
        }
    }
    return false;
}

/* Largest first. Shares that differ by rounding alone (two alike inputs) keep the inputs' order. */
static void sort(struct contribution *list, size_t count)
{
    for (size_t i = 1; i < count; i++) {
        const struct contribution held = list[i];
        size_t k = i;
        while (k > 0 && fabs(list[k - 1].share) < fabs(held.share) * (1.0 - ALIKE)) {
            list[k] = list[k - 1];
            k--;
        }
        list[k] = held;
    }
}

size_t loop_budget_list(const struct loop_budget *budget, size_t output, struct contribution *list)
{
    const size_t n = budget->inputs.count;
    size_t count = 0;
    for (size_t i = 0; i < n; i++) {
        const struct budget_input *input = &budget->inputs.list[i];
        const double share = budget->linear.share[output * n + i];
        if (fabs(share) >= SHARE_LEAST) {
            list[count++] = (struct contribution){.name = input->name,
                .u_input = input->u,
                .u = budget->linear.sensitivity[output * n + i] * input->u,
                .share = share};
        }
    }
    if (budget->source != LOOP_SCATTER_NONE &&
        budget->linear.scatter_share[output] >= SHARE_LEAST) {
        list[count++] = (struct contribution){.name = SCATTER,
            .u_input = NAN,
            .u = budget->scatter_list[output].u,
            .share = budget->linear.scatter_share[output]};
    }
    sort(list, count);
    return count;
}

void loop_budget_find_half(
    const struct contribution *list, size_t listed, size_t *count, double *factor)
{
    double rest = 1.0;
    for (size_t i = 0; i < listed; i++) {
        rest -= list[i].share;
        const double held = 1.0 - rest; /* u^2 of those taken */
        const double square = (0.25 - fmax(rest, 0.0)) / held;
        if (square >= 1.0 / 16.0 || i + 1 == listed) {
            *count = i + 1;
            *factor = sqrt(fmax(square, 0.0));
            return;
        }
    }
    *count = 0;
    *factor = 1.0;
}

double loop_budget_get_coverage(const struct loop_budget *budget, size_t output)
{
    const double freedom = budget->linear.freedom[output];
    return student_compute_coverage(COVERAGE, isfinite(freedom) ? fmax(freedom, 1.0) : INFINITY);
}

size_t loop_budget_find(const struct loop_budget *budget, enum figure figure)
{
    size_t j = 0;
    while (j < budget->model.output_count && budget->model.output[j] != figure) {
        j++;
    }
    return j;
}
