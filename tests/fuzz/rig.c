// SPDX-License-Identifier: GPL-3.0-or-later
/* rig.yaml: read, looked at for what is odd, written as JSON. */
#include "fuzz.h"
#include "setup/setup.h"
#include "setup/tables.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct rig rig = {0};
    struct error err = {0};
    struct text out = {0};
    struct json json;
    if (fuzz_judge(schema_read_bytes(
                       "rig.yaml", (const char *)data, size, rig_schema, rig_check, &rig, &err),
            &err)) {
        struct setup_warning warnings[8];
        (void)setup_find_warnings(&rig, NULL, warnings, 8);
        json_init(&json, &out, 0);
        rig_write_json(&json, NULL, &rig);
        fuzz_need(rig_input_get_load(&rig.pickup) >= 1, "a load takes no voltage below none");
    }
    text_clear(&out);
    rig_clear(&rig);
    return 0;
}
