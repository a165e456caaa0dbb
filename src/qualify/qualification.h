// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_QUALIFY_QUALIFICATION_H
#define LODECARD_QUALIFY_QUALIFICATION_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/json.h"
#include "qualify/capability.h"
#include "qualify/decision.h"
#include "qualify/limits.h"
#include "qualify/lot.h"

/* The verdict on measured specimens: figure by figure, specimen by specimen, heat by heat. */

/* One loop as it is presented. Texts are borrowed; "" where not told. */
struct lot_item {
    const char *file;
    const char *sha256;
    const char *supplier, *heat, *specimen;
    const struct figures *figures;
};

/* One limited figure of one specimen: its mean over the loops that count. */
struct check {
    enum figure figure;
    size_t loops; /* that have it; 0: no decision, undecided */
    struct decision decision;
};

struct specimen_verdict {
    const char *supplier, *heat, *specimen;
    size_t first, count;  /* its items: qualification.order[first ... first + count - 1] */
    size_t counted;       /* of them, those that meet the conditions */
    struct check *checks; /* qualification.figure_count */
    enum verdict verdict;
    /* That all figures conform: bounds that hold however their errors go together (M. Frechet,
     * Fundamenta Mathematicae 25 (1935) 379). NaN: a figure was not measured. */
    double all_least, all_most;
};

struct heat_figure {
    enum figure figure;
    bool has_lot;
    struct lot_figure lot;
    bool has_capability;
    struct capability capability;
};

struct heat_verdict {
    const char *supplier, *heat;
    size_t first, count;         /* its specimens */
    struct heat_figure *figures; /* qualification.figure_count */
    enum verdict specimens;      /* the worst of its specimens */
    enum verdict lot;            /* the worst of its figures; as the specimens without `lot` */
    enum verdict verdict;        /* the worse of both */
};

struct qualification {
    const struct limits *limits; /* borrowed, as the items are */
    const struct lot_item *items;
    size_t item_count;
    const struct lot_item *loops; /* what stands behind the items; the items themselves, unless the
                                     caller sets those that they were interpolated from */
    size_t loop_count;
    size_t *order;       /* of the items: by supplier, heat, specimen, then as given */
    bool *counts;        /* of each item (in their own order): meets the conditions */
    size_t figure_count; /* limited ones, in the order of the table of figures */
    enum figure figures[FIGURE_COUNT];
    struct specimen_verdict *specimens;
    size_t specimen_count;
    struct heat_verdict *heats;
    size_t heat_count;
    struct check *checks;            /* what the specimens point into */
    struct heat_figure *figure_list; /* what the heats point into */
    enum verdict verdict;            /* the worst */
};

/* Repeats on one specimen: the mean counts, with the root mean square of their u, since loops of
 * one bench share most of it. Heats come as they first come in the items. STATUS_INPUT without
 * items. */
enum status qualification_create(const struct lot_item *items, size_t count,
    const struct limits *limits, struct qualification *qualification, struct error *err) MUST_CHECK;
void qualification_clear(
    struct qualification *qualification); /* safe on a zeroed struct and twice */

/* The first condition that an item does not meet; FIGURE_COUNT: it meets all. A figure that it does
 * not have is not met. */
enum figure qualification_find_unmet(const struct limits *limits, const struct figures *figures);

/* The members of the "lodecard-verdict/1" object behind schema and version. */
void qualification_write_json(struct json *json, const struct qualification *qualification);

#endif
