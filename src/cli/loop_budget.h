// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_LOOP_BUDGET_H
#define LODECARD_CLI_LOOP_BUDGET_H

#include "base/text.h"
#include "budget/loop_budget.h"

/* The budget as tables that people read: for each main figure its uncertainty, the contributions,
 * largest first, and what would halve it; the trials, where they were run. */
void loop_budget_text_add(struct text *out, const struct loop_budget *budget);

#endif
