// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_QUALIFY_LIMITS_H
#define LODECARD_QUALIFY_LIMITS_H

#include <stdbool.h>

#include "base/error.h"
#include "base/file.h"
#include "quantity/figure.h"

/* What an acceptance file (limits.yaml) demands. */

/* How near to a limit a value may lie, given its uncertainty. */
enum decision_rule {
    RULE_GUARDED, /* accept inside the limits drawn in by 1.645 u, reject outside them widened by it
                   */
    RULE_SIMPLE,  /* the limits themselves decide */
};

/* An interval, in the unit of its figure. */
struct limit {
    bool has_lower, has_upper;
    double lower, upper;
};

struct limits {
    char *name;                    /* NULL: not given */
    char *source;                  /* the file as it is */
    char sha256[DIGEST_TEXT_SIZE]; /* of the file's bytes */
    enum decision_rule rule;
    struct limit figures[FIGURE_COUNT];    /* what decides */
    struct limit conditions[FIGURE_COUNT]; /* what a loop must have been measured at to count */
    bool has_lot;
    double share;      /* of the lot that must conform */
    double confidence; /* with which that must be shown */
};

/* Reads limits.yaml. STATUS_INPUT names every fault with file, line and key. */
enum status limits_read(const char *path, struct limits *limits, struct error *err) MUST_CHECK;
enum status limits_read_bytes(const char *name, const char *bytes, size_t length,
    struct limits *limits, struct error *err) MUST_CHECK;
void limits_clear(struct limits *limits); /* safe on a zeroed struct and twice */

bool limit_is_present(const struct limit *limit);

/* Whether a value lies within, borders included. */
bool limit_holds(const struct limit *limit, double value);

/* The word of the rule, as the file has it. */
const char *decision_rule_get_name(enum decision_rule rule);

#endif
