// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LEDGER_KIND_H
#define LODECARD_LEDGER_KIND_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/text.h"
#include "ledger/ledger.h"

/* What people name in a ledger: "heat H2291", "loop 12". */
enum ledger_kind {
    LEDGER_KIND_SUPPLIER,
    LEDGER_KIND_ALLOY,
    LEDGER_KIND_HEAT,
    LEDGER_KIND_SPECIMEN,
    LEDGER_KIND_RIG,
    LEDGER_KIND_CAPTURE,
    LEDGER_KIND_LOOP,
    LEDGER_KIND_SERIES,
    LEDGER_KIND_CARD,
    LEDGER_KIND_VERDICT,
    LEDGER_KIND_REMARK,
    LEDGER_KIND_TAG,
    LEDGER_KIND_CHANGE,
    LEDGER_KIND_COUNT
};

/* "heat" or "heats". STATUS_USAGE with the nearest one. */
enum status ledger_kind_read(
    const char *word, enum ledger_kind *kind, struct error *err) MUST_CHECK;
const char *ledger_kind_get_name(enum ledger_kind kind);   /* "heat" */
const char *ledger_kind_get_plural(enum ledger_kind kind); /* "heats" */

/* The row that is meant by its name or its number; of captures also by the begin of its hash, eight
 * digits at least. STATUS_USAGE: there is none, or several are. */
enum status ledger_find_row(struct ledger *ledger, enum ledger_kind kind, const char *word,
    long long *id, struct error *err) MUST_CHECK;

/* Rows of texts. What `visit` returns other than STATUS_OK ends it. */
typedef enum status (*ledger_visit_cells)(const char *const *names, const char *const *cells,
    size_t count, void *user, struct error *err);

/* All rows of a kind, as a table for people; the names are those of the columns. Loops: no; they
 * are looked for (find.h). */
enum status ledger_visit_kind(struct ledger *ledger, enum ledger_kind kind,
    ledger_visit_cells visit, void *user, struct error *err) MUST_CHECK;

/* One row with the names of those it belongs to; what is not told is left out. */
enum status ledger_visit_row(struct ledger *ledger, enum ledger_kind kind, long long id,
    ledger_visit_cells visit, void *user, struct error *err) MUST_CHECK;

/* Remarks and tags of a row: id, words, day, person. */
enum status ledger_visit_remarks(struct ledger *ledger, enum ledger_kind kind, long long id,
    ledger_visit_cells visit, void *user, struct error *err) MUST_CHECK;
enum status ledger_visit_tags(struct ledger *ledger, enum ledger_kind kind, long long id,
    ledger_visit_cells visit, void *user, struct error *err) MUST_CHECK;

/* How many rows of each kind there are: name of the kind (plural), number. Loops: current ones. */
enum status ledger_visit_counts(
    struct ledger *ledger, ledger_visit_cells visit, void *user, struct error *err) MUST_CHECK;

/* What happened to a row, in order. */
struct ledger_event {
    long long line; /* of the journal */
    const char *kind;
    long long change_id;
    const char *command, *day, *person, *program;
    const char *before; /* JSON on one line; NULL: there was none */
    const char *after;  /* NULL: it was removed */
};
typedef enum status (*ledger_visit_event)(
    const struct ledger_event *event, void *user, struct error *err);
enum status ledger_visit_history(struct ledger *ledger, enum ledger_kind kind, long long id,
    ledger_visit_event visit, void *user, struct error *err) MUST_CHECK;

/* Adds words of people to a row; whether a tag was there already, or was there to remove. */
enum status ledger_add_remark(struct ledger *ledger, enum ledger_kind kind, long long id,
    const char *words, struct error *err) MUST_CHECK;
enum status ledger_add_tag(struct ledger *ledger, enum ledger_kind kind, long long id,
    const char *word, bool *was_there, struct error *err) MUST_CHECK;
enum status ledger_remove_tag(struct ledger *ledger, enum ledger_kind kind, long long id,
    const char *word, bool *was_there, struct error *err) MUST_CHECK;

#endif
