// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/report_sheet.h"

#include "base/memory.h"
#include "paper/markup.h"

enum status report_sheet_begin(struct report_sheet *sheet, const struct report_words *words,
    const char *title, struct text *subtitle, struct error *err)
{
    const enum status status =
        subtitle->failed ? fail_memory(err)
                         : report_begin(words, title, subtitle->bytes, &sheet->document, err);
    text_clear(subtitle);
    return status;
}

enum status report_sheet_finish(
    struct report_sheet *made, enum status status, struct report_sheet *sheet)
{
    if (status == STATUS_OK) {
        *sheet = *made;
    } else {
        report_sheet_clear(made);
    }
    return status;
}

enum status report_sheet_add_chart(struct report_sheet *sheet, struct quality_chart *chart,
    const char *alternative, const char *caption, struct error *err)
{
    struct quality_chart *own = memory_create(1, sizeof *own);
    struct quality_chart **charts =
        memory_resize(sheet->charts, sheet->chart_count + 1, sizeof *charts);
    if (charts != NULL) {
        sheet->charts = charts;
    }
    if (own == NULL || charts == NULL) {
        memory_destroy(own);
        quality_chart_clear(chart);
        return fail_memory(err);
    }
    *own = *chart;
    *chart = (struct quality_chart){0};
    sheet->charts[sheet->chart_count++] = own;
    document_add_chart(sheet->document, &own->chart, alternative, caption);
    return STATUS_OK;
}

void report_sheet_add_note(
    struct report_sheet *sheet, const char *heading, const struct text *message, const char *hint)
{
    struct text head = {0}, words = {0}, more = {0};
    markup_add(&head, heading);
    text_add(&head, ":");
    markup_add(&words, message->bytes != NULL ? message->bytes : "");
    markup_add(&more, hint);
    if (message->failed || head.failed || words.failed || more.failed) {
        document_set_failed(sheet->document);
    } else {
        document_add_note(sheet->document, head.bytes, words.bytes != NULL ? words.bytes : "",
            more.bytes != NULL ? more.bytes : "");
    }
    text_clear(&head);
    text_clear(&words);
    text_clear(&more);
}

void report_sheet_clear(struct report_sheet *sheet)
{
    document_destroy(sheet->document);
    for (size_t i = 0; i < sheet->chart_count; i++) {
        quality_chart_clear(sheet->charts[i]);
        memory_destroy(sheet->charts[i]);
    }
    memory_destroy(sheet->charts);
    *sheet = (struct report_sheet){0};
}
