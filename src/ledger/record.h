// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LEDGER_RECORD_H
#define LODECARD_LEDGER_RECORD_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/file.h"
#include "ledger/ledger.h"
#include "quantity/figure.h"

/* A loop on its way into the ledger, with all that it was found from. Texts NULL: not told. */
struct ledger_loop {
    char *file; /* the capture's own name */
    char sha256[DIGEST_TEXT_SIZE];
    char *path; /* where it lies, seen from the ledger's folder (ledger_get_relative) */
    long long channels, frames; /* 0: not told */
    double sample_rate_Hz;      /* 0: not told, uneven, or a trace */
    bool has_part;
    double start_s, length_s;
    char *rig_name, *calibration_day;
    char *rig;        /* "rig" of the result, JSON on one line */
    char *rig_source; /* rig.yaml as it is */
    char *specimen_name, *alloy, *supplier, *heat;
    char *specimen;
    char *specimen_source;
    char *program;  /* version that computed it */
    char *settings; /* JSON on one line */
    struct figures figures;
    char *note_codes; /* parted by blanks */
    char *notes;      /* JSON on one line */
    char *points;
};

/* Takes a loop from a "lodecard-loop/1" object; `name` is how messages call it. Members that such
 * an object does not have (path, sources, settings) stay NULL. */
enum status ledger_loop_read(const char *name, const char *bytes, size_t length,
    struct ledger_loop *loop, struct error *err) MUST_CHECK;
void ledger_loop_clear(struct ledger_loop *loop); /* safe on a zeroed struct and twice */

enum ledger_outcome {
    LEDGER_ADDED,
    LEDGER_KNOWN,    /* it is there already, with the same figures: nothing was done */
    LEDGER_REPLACED, /* the same part of the same capture had other figures: those are kept, but no
                        longer current */
    LEDGER_OUTCOMES
};
extern const char *const ledger_outcome_words[LEDGER_OUTCOMES]; /* "added" ... */

/* Adds the loop with its capture, specimen, heat, supplier, alloy, rig: those that are not there
 * yet. Between begin and commit. */
enum status ledger_add_loop(struct ledger *ledger, const struct ledger_loop *loop,
    enum ledger_outcome *outcome, long long *id, struct error *err) MUST_CHECK;

/* Keeps the bytes of a capture that is there; nothing when they are kept already. STATUS_INPUT when
 * they are not those of the hash. */
enum status ledger_add_bytes(struct ledger *ledger, const char *sha256, const void *bytes,
    size_t count, struct error *err) MUST_CHECK;

#endif
