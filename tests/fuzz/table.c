// SPDX-License-Identifier: GPL-3.0-or-later
/* A logger's table as a capture, all of its columns. What the command line says is in the first
 * byte: decimal sign, separator, trace. */
#include <stdlib.h>

#include "capture/capture.h"
#include "fuzz.h"

#define ROWS 64

static void read_all(struct capture *capture)
{
    const struct capture_info *info = capture_get_info(capture);
    static double values[ROWS * 1024], times[ROWS];
    struct error err = {0};
    size_t got = 1, rows = 0;
    fuzz_need(info->channel_count <= 1024, "there are at most 1024 columns");
    while (got > 0) {
        enum status status = capture_read(capture, ROWS, values, times, &got, &err);
        if (!fuzz_judge(status, &err)) {
            return;
        }
        rows += got;
    }
    (void)fuzz_judge(capture_finish(capture, &err), &err);
    fuzz_need(info->frames >= 0 && (size_t)info->frames == rows, "the rows are counted");
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const char decimals[] = {0, '.', ',', 0};
    static const char separators[] = {0, ',', ';', '\t', ' ', 0, 0, 0};
    struct capture *capture = NULL;
    struct error err = {0};
    if (size < 2) {
        return 0;
    }
    const struct capture_options options = {.decimal = decimals[data[0] & 3],
        .separator = separators[data[0] >> 2 & 7],
        .is_trace = (data[0] & 0x20) != 0};
    const char *path = fuzz_set_file(data + 1, size - 1);
    if (fuzz_judge(capture_open(path, &options, &capture, &err), &err)) {
        size_t index;
        (void)fuzz_judge(capture_find_channel(capture, "u2", &index, &err), &err);
        read_all(capture);
    }
    capture_close(capture);
    return 0;
}
