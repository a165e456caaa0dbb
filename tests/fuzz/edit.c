// SPDX-License-Identifier: GPL-3.0-or-later
/* calibrate writes into a rig.yaml that a person keeps: what is left must be as it was. */
#include "setup/edit.h"
#include "fuzz.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const struct edit edits[] = {{"inputs.pickup.full_scale", "1.5 V ± 0.01 V"},
        {"timing.pickup_delay", "2.1 us"}, {"calibration.date", "2026-11-25"}};
    struct text out = {0}, again = {0};
    struct error err = {0};
    if (fuzz_judge(edit_apply("rig.yaml", (const char *)data, size, edits, 3, &out, &err), &err)) {
        fuzz_need(
            edit_apply("rig.yaml", out.bytes, out.length, edits, 3, &again, &err) == STATUS_OK &&
                again.length == out.length,
            "what was edited can be edited again, and then stays as it is");
    }
    text_clear(&out);
    text_clear(&again);
    return 0;
}
