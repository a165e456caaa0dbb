// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/csv_cell.h"

#include <string.h>

#include "base/visible.h"

void csv_cell_add(struct text *out, const char *words)
{
    struct text shown = {0};
    if (!words || !*words)
        return;
    text_add(&shown, strchr("=+-@\t", *words) ? "'" : "");
    visible_add(&shown, words, strlen(words), "\n");
    if (shown.failed) {
        out->failed = true;
    } else if (!strpbrk(shown.bytes, ",\"\n")) {
        text_add(out, shown.bytes);
    } else {
        text_add(out, "\"");
        for (const char *at = shown.bytes; *at; at++) {
            text_add(out, *at == '"' ? "\"" : "");
            text_add_bytes(out, at, 1);
        }
        text_add(out, "\"");
    }
    text_clear(&shown);
}
