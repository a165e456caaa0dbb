// SPDX-License-Identifier: GPL-3.0-or-later
/* What reports on rings begin with. */
#include "cli/report.h"

enum status report_case_read(const struct report_command *options, char **words, int count,
    struct report_case *made, struct error *err)
{
    const char *path = options->asked.limits;
    enum status status = path != NULL ? limits_read(path, &made->limits, err) : STATUS_OK;
    if (status == STATUS_OK) {
        status =
            report_find_figures(options, path != NULL ? &made->limits : NULL, &made->figures, err);
    }
    if (status == STATUS_OK) {
        status = report_check(options, words, count, err);
    }
    return status == STATUS_OK
               ? qualify_input_read(&options->asked, words, count, &made->input, err)
               : status;
}

enum status report_name_failure(enum figure figure, enum status status, struct error *err)
{
    return fail(err, status, err->hint, "%s: %s", figure_table[figure].name, err->message);
}

void report_case_clear(struct report_case *made)
{
    qualify_input_clear(&made->input);
    limits_clear(&made->limits);
    *made = (struct report_case){0};
}
