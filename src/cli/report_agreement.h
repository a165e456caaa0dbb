// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_REPORT_AGREEMENT_H
#define LODECARD_CLI_REPORT_AGREEMENT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/tree.h"
#include "ledger/find.h"
#include "quantity/figure.h"

/* Whether one loop of a report is what a ledger holds. */
enum agreement {
    AGREEMENT_SAME,       /* the loop that counts has these numbers */
    AGREEMENT_RECOMPUTED, /* a loop that was replaced since has them */
    AGREEMENT_OTHER,      /* a loop of the capture is there, but none has these numbers */
    AGREEMENT_UNKNOWN,    /* the ledger has no loop of the capture, or its hash is not told */
};
const char *agreement_get_name(enum agreement agreement); /* "agrees", a word for programs */

/* A figure that is not what it was. */
struct agreement_change {
    enum figure figure;
    struct figure_value told, now; /* not present: it has none */
    double in_u; /* now less told, in standard uncertainties; NaN: not to be told */
};

#define AGREEMENT_TEXTS 5 /* specimen, heat, supplier, rig, its calibration */
struct agreement_loop {
    const char *name, *sha256, *specimen; /* borrowed from the report; "" where not told */
    enum agreement state;
    long long loop; /* has the report's numbers; 0: none does */
    long long now;  /* counts at present; 0: none */
    struct agreement_change changes[FIGURE_COUNT];
    size_t change_count;
    struct {
        const char *key;
        const char *told;     /* borrowed */
        char *now;            /* owned */
    } texts[AGREEMENT_TEXTS]; /* those that differ */
    size_t text_count;
    size_t strange_count; /* figures that this program does not know */
};

/* Compares an entry of a report's "inputs". Numbers are the same within a relative 1e-9: processors
 * round differently in the last digits. */
enum status agreement_loop_init(struct agreement_loop *loop, struct ledger *ledger,
    const struct tree_value *input, struct error *err) MUST_CHECK;
void agreement_loop_clear(struct agreement_loop *loop);

#endif
