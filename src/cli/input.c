// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/input.h"

#include <string.h>

enum status input_check_stdin(const char *const *paths, size_t count, struct error *err)
{
    size_t from_stdin = 0;
    for (size_t i = 0; i < count; i++) {
        from_stdin += strcmp(paths[i], "-") == 0;
    }
    return from_stdin <= 1
               ? STATUS_OK
               : fail(err, STATUS_USAGE, "give '-' once", "standard input can be read only once");
}
