// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LEDGER_DOCUMENT_H
#define LODECARD_LEDGER_DOCUMENT_H

#include <stdbool.h>
#include <stddef.h>

#include "ledger/kind.h"
#include "ledger/ledger.h"
#include "ledger/record.h"

/* Series, cards and verdicts: documents of the program that are kept as they were made. */
struct ledger_document {
    enum ledger_kind kind;            /* LEDGER_KIND_SERIES, _CARD, _VERDICT */
    char *name;                       /* what people call it; "": not told */
    char *document;                   /* JSON on one line */
    char *word;                       /* verdicts: "accepted" ...; else NULL */
    char *limits;                     /* verdicts: limits.yaml as it is; NULL: not at hand */
    char (*hashes)[DIGEST_TEXT_SIZE]; /* of the captures it names */
    size_t hash_count;
    long long *loops; /* exactly those it was made from; NULL: the current ones of its captures */
    size_t loop_count;
};

/* Takes a document from "lodecard-series/1", "lodecard-card/1" or "lodecard-verdict/1". `limits` is
 * not in it: the caller sets it (a text of memory_copy_text) where it is at hand. */
enum status ledger_document_read(const char *name, const char *bytes, size_t length,
    struct ledger_document *document, struct error *err) MUST_CHECK;
void ledger_document_clear(struct ledger_document *document);

/* Adds it, with references to its loops, or to the current ones of the captures that it names;
 * their heat, where they are of one, becomes its own. Day and person of a verdict are those of the
 * change. The same document twice is LEDGER_KNOWN. Between begin and commit. */
enum status ledger_add_document(struct ledger *ledger, const struct ledger_document *document,
    enum ledger_outcome *outcome, long long *id, struct error *err) MUST_CHECK;

/* The document with these bytes (JSON on one line), 0: it is not there. */
enum status ledger_find_document(struct ledger *ledger, enum ledger_kind kind, const char *bytes,
    size_t length, long long *id, struct error *err) MUST_CHECK;

/* The last verdict that was made from exactly these loops (each counts once; their order does not
 * matter); 0: there is none. */
enum status ledger_find_verdict(struct ledger *ledger, const long long *loops, size_t count,
    long long *id, struct error *err) MUST_CHECK;

/* The document as it was made; free with memory_destroy. */
enum status ledger_get_document(struct ledger *ledger, enum ledger_kind kind, long long id,
    char **document, struct error *err) MUST_CHECK;

/* What a "schema" member names: LEDGER_KIND_LOOP for loops; LEDGER_KIND_COUNT: none of the
 * ledger's. */
enum ledger_kind ledger_find_schema(const char *bytes, size_t length);

#endif
