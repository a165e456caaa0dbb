// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LEDGER_FOLDER_H
#define LODECARD_LEDGER_FOLDER_H

#include <stddef.h>

#include "base/error.h"
#include "ledger/ledger.h"

/* The whole ledger as a folder of text files, which can be compared and kept under version control:
 * a line of JSON a row, in the order of arrival, so that later exports only add lines.
 *
 *     ledger.json        "lodecard-ledger/1": version of the tables, head of the journal
 *     supplier.jsonl     and so on: a file a table
 *     journal.jsonl
 *     captures/HASH      captures whose bytes are kept
 */

/* Writes the folder, which is made; each file appears whole or not at all, ledger.json last. */
enum status ledger_export_folder(
    struct ledger *ledger, const char *folder, struct error *err) MUST_CHECK;

/* Fills an empty ledger from such a folder, journal included, and checks it before anything is
 * kept. STATUS_INPUT: the ledger holds something, the folder is of a newer program, or what it
 * holds is not what was written. */
enum status ledger_import_folder(
    struct ledger *ledger, const char *folder, size_t *rows, struct error *err) MUST_CHECK;

#endif
