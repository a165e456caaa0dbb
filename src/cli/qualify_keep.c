// SPDX-License-Identifier: GPL-3.0-or-later
/* A verdict into the ledger: the result as it is, the limits file as it was, and references to
 * exactly those loops that it was made from. From them it leads back to captures, by their hashes,
 * and to the rig and specimen of each. */
#include <string.h>

#include "base/memory.h"
#include "cli/qualify.h"
#include "ledger/document.h"
#include "setup/date.h"

static enum status set_sources(struct ledger_document *document, const struct limits *limits,
    const struct qualify_input *input, struct error *err)
{
    document->limits = memory_copy_text(limits->source);
    document->loops = memory_create(input->loop_count, sizeof *document->loops);
    if (document->limits == NULL || document->loops == NULL) {
        return fail_memory(err);
    }
    memcpy(document->loops, input->ids, input->loop_count * sizeof *document->loops);
    document->loop_count = input->loop_count;
    return STATUS_OK;
}

static enum status add(struct ledger *ledger, const struct ledger_document *document,
    enum ledger_outcome *outcome, long long *id, struct error *err)
{
    enum status status = ledger_begin(ledger, err);
    if (status != STATUS_OK) {
        return status;
    }
    status = ledger_add_document(ledger, document, outcome, id, err);
    if (status != STATUS_OK) {
        ledger_rollback(ledger);
        return status;
    }
    return ledger_commit(ledger, err);
}

static enum status keep(const struct qualify_command *options,
    const struct ledger_document *document, struct text *page, struct error *err)
{
    const struct ledger_change change = {"qualify", options->day, options->person};
    const char *path = ledger_choice_get_path(&options->choice);
    struct ledger *ledger = NULL;
    enum ledger_outcome outcome = LEDGER_ADDED;
    long long id = 0;
    enum status status = ledger_open(path, LEDGER_WRITE, &change, &ledger, err);
    if (status == STATUS_OK) {
        status = add(ledger, document, &outcome, &id, err);
    }
    ledger_close(ledger);
    if (status == STATUS_OK) {
        text_add_format(page, "%s as verdict %lld of '%s', with its limits and %zu loop%s\n",
            outcome == LEDGER_KNOWN ? "already kept" : "kept", id, path, document->loop_count,
            document->loop_count == 1 ? "" : "s");
    }
    return status;
}

enum status qualify_keep(const struct qualify_command *options, const struct limits *limits,
    const struct qualify_input *input, const struct text *verdict, struct text *page,
    struct error *err)
{
    struct ledger_document document = {0};
    enum status status =
        ledger_document_read("verdict", verdict->bytes, verdict->length, &document, err);
    if (status == STATUS_OK) {
        status = set_sources(&document, limits, input, err);
    }
    if (status == STATUS_OK) {
        status = keep(options, &document, page, err);
    }
    ledger_document_clear(&document);
    return status;
}
