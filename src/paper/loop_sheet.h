// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_LOOP_SHEET_H
#define LODECARD_PAPER_LOOP_SHEET_H

#include "base/error.h"
#include "budget/loop_budget.h"
#include "loop/loop.h"
#include "paper/report_parts.h"
#include "setup/setup.h"

/* A report on loops, to sign and file: who was measured with what, the loop, its figures with their
 * expanded uncertainty, what makes it, the notes. */
struct loop_sheet_item {
    const char *file; /* name of the capture, without folder */
    const struct loop *loop;
    const struct rig *rig;
    const struct specimen *specimen;
    const struct loop_budget *budget; /* whose u the loop's figures carry */
    const char *failure;              /* why there is no result; NULL: there is one */
};

/* A capture has a section of its own; of several there is a table ahead, and each section begins a
 * page. At least one has a result. `items` and what they point to are borrowed until the document
 * is destroyed. */
enum status loop_sheet_create(const struct loop_sheet_item *items, size_t count,
    const struct report_words *words, struct document **document, struct error *err) MUST_CHECK;

/* The numbers behind it: "loops", an array of lodecard-loop/1 with `points` points and their
 * budgets, and the inputs. */
enum status loop_sheet_write_data(const struct loop_sheet_item *items, size_t count, size_t points,
    struct text *out, struct error *err) MUST_CHECK;

#endif
