// SPDX-License-Identifier: GPL-3.0-or-later
/* specimen.yaml: read, with the geometry that follows, and written as JSON. */
#include <math.h>

#include "fuzz.h"
#include "setup/setup.h"
#include "setup/tables.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct specimen specimen = {0};
    struct error err = {0};
    struct text out = {0};
    struct json json;
    if (fuzz_judge(schema_read_bytes("specimen.yaml", (const char *)data, size, specimen_schema,
                       specimen_check, &specimen, &err),
            &err)) {
        json_init(&json, &out, 0);
        specimen_write_json(&json, NULL, &specimen);
        fuzz_need(specimen.path_length_m > 0 && isfinite(specimen.path_length_m) &&
                      specimen.area_m2 > 0 && isfinite(specimen.area_m2),
            "a ring that was read has a path and an area");
    }
    text_clear(&out);
    specimen_clear(&specimen);
    return 0;
}
