// SPDX-License-Identifier: GPL-3.0-or-later
/* Conditions of the ledger: what is accepted must give a statement that the ledger can run. */
#include "ledger/where.h"

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "base/memory.h"
#include "fuzz.h"
#include "ledger/find.h"

static struct ledger *open_empty(void)
{
    static struct ledger *ledger;
    if (ledger == NULL) {
        char folder[] = "/tmp/fuzz-where-XXXXXX";
        char path[64];
        struct error err = {0};
        const struct ledger_change change = {.command = "add"};
        fuzz_need(mkdtemp(folder) != NULL, "there is a folder");
        snprintf(path, sizeof path, "%s/l", folder);
        enum status status = ledger_open(path, LEDGER_CREATE, &change, &ledger, &err);
        fuzz_need(status == STATUS_OK, err.message);
        const char *const ends[] = {"", "-wal", "-shm"};
        for (size_t i = 0; i < 3; i++) { /* it lives on without its names */
            snprintf(path, sizeof path, "%s/l%s", folder, ends[i]);
            unlink(path);
        }
        rmdir(folder);
    }
    return ledger;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct ledger_where *where = ledger_where_create();
    struct error err = {0};
    char *words = fuzz_copy_text(data, size);
    fuzz_need(where != NULL, "there is memory");
    if (fuzz_judge(ledger_where_add(where, words, &err), &err)) {
        struct ledger_search search = LEDGER_SEARCH_ALL;
        size_t count = 1;
        search.where = where;
        enum status status = ledger_count_loops(open_empty(), &search, &count, &err);
        fuzz_need(status == STATUS_OK, err.message);
        fuzz_need(count == 0, "an empty ledger has no loops");
    }
    memory_destroy(words);
    ledger_where_destroy(where);
    return 0;
}
