// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_TESTS_LEDGER_SAMPLE_H
#define LODECARD_TESTS_LEDGER_SAMPLE_H

#include "ledger/ledger.h"
#include "ledger/record.h"

/* Loops for the tests of the ledger, without captures. */
struct ledger_sample {
    int capture; /* makes the hash */
    const char *supplier, *heat, *specimen;
    double coercivity; /* A/m */
};

/* Opens "test.ledger" of the scratch folder, which is made when it is not there. */
struct ledger *ledger_sample_open(enum ledger_access access, const char *command);

/* Adds one loop as a change of its own; how that went. `id` may be NULL. */
enum ledger_outcome ledger_sample_add(
    struct ledger *ledger, const struct ledger_sample *sample, long long *id);

/* Its JSON, as `lodecard loop` writes it; free with memory_destroy. */
char *ledger_sample_write(const struct ledger_sample *sample);

/* What the check of the ledger says: its faults, a line each, into `words`; how many. */
size_t ledger_sample_check(const char *head, char *words, size_t size);

/* SQL by another way than the ledger's: the file is changed behind its back. */
void ledger_sample_spoil(const char *sql);
/* SQL that the file itself must refuse, with that message. */
void ledger_sample_refuse(const char *sql, const char *message);

/* The SHA-256 of the file; free with memory_destroy. */
char *ledger_sample_hash(void);

/* All tables, columns, references, indexes and triggers of a file, and all rows of "test.ledger"
 * but for the journal, as text to compare; free with memory_destroy. */
char *ledger_sample_list_tables(const char *path);
char *ledger_sample_list_rows(void);

#endif
