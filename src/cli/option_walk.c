// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/option_walk.h"

struct option_walk option_walk_begin(const struct option *table)
{
    struct option_walk walk = {.depth = table != NULL};
    walk.levels[0].next = table;
    return walk;
}

bool option_walk_next(struct option_walk *walk)
{
    while (walk->depth > 0) {
        struct option_level *level = &walk->levels[walk->depth - 1];
        const struct option *entry = level->next++;
        if (entry->table && walk->depth < OPTION_DEPTH_MOST) {
            walk->levels[walk->depth++] =
                (struct option_level){entry->table, level->offset + entry->offset};
        } else if (entry->name) {
            walk->option = *entry;
            walk->option.offset += level->offset;
            return true;
        } else {
            walk->depth--;
        }
    }
    return false;
}
