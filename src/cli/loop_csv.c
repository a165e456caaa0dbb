// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/loop_csv.h"

#include <math.h>

#include "cli/csv_cell.h"

static void add_number(struct text *out, double value, bool is_present)
{
    char number[TEXT_NUMBER_SIZE];
    text_add(out, ",");
    if (is_present && isfinite(value))
        text_add(out, text_number(number, value));
}

void loop_csv_add_heading(struct text *out)
{
    text_add(out, "file,sha256,specimen");
    for (size_t i = 0; i < FIGURE_COUNT; i++)
        text_add_format(out, ",%s,u_%s", figure_table[i].key, figure_table[i].key);
    text_add(out, ",notes,error\n");
}

void loop_csv_add_line(struct text *out, const struct loop_job *job)
{
    csv_cell_add(out, text_base_name(job->path));
    text_add_format(out, ",%s,", job->loop.sha256);
    csv_cell_add(out, job->specimen.name);
    for (size_t i = 0; i < FIGURE_COUNT; i++) {
        const struct figure_value *value = &job->loop.figures.list[i];
        bool is_present = value->is_present && !job->status;
        add_number(out, value->value, is_present);
        add_number(out, value->u, is_present && value->has_u);
    }
    text_add(out, ",");
    for (size_t i = 0; i < job->loop.notes.count; i++)
        text_add_format(out, "%s%s", i ? " " : "", job->loop.notes.list[i].code);
    text_add(out, ",");
    if (job->status)
        csv_cell_add(out, job->error.message);
    text_add(out, "\n");
}
