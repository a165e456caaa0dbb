// SPDX-License-Identifier: GPL-3.0-or-later
/* Values with units and uncertainties, and days; the first byte chooses the dimension. */
#include "quantity/quantity.h"

#include <math.h>

#include "base/memory.h"
#include "fuzz.h"
#include "setup/date.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct quantity value = {0};
    struct error err = {0};
    enum dimension dimension;
    double factor = 0, offset = 0;
    long day;
    if (size == 0) {
        return 0;
    }
    char *words = fuzz_copy_text(data + 1, size - 1);
    if (fuzz_judge(quantity_read(words, (enum dimension)(data[0] % DIMENSION_COUNT), &value, &err),
            &err)) {
        fuzz_need(isfinite(value.value) && isfinite(value.half_width) && value.half_width >= 0,
            "a value that was read is a number, with a half-width from 0 on");
    }
    if (fuzz_judge(unit_read(words, &dimension, &factor, &offset, &err), &err)) {
        fuzz_need(factor > 0 && isfinite(factor) && isfinite(offset), "a unit has a scale");
    }
    (void)fuzz_judge(date_read(words, &day, &err), &err);
    memory_destroy(words);
    return 0;
}
