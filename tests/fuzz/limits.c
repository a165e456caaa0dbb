// SPDX-License-Identifier: GPL-3.0-or-later
/* limits.yaml: acceptance limits. */
#include <math.h>

#include "fuzz.h"
#include "qualify/limits.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct limits limits = {0};
    struct error err = {0};
    if (fuzz_judge(
            limits_read_bytes("limits.yaml", (const char *)data, size, &limits, &err), &err)) {
        bool has_any = false;
        for (size_t f = 0; f < FIGURE_COUNT; f++) {
            const struct limit *limit = &limits.figures[f];
            has_any = has_any || limit_is_present(limit);
            fuzz_need(!limit->has_lower || isfinite(limit->lower), "lower limits are numbers");
            fuzz_need(!limit->has_upper || isfinite(limit->upper), "upper limits are numbers");
            fuzz_need(!limit->has_lower || !limit->has_upper || limit->lower <= limit->upper,
                "limits hold something between them");
        }
        fuzz_need(has_any, "limits that decide nothing are refused");
        limits_clear(&limits);
    }
    return 0;
}
