// SPDX-License-Identifier: GPL-3.0-or-later
/* Loops from JSON, JSON lines and a series' JSON, and all that a series makes of them. */
#include "base/memory.h"
#include "fuzz.h"
#include "series/series_part.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct series series = {0};
    struct error err = {0};
    struct text out = {0};
    struct json json;
    char *bytes = fuzz_copy_text(data, size);
    bytes[size] = '\n';
    enum status status =
        series_add_json(&series, "loops.jsonl", bytes, size + 1, SERIES_NONE, &err);
    if (fuzz_judge(status, &err) &&
        fuzz_judge(series_compute(&series, &(struct series_options){0}, &err), &err)) {
        json_init(&json, &out, 0);
        json_begin_object(&json, NULL);
        series_write_members(&json, &series, true);
        json_end_object(&json);
    }
    text_clear(&out);
    series_clear(&series);
    memory_destroy(bytes);
    return 0;
}
