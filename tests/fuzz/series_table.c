// SPDX-License-Identifier: GPL-3.0-or-later
/* A table of measured loops, and all that a series makes of it. */
#include "base/memory.h"
#include "fuzz.h"
#include "series/series_part.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct series series = {0};
    struct error err = {0};
    char *bytes = fuzz_copy_text(data, size);
    bytes[size] = '\n';
    (void)series_is_table(bytes, size + 1);
    enum status status = series_add_table(&series, "loops.csv", bytes, size + 1, SERIES_NONE, &err);
    if (fuzz_judge(status, &err)) {
        (void)fuzz_judge(series_compute(&series, &(struct series_options){0}, &err), &err);
    }
    series_clear(&series);
    memory_destroy(bytes);
    return 0;
}
