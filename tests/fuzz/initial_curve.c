// SPDX-License-Identifier: GPL-3.0-or-later
/* A table of an initial curve. */
#include "fuzz.h"
#include "series/series_part.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct series series = {0};
    struct error err = {0};
    (void)fuzz_judge(series_read_initial(&series, fuzz_set_file(data, size), &err), &err);
    series_clear(&series);
    return 0;
}
