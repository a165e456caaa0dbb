// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CARD_EXPORTER_H
#define LODECARD_CARD_EXPORTER_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* How to add an exporter: a Lua file src/card/exporters/NAME.lua whose first line is a comment with
 * its purpose, its two lines in exporter_list.c, a section in docs/exporters.md. */
struct exporter {
    char *name; /* small letters, digits, '-': "csv" */
    char *file; /* "csv.lua" */
    char *purpose;
    char *bytes;
    size_t length;
    bool is_own; /* from the user's folder */
};

/* The exporter NAME: folder/NAME.lua if there is a folder (NULL: none) and that file in it, else
 * the one that is compiled in. STATUS_USAGE names the nearest known one. */
enum status exporter_find(
    const char *name, const char *folder, struct exporter *exporter, struct error *err) MUST_CHECK;
void exporter_clear(struct exporter *exporter);

/* All of them, by name; one in the folder stands for the compiled-in one of its name. */
struct exporter_set {
    struct exporter *list;
    size_t count;
    size_t capacity;
};
enum status exporter_set_read(
    const char *folder, struct exporter_set *set, struct error *err) MUST_CHECK;
void exporter_set_clear(struct exporter_set *set);

#endif
