// SPDX-License-Identifier: GPL-3.0-or-later
/* Reports as PDF and HTML, whose data are taken out again. */
#include "base/tree.h"
#include "fuzz.h"
#include "paper/document.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const char *bytes = (const char *)data, *json = NULL;
    size_t length = 0;
    struct tree *tree = NULL;
    struct error err = {0};
    if (fuzz_judge(document_find_data("a.pdf", bytes, size, &json, &length, &err), &err)) {
        fuzz_need(json >= bytes && length <= size && json + length <= bytes + size,
            "the data lie within the file");
        (void)fuzz_judge(tree_read_bytes("a.pdf", json, length, &tree, &err), &err);
        tree_destroy(tree);
    }
    return 0;
}
