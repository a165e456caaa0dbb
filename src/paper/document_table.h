// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_DOCUMENT_TABLE_H
#define LODECARD_PAPER_DOCUMENT_TABLE_H

#include "paper/document_part.h"

/* Where the next block of a PDF goes, in points. */
struct document_pen {
    struct canvas canvas;
    size_t page;
    size_t pages; /* 0: not known yet */
    double left, right, height;
    double y;
    const char *foot; /* markup */
    int outline;      /* the heading that subheadings go below */
};

/* Goes to the next page when `height` more does not fit on this one. */
void document_pen_need(struct document_pen *pen, double height);

/* Draws a table over as many pages as it takes, its headings at the top of each. */
enum status document_table_draw(
    struct document_pen *pen, const struct block *block, struct error *err) MUST_CHECK;

#endif
