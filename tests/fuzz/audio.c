// SPDX-License-Identifier: GPL-3.0-or-later
/* An audio file as a capture: our reading of its header, then libsndfile's of the samples. */
#include <math.h>

#include "capture/capture.h"
#include "fuzz.h"

#define FRAMES 256
#define CHANNELS 64
#define FRAMES_MOST 20000

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static double values[FRAMES * CHANNELS];
    struct capture *capture = NULL;
    struct error err = {0};
    if (fuzz_judge(
            capture_open(fuzz_set_file(data, size), &(struct capture_options){0}, &capture, &err),
            &err)) {
        const struct capture_info *info = capture_get_info(capture);
        size_t got = 1;
        fuzz_need(info->channel_count >= 1, "a capture has channels");
        fuzz_need(info->kind != CAPTURE_AUDIO ||
                      (info->channel_count <= CHANNELS && info->sample_rate_Hz > 0 &&
                          isfinite(info->sample_rate_Hz)),
            "audio has at most 64 channels, and a rate");
        for (size_t frames = 0; info->kind == CAPTURE_AUDIO && got > 0 && frames < FRAMES_MOST;
             frames += got) {
            if (!fuzz_judge(capture_read(capture, FRAMES, values, NULL, &got, &err), &err)) {
                break;
            }
        }
        (void)fuzz_judge(capture_finish(capture, &err), &err);
    }
    capture_close(capture);
    return 0;
}
