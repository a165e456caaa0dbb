// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_CAPTURE_PATHS_H
#define LODECARD_CLI_CAPTURE_PATHS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* How the names of captures end; ends in NULL. */
extern const char *const capture_endings[];

/* Whether a path ends in one of these, in letters of either case. */
bool path_has_ending(const char *path, const char *const *endings);
bool path_is_folder(const char *path);

/* Paths of captures, in their order. */
struct capture_paths {
    char **list;
    size_t count, capacity;
};
enum status capture_paths_add(
    struct capture_paths *paths, const char *path, struct error *err) MUST_CHECK;

/* The captures of a folder and of the folders in it, by name; hidden ones and other files are left,
 * and .txt, which is mostly no table, but words about the folder. */
enum status capture_paths_add_folder(
    struct capture_paths *paths, const char *folder, struct error *err) MUST_CHECK;
void capture_paths_clear(struct capture_paths *paths); /* safe on a zeroed struct and twice */

#endif
