// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_DOCUMENT_PEN_H
#define LODECARD_PAPER_DOCUMENT_PEN_H

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

#define DOCUMENT_TEXT 9.0 /* size of what is read through */

/* Goes to the next page when `height` more does not fit on this one. */
void document_pen_need(struct document_pen *pen, double height);

void document_pen_set_ink(struct document_pen *pen, double grey); /* 0: black ... 1 */

/* The height of a paragraph. */
double document_pen_measure(
    struct document_pen *pen, const char *markup, double size, double width);

/* Draws names and values, in two columns where they are many and short. */
void document_identity_draw(struct document_pen *pen, const struct block *block);

/* Draws a table over as many pages as it takes, its headings at the top of each. */
enum status document_table_draw(
    struct document_pen *pen, const struct block *block, struct error *err) MUST_CHECK;

#endif
