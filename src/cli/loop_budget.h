// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_LOOP_BUDGET_H
#define LODECARD_CLI_LOOP_BUDGET_H

#include "base/text.h"
#include "budget/loop_budget.h"

extern const enum figure loop_budget_shown[]; /* the figures that it shows */
extern const size_t loop_budget_shown_count;

/* "0.053 kA/m": what something makes of a figure, two digits. */
void loop_budget_set_u(char *words, size_t size, enum figure figure, double u);

/* The budget as tables that people read: for each main figure its uncertainty, the contributions,
 * largest first, and what would halve it; the trials, where they were run. */
void loop_budget_text_add(struct text *out, const struct loop_budget *budget);

#endif
