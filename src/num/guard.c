// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/guard.h"

#include <gsl/gsl_errno.h>

#include "base/memory.h"

static void note_failure(const char *reason, const char *file, int line, int code)
{
    (void)reason;
    (void)file;
    (void)line;
    if (code == GSL_ENOMEM) {
        memory_set_failed();
    }
}

void guard_gsl(void)
{
    (void)gsl_set_error_handler(note_failure);
}
