// SPDX-License-Identifier: GPL-3.0-or-later
/* Any JSON: what was read and is written again reads the same. */
#include "base/tree.h"

#include <string.h>

#include "fuzz.h"

static void write(const struct tree *tree, struct text *out)
{
    struct json json;
    json_init(&json, out, 0);
    tree_write_json(&json, NULL, tree_get_root(tree));
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct tree *tree = NULL, *again = NULL;
    struct text out = {0}, twice = {0};
    struct error err = {0};
    if (fuzz_judge(tree_read_bytes("a.json", (const char *)data, size, &tree, &err), &err)) {
        write(tree, &out);
        fuzz_need(tree_read_bytes("b.json", out.bytes, out.length, &again, &err) == STATUS_OK,
            "what was written can be read");
        write(again, &twice);
        fuzz_need(out.length == twice.length && memcmp(out.bytes, twice.bytes, out.length) == 0,
            "what was read again is the same");
    }
    tree_destroy(tree);
    tree_destroy(again);
    text_clear(&out);
    text_clear(&twice);
    return 0;
}
