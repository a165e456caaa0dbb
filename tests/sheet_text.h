// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_TESTS_SHEET_TEXT_H
#define LODECARD_TESTS_SHEET_TEXT_H

#include "paper/report_sheet.h"

/* Writes the sheet as a.html and a.pdf, clears it, and returns the text of the page, in which no
 * number is none; free it with memory_destroy. */
char *sheet_write_html(struct report_sheet *sheet);

/* All of the parts, which end in NULL, must stand in the page. */
void sheet_check_parts(const char *html, const char *const *parts);

#endif
