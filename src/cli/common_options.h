// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_COMMON_OPTIONS_H
#define LODECARD_CLI_COMMON_OPTIONS_H

#include "cli/options.h"

/* Options that several commands have, so that each means and says the same everywhere: tables to be
 * taken in by the commands' own. Beside each stands what its members are of. Others stand with
 * their struct: cli/series_wants.h, cli/ledger_choice.h, cli/qualify.h. */

extern const struct option setup_options[];   /* struct setup_paths: --rig, --specimen */
extern const struct option excerpt_options[]; /* struct capture_options: --start, --length, how a
                                                 table is written */
extern const struct option fit_options[];     /* struct loop_options: --harmonics, --fundamental */
extern const struct option today_options[];   /* struct loop_options: --today */
extern const struct option jobs_options[];    /* size_t, beforehand 1: --jobs */
extern const struct option strict_options[];  /* bool: --strict */

/* const char *: --json, whose file must end in .json, so that a capture behind it is none; and one
 * that takes any word. */
extern const struct option json_options[];
extern const struct option json_any_options[];

extern const struct option json_lines_options[]; /* const char *: --json-lines */
extern const char *const json_lines_endings[];

#endif
