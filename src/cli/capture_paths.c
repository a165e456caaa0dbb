// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/capture_paths.h"

#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>

#include "base/memory.h"
#include "base/text.h"

#define FOLDERS_MOST 16 /* in each other */

const char *const capture_endings[] = {
    ".wav", ".w64", ".rf64", ".aif", ".aiff", ".caf", ".flac", ".au", ".csv", ".tsv", ".txt", NULL};

bool path_has_ending(const char *path, const char *const *endings)
{
    const char *dot = strrchr(text_base_name(path), '.');
    for (; dot && *endings; endings++)
        if (!strcasecmp(dot, *endings))
            return true;
    return false;
}

bool path_is_folder(const char *path)
{
    struct stat about;
    return stat(path, &about) == 0 && S_ISDIR(about.st_mode);
}

enum status capture_paths_add(struct capture_paths *paths, const char *path, struct error *err)
{
    char **list = memory_reserve(paths->list, &paths->capacity, paths->count + 1, sizeof *list);
    if (!list)
        return fail_memory(err);
    paths->list = list;
    paths->list[paths->count] = memory_copy_text(path);
    return paths->list[paths->count++] ? STATUS_OK : fail_memory(err);
}

static int compare(const struct dirent **a, const struct dirent **b)
{
    return strcmp((*a)->d_name, (*b)->d_name);
}

static bool is_capture(const char *name)
{
    static const char *const words[] = {".txt", NULL};
    return path_has_ending(name, capture_endings) && !path_has_ending(name, words);
}

static enum status add_folder(
    struct capture_paths *paths, const char *folder, int depth, struct error *err)
{
    struct dirent **entries = NULL;
    int count = scandir(folder, &entries, NULL, compare);
    if (count < 0)
        return fail(err, STATUS_IO, "check the path and the permissions",
            "cannot read the folder '%s': %s", folder, strerror(errno));
    enum status status = STATUS_OK;
    for (int i = 0; i < count; i++) {
        const char *name = entries[i]->d_name;
        struct text path = {0};
        text_add_format(
            &path, "%s%s%s", folder, folder[strlen(folder) - 1] == '/' ? "" : "/", name);
        if (path.failed)
            status = fail_memory(err);
        else if (!status && name[0] != '.' && path_is_folder(path.bytes) && depth < FOLDERS_MOST)
            status = add_folder(paths, path.bytes, depth + 1, err);
        else if (!status && name[0] != '.' && is_capture(name) && !path_is_folder(path.bytes))
            status = capture_paths_add(paths, path.bytes, err);
        text_clear(&path);
        memory_destroy(entries[i]);
    }
    memory_destroy(entries);
    return status;
}

enum status capture_paths_add_folder(
    struct capture_paths *paths, const char *folder, struct error *err)
{
    return add_folder(paths, folder, 0, err);
}

void capture_paths_clear(struct capture_paths *paths)
{
    for (size_t i = 0; i < paths->count; i++)
        memory_destroy(paths->list[i]);
    memory_destroy(paths->list);
    *paths = (struct capture_paths){0};
}
