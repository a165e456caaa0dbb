// SPDX-License-Identifier: GPL-3.0-or-later
/* What the ledger takes in: loops ("lodecard-loop/1") and documents (series, cards, verdicts). */
#include "ledger/record.h"

#include "fuzz.h"
#include "ledger/document.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const char *bytes = (const char *)data;
    struct ledger_loop loop = {0};
    struct ledger_document document = {0};
    struct error err = {0};
    (void)ledger_find_schema(bytes, size);
    if (fuzz_judge(ledger_loop_read("a.json", bytes, size, &loop, &err), &err)) {
        ledger_loop_clear(&loop);
    }
    if (fuzz_judge(ledger_document_read("a.json", bytes, size, &document, &err), &err)) {
        fuzz_need(document.document != NULL && document.name != NULL, "a document has its text");
        ledger_document_clear(&document);
    }
    return 0;
}
