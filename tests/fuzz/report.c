// SPDX-License-Identifier: GPL-3.0-or-later
/* Reports as PDF and HTML, whose data are taken out again as `report verify` does: their envelope,
 * and what is in it, also where its digest is not right, for no mutation finds one that is. */
#include "base/tree.h"
#include "fuzz.h"
#include "paper/document.h"
#include "paper/report_data.h"

static void read_content(const struct report_envelope *envelope)
{
    struct tree *tree = NULL;
    struct error err = {0};
    if (fuzz_judge(
            tree_read_bytes("a.pdf", envelope->content, envelope->length, &tree, &err), &err)) {
        const struct tree_value *inputs = tree_get(tree_get_root(tree), "inputs");
        (void)tree_get_count(inputs);
        tree_destroy(tree);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const char *bytes = (const char *)data, *json = NULL;
    size_t length = 0;
    struct tree *tree = NULL;
    struct report_envelope envelope;
    struct error err = {0};
    if (fuzz_judge(document_find_data("a.pdf", bytes, size, &json, &length, &err), &err)) {
        fuzz_need(json >= bytes && length <= size && json + length <= bytes + size,
            "the data lie within the file");
        (void)fuzz_judge(tree_read_bytes("a.pdf", json, length, &tree, &err), &err);
        tree_destroy(tree);
        if (fuzz_judge(report_data_read("a.pdf", json, length, &envelope, &err), &err)) {
            fuzz_need(envelope.content >= json && envelope.length <= length &&
                          envelope.content + envelope.length <= json + length,
                "the content lies within the data");
            read_content(&envelope);
        }
    }
    return 0;
}
