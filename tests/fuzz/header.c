// SPDX-License-Identifier: GPL-3.0-or-later
/* Our reading of the headers of audio files alone. */
#include <math.h>

#include "capture/audio_file.h"
#include "capture/container.h"
#include "fuzz.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct source *source = NULL;
    struct container container = {0};
    struct error err = {0};
    if (!container_is_audio(data, size) ||
        !fuzz_judge(source_create(fuzz_set_file(data, size), &source, &err), &err)) {
        return 0;
    }
    if (fuzz_judge(container_read(source, AUDIO_CHANNEL_LIMIT, &container, &err), &err) &&
        container.has_layout) {
        fuzz_need(container.channels >= 1 && container.channels <= AUDIO_CHANNEL_LIMIT,
            "channels are within their limit");
        fuzz_need(container.sample_rate_Hz > 0 && isfinite(container.sample_rate_Hz),
            "there is a sample rate");
    }
    source_destroy(source);
    return 0;
}
