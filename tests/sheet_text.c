// SPDX-License-Identifier: GPL-3.0-or-later
#include "sheet_text.h"

#include <string.h>

#include "base/file.h"
#include "suites.h"

char *sheet_write_html(struct report_sheet *sheet)
{
    struct error err;
    char *html = NULL;
    size_t length;
    ck_assert_int_eq(document_write(sheet->document, "a.html", &err), STATUS_OK);
    ck_assert_int_eq(document_write(sheet->document, "a.pdf", &err), STATUS_OK);
    report_sheet_clear(sheet);
    ck_assert_int_eq(file_read("a.html", 1 << 24, &html, &length, &err), STATUS_OK);
    ck_assert(strstr(html, "nan") == NULL && strstr(html, " inf") == NULL);
    return html;
}

void sheet_check_parts(const char *html, const char *const *parts)
{
    for (size_t i = 0; parts[i] != NULL; i++) {
        ck_assert_msg(strstr(html, parts[i]) != NULL, "no '%s'", parts[i]);
    }
}
