// SPDX-License-Identifier: GPL-3.0-or-later
#include "model/everett.h"

#include <math.h>
#include <stdbool.h>

#include "base/memory.h"

struct turning_point {
    double field;
    double flux_density;
};

struct machine {
    struct everett everett;
    struct branches branches;    /* what `everett` stands on, where a model has them */
    struct turning_point *stack; /* not wiped out yet: nested ever closer */
    size_t count, capacity;
    double field, flux_density; /* where it stands */
};

double everett_get(const struct everett *everett, double a, double b)
{
    return a + b >= 0.0 ? everett->get(everett->context, a, b)
                        : everett->get(everett->context, -b, -a);
}

static double get_from_branches(const void *context, double a, double b)
{
    const struct branches *branches = context;
    return branches->falling(a, a, branches->parameters) -
           branches->falling(b, a, branches->parameters);
}

enum status everett_create_machine(const struct everett *everett, void **machine, struct error *err)
{
    struct machine *made = memory_create(1, sizeof *made);
    if (!made)
        return fail_memory(err);
    made->everett = *everett;
    *machine = made;
    return STATUS_OK;
}

enum status everett_create_branches_machine(
    const struct branches *branches, void **machine, struct error *err)
{
    struct everett everett = {.get = get_from_branches};
    enum status status = everett_create_machine(&everett, machine, err);
    if (status)
        return status;
    struct machine *made = *machine;
    made->branches = *branches;
    made->everett.context = &made->branches;
    return STATUS_OK;
}

void everett_destroy(void *machine)
{
    memory_destroy(((struct machine *)machine)->stack);
    memory_destroy(machine);
}

void everett_reset(void *machine)
{
    struct machine *m = machine;
    m->count = 0;
    m->field = m->flux_density = 0.0;
}

/* How many of the first `count` turning points stand when the field goes from the last of them to
 * `field`: going beyond the last but one wipes both out, going beyond the first on either side all.
 */
static size_t count_standing(const struct machine *m, size_t count, double field)
{
    while (count >= 2) {
        double passed = m->stack[count - 2].field;
        bool is_rising = passed > m->stack[count - 1].field;
        if (is_rising ? field < passed : field > passed)
            break;
        count -= 2;
    }
    if (count > 0 && fabs(field) >= fabs(m->stack[0].field))
        count = 0;
    return count;
}

static double compute_flux(const struct machine *m, size_t count, double field)
{
    if (count == 0) {
        double initial = 0.5 * everett_get(&m->everett, fabs(field), -fabs(field));
        return field < 0.0 ? -initial : initial;
    }
    const struct turning_point *last = &m->stack[count - 1];
    if (field < last->field)
        return last->flux_density - everett_get(&m->everett, last->field, field);
    return last->flux_density + everett_get(&m->everett, field, last->field);
}

/* The turning points from which the way to `field` starts: where the machine stands becomes one
 * (beyond the stack's end) when the field turns back. */
static enum status set_out(struct machine *m, double field, size_t *count, struct error *err)
{
    double from = m->count ? m->stack[m->count - 1].field : 0.0;
    *count = m->count;
    if (!((field - m->field) * (m->field - from) < 0.0))
        return STATUS_OK;
    struct turning_point *stack =
        memory_reserve(m->stack, &m->capacity, m->count + 1, sizeof *m->stack);
    if (!stack)
        return fail_memory(err);
    m->stack = stack;
    m->stack[m->count] = (struct turning_point){m->field, m->flux_density};
    *count = m->count + 1;
    return STATUS_OK;
}

enum status everett_look(void *machine, double field, double *flux_density, struct error *err)
{
    struct machine *m = machine;
    size_t count;
    enum status status = set_out(m, field, &count, err);
    if (!status)
        *flux_density = field == m->field ? m->flux_density
                                          : compute_flux(m, count_standing(m, count, field), field);
    return status;
}

enum status everett_move(void *machine, double field, double *flux_density, struct error *err)
{
    struct machine *m = machine;
    size_t count;
    enum status status = set_out(m, field, &count, err);
    if (status)
        return status;
    if (field != m->field) {
        m->count = count_standing(m, count, field);
        m->flux_density = compute_flux(m, m->count, field);
        m->field = field;
    }
    *flux_density = m->flux_density;
    return STATUS_OK;
}
