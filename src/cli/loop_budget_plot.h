// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_LOOP_BUDGET_PLOT_H
#define LODECARD_CLI_LOOP_BUDGET_PLOT_H

#include "base/error.h"
#include "budget/loop_budget.h"

/* The budget as a picture: for each main figure its contributions as bars, largest first. `name` is
 * that of the specimen or capture. STATUS_CAPTURE when no figure has an uncertainty. */
enum status loop_budget_plot_write(const char *name, const struct loop_budget *budget,
    const char *path, struct error *err) MUST_CHECK;

#endif
