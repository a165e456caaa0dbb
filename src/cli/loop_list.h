// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_LOOP_LIST_H
#define LODECARD_CLI_LOOP_LIST_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "loop/loop.h"

/* The captures of a survey as JSON lines: an object a line, "capture" and, where they differ from
 * what the command line says, "rig", "specimen", "start_s", "length_s", "decimal", "separator",
 * "harmonics" and "fundamental_Hz". Paths are as on the command line. */
struct loop_list;

struct loop_item {
    char *path;           /* owned, as the next two; never NULL */
    char *rig, *specimen; /* NULL: not told */
    struct loop_options options;
};

/* `path` may be "-": lines are then handed on as they come. `options` are those of the command
 * line, which the lines change. */
enum status loop_list_open(const char *path, const struct loop_options *options,
    struct loop_list **list, struct error *err) MUST_CHECK;

/* The next capture; empty lines are passed over. `*is_found` is false at the end. A line that
 * cannot be understood is STATUS_INPUT and leaves an item whose path is the list's: the lines
 * behind it can be read all the same. A failure that leaves the item untouched ends the list. */
enum status loop_list_read(
    struct loop_list *list, struct loop_item *item, bool *is_found, struct error *err) MUST_CHECK;
void loop_list_close(struct loop_list *list); /* NULL is allowed */

void loop_item_clear(struct loop_item *item); /* safe on a zeroed struct and twice */

#endif
