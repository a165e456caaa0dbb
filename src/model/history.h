// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_MODEL_HISTORY_H
#define LODECARD_MODEL_HISTORY_H

#include <stddef.h>

#include "base/error.h"
#include "model/material.h"

/* A material that remembers: fed H one value after the other (or B), it gives the other. Between
 * two values the drive goes straight, so that only its reversals count; minor loops close as the
 * model has it. It begins demagnetized (H = 0, B = 0); any other state is reached by feeding what
 * leads there. */
struct history;

/* `material` is borrowed until history_destroy. */
enum status history_create(
    const struct material *material, struct history **history, struct error *err) MUST_CHECK;
void history_destroy(struct history *history); /* NULL is allowed */
void history_reset(struct history *history);   /* demagnetized again */

double history_get_field(const struct history *history);        /* where it stands, A/m */
double history_get_flux_density(const struct history *history); /* T */

/* Feeds `count` values, of H (A/m) or B (T) by `drive`, and fills `found` (may be `given`) with the
 * other. By B the field is the root of the model, to 1e-12 of the field's excursion; B rises with H
 * in all models, at least by the magnetic constant, so that there is one. STATUS_INPUT: a value is
 * not finite, or the model cannot be integrated with such parameters; it then stands where the
 * last good value left it. Models that know only whole cycles (the ellipse) refuse. */
enum status history_advance(struct history *history, enum model_drive drive, const double *given,
    size_t count, double *found, struct error *err) MUST_CHECK;

/* The same for one whole cycle of values even in time, closed (the last is followed by the first),
 * in the steady state: cycled until it repeats. Every model can. */
enum status history_compute_cycle(struct history *history, enum model_drive drive,
    const double *given, size_t count, double *found, struct error *err) MUST_CHECK;

/* How one model does it. */
struct history_rule {
    enum status (*create)(const struct material *material, void **machine, struct error *err);
    void (*destroy)(void *machine);
    void (*reset)(void *machine);

    /* B at a field reached straight from where the machine stands; it stays there. */
    enum status (*look)(void *machine, double field, double *flux_density, struct error *err);

    /* The same, and goes there. */
    enum status (*move)(void *machine, double field, double *flux_density, struct error *err);

    /* Instead of all the others: a whole cycle at once. */
    enum status (*compute_cycle)(const struct material *material, enum model_drive drive,
        const double *given, size_t count, double *found, struct error *err);
};

#endif
