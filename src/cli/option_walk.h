// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_OPTION_WALK_H
#define LODECARD_CLI_OPTION_WALK_H

#include "cli/options.h"

/* Goes through an option table, headings included, and through the tables that it takes in where
 * they stand in it:
 *
 *     for (struct option_walk walk = option_walk_begin(table); option_walk_next(&walk);)
 *         use(&walk.option);
 */
#define OPTION_DEPTH_MOST 4 /* tables in each other */
struct option_walk {
    struct option option; /* as in its table, but for the offset: in the command's struct */
    struct option_level {
        const struct option *next;
        size_t offset; /* of the table's struct in the command's */
    } levels[OPTION_DEPTH_MOST];
    size_t depth;
};

/* `table` may be NULL: it has no options. */
struct option_walk option_walk_begin(const struct option *table);
bool option_walk_next(struct option_walk *walk);

#endif
