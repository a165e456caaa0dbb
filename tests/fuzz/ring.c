// SPDX-License-Identifier: GPL-3.0-or-later
/* ring.yaml: what the virtual bench is ordered to do. */
#include "virtual/ring.h"
#include "fuzz.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct ring ring = {0};
    struct error err = {0};
    if (fuzz_judge(ring_read_bytes("ring.yaml", (const char *)data, size, &ring, &err), &err)) {
        fuzz_need(ring.rows > 0, "a recording that was ordered has rows");
        ring_clear(&ring);
    }
    return 0;
}
