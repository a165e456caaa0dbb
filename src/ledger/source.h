// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LEDGER_SOURCE_H
#define LODECARD_LEDGER_SOURCE_H

#include "base/text.h"
#include "ledger/find.h"

/* A loop with all that it was made from: enough to write its result again, or to compute it anew.
 * Texts are borrowed while it is visited; NULL: not told. */
struct ledger_source {
    long long id, capture_id;
    const char *file, *sha256, *path; /* path: seen from the ledger's folder */
    long long channels, frames;       /* 0: not told */
    double sample_rate_Hz;            /* 0: not told */
    bool has_part;
    double start_s, length_s;
    const char *rig, *rig_source;           /* JSON; rig.yaml as it was */
    const char *specimen, *specimen_source; /* likewise */
    const char *settings;                   /* JSON */
    const char *program, *notes, *points;
    const void *bytes; /* of the capture; NULL: not kept */
    size_t byte_count;
    struct figures figures;
};
typedef enum status (*ledger_visit_source)(
    const struct ledger_source *source, void *user, struct error *err);

/* The "lodecard-loop/1" object that the loop came from, on a line of its own, behind what is in
 * `out`. */
enum status ledger_source_write(
    const struct ledger_source *source, struct text *out, struct error *err) MUST_CHECK;

/* Visits one loop. Whoever changes the ledger does so after the visit, not in it. */
enum status ledger_visit_source_of(struct ledger *ledger, long long id, ledger_visit_source visit,
    void *user, struct error *err) MUST_CHECK;

/* Visits the loops of a search. */
enum status ledger_visit_sources(struct ledger *ledger, const struct ledger_search *search,
    ledger_visit_source visit, void *user, struct error *err) MUST_CHECK;

#endif
