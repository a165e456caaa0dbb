// SPDX-License-Identifier: GPL-3.0-or-later
#include <string.h>

#include "cli/loop_csv.h"
#include "cli/loop_job.h"
#include "cli/series_text.h"

/* The same columns as `loop --csv`, by the same writer. */
void series_csv_add(struct text *out, const struct series *series)
{
    loop_csv_add_heading(out);
    for (size_t i = 0; i < series->count; i++) {
        const struct series_loop *loop = &series->loops[i];
        struct loop_job job = {.path = loop->file};
        job.specimen.name = loop->specimen;
        job.loop.figures = loop->figures;
        job.loop.notes = loop->notes;
        memcpy(job.loop.sha256, loop->sha256, sizeof job.loop.sha256);
        loop_csv_add_line(out, &job); /* borrows everything */
    }
}
