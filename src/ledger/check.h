// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LEDGER_CHECK_H
#define LODECARD_LEDGER_CHECK_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/file.h"
#include "ledger/ledger.h"

/* Is everything as it was written? The file's own structure, references, the journal's chain, each
 * row against the digest of its last line, hashes of documents and kept captures, rows that belong
 * to nothing. */
struct ledger_check_options {
    const char *head;    /* must be the chain of some line; NULL: not asked */
    bool reads_captures; /* those that lie outside, where they lay */
    /* Called for each fault, in words. */
    void (*tell)(const char *words, void *user);
    void *user;
};
struct ledger_check {
    size_t faults;
    size_t rows;              /* compared with their digests */
    size_t lines;             /* of the journal */
    size_t captures, missing; /* read outside; not where they lay (no fault) */
    char head[DIGEST_TEXT_SIZE];
};
enum status ledger_check(struct ledger *ledger, const struct ledger_check_options *options,
    struct ledger_check *check, struct error *err) MUST_CHECK;

#endif
