// SPDX-License-Identifier: GPL-3.0-or-later
/* The captures of a survey, a line of JSON each. */
#include <math.h>

#include "cli/loop_list.h"
#include "fuzz.h"

#define LINES_MOST 1000

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct loop_list *list = NULL;
    struct error err = {0};
    const struct loop_options options = {.harmonics = 3};
    if (!fuzz_judge(loop_list_open(fuzz_set_file(data, size), &options, &list, &err), &err)) {
        return 0;
    }
    bool is_found = true;
    for (size_t i = 0; is_found && i < LINES_MOST; i++) {
        struct loop_item item = {0};
        const bool is_read = fuzz_judge(loop_list_read(list, &item, &is_found, &err), &err);
        if (!is_read && item.path == NULL) {
            is_found = false; /* the list has ended */
        } else if (is_read && is_found) {
            fuzz_need(item.path != NULL && item.path[0] != '\0', "an item has a path");
            fuzz_need(item.options.harmonics >= 1 && isfinite(item.options.frequency_Hz) &&
                          item.options.capture.start_s >= 0 && item.options.capture.length_s >= 0,
                "its options are those of the command line, or numbers");
        }
        loop_item_clear(&item);
    }
    loop_list_close(list);
    return 0;
}
