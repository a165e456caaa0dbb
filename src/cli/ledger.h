// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_LEDGER_H
#define LODECARD_CLI_LEDGER_H

#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"
#include "cli/columns.h"
#include "cli/ledger_choice.h"
#include "cli/options.h"
#include "ledger/find.h"
#include "ledger/ledger.h"
#include "loop/loop.h"

/* The modes of `lodecard ledger`, one file each or a few that belong together. */

struct ledger_command {
    struct ledger_choice choice; /* find, export, recompute */
    const char *day, *person;
    /* add */
    struct setup_paths setup;
    struct loop_options reading;
    size_t points, threads;
    bool keeps_bytes, is_quiet;
    /* find, list, export */
    const char *sort, *columns;
    bool is_falling, has_old, has_statistics;
    size_t limit;
    const char *csv, *json_lines, *folder;
    /* others */
    const char *head;
    bool reads_captures, removes, is_dry;
};

struct ledger_mode {
    const char *name;
    const char *const *options; /* its own; ends in NULL */
    enum ledger_access access;
    int least, most;   /* words behind the mode; most -1: any number */
    const char *needs; /* what they are, for messages */
    int (*run)(const struct ledger_command *options, struct ledger *ledger, int count, char **words,
        struct error *err);
};
extern const struct ledger_mode ledger_mode_add, ledger_mode_list, ledger_mode_find,
    ledger_mode_show, ledger_mode_history, ledger_mode_check, ledger_mode_remark, ledger_mode_tag,
    ledger_mode_undo, ledger_mode_backup, ledger_mode_export, ledger_mode_import,
    ledger_mode_recompute;

/* Keeps the highest of two exit statuses. */
void ledger_keep_worst(int *worst, int status);

/* Prints what was gathered, and clears it. */
enum status ledger_print(struct text *out, struct error *err);

#endif
