// SPDX-License-Identifier: GPL-3.0-or-later
/* The state is H and Mi. A way up is the mirror of a way down: H and Mi change their signs. Steps
 * are halved until the integrator's own estimate is small, and doubled again. */
#include "model/law_history.h"

#include <math.h>

#include "base/memory.h"
#include "model/law.h"
#include "num/ode.h"
#include "quantity/constant.h"

struct machine {
    struct law law;
    double field;        /* A/m */
    double irreversible; /* A/m */
};

static enum status create(
    const struct material *material, enum law_form form, void **machine, struct error *err)
{
    struct machine *made = memory_create(1, sizeof *made);
    if (!made)
        return fail_memory(err);
    law_init(&made->law, material->parameters, form);
    *machine = made;
    return STATUS_OK;
}

static enum status create_1986(const struct material *material, void **machine, struct error *err)
{
    return create(material, LAW_1986, machine, err);
}

static enum status create_1992(const struct material *material, void **machine, struct error *err)
{
    return create(material, LAW_1992, machine, err);
}

static enum status create_field(const struct material *material, void **machine, struct error *err)
{
    return create(material, LAW_FIELD, machine, err);
}

static void destroy(void *machine)
{
    memory_destroy(machine);
}

static void reset(void *machine)
{
    struct machine *m = machine;
    m->field = m->irreversible = m->law.guess = 0.0;
}

static double compute_slope(double field, double irreversible, void *context)
{
    struct law *law = context;
    struct law_state state = law_get_state(law, field, irreversible);
    return law_get_susceptibility(law, &state, irreversible);
}

/* Mi after H has fallen from `from` to `to`. */
static enum status fall(
    struct law *law, double from, double to, double *irreversible, struct error *err)
{
    const struct ode ode = {.slope = compute_slope, .context = law};
    const double tolerance = 1e-13 * law->saturation;
    double field = fmin(from, law_get_release(law, *irreversible));
    double step = to - field;
    while (field > to) {
        if (!(fabs(step) > 1e-9 * law->pinning) && fabs(step) < field - to)
            return fail(err, STATUS_INPUT, "raise 'pinning' or 'shape'",
                "Jiles and Atherton's equation cannot be followed at %g A/m: 'pinning' (%g A/m) is "
                "too small",
                field, law->pinning);
        double error, guess = law->guess;
        law->is_coarse = false;
        double next = ode_compute_step(&ode, field, *irreversible, step, &error);
        if (law->is_coarse || !(error <= tolerance)) {
            law->guess = guess;
            step *= 0.5;
            continue;
        }
        *irreversible = next;
        field = field + step <= to ? to : field + step;
        step = fmax(2.0 * step, to - field); /* both negative */
    }
    return STATUS_OK;
}

/* Where H = `field` leads; the machine itself does not move. */
static enum status go(const struct machine *m, double field, struct machine *end,
    double *flux_density, struct error *err)
{
    double sign = field > m->field ? -1.0 : 1.0;
    struct law law = m->law;
    law.guess *= sign;
    double irreversible = sign * m->irreversible;
    enum status status = fall(&law, sign * m->field, sign * field, &irreversible, err);
    if (status)
        return status;
    double magnetization = sign * law_get_state(&law, sign * field, irreversible).magnetization;
    law.guess *= sign;
    *end = (struct machine){.law = law, .field = field, .irreversible = sign * irreversible};
    *flux_density = MAGNETIC_CONSTANT * (field + magnetization);
    return STATUS_OK;
}

static enum status look(void *machine, double field, double *flux_density, struct error *err)
{
    struct machine end;
    return go(machine, field, &end, flux_density, err);
}

static enum status move(void *machine, double field, double *flux_density, struct error *err)
{
    struct machine end;
    enum status status = go(machine, field, &end, flux_density, err);
    if (!status)
        *(struct machine *)machine = end;
    return status;
}

#define RULE(form)                                                                                 \
    {                                                                                              \
        .create = create_##form, .destroy = destroy, .reset = reset, .look = look, .move = move    \
    }
const struct history_rule law_history_1986 = RULE(1986);
const struct history_rule law_history_1992 = RULE(1992);
const struct history_rule law_history_field = RULE(field);
