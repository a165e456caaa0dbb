// SPDX-License-Identifier: GPL-3.0-or-later
/* The files of a setup: where they stand, and what they lack. */
#include <stdio.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "setup/setup.h"

static char *find_file(const char *given, const char *capture, const char *name, struct error *err)
{
    char hint[120];
    char *path = given != NULL ? memory_copy_text(given) : file_path_beside(capture, name);
    if (path == NULL) {
        (void)fail_memory(err);
    } else if (given == NULL && !file_exists(path)) {
        snprintf(hint, sizeof hint, "write it there, or name one with --%.*s",
            (int)strcspn(name, "."), name);
        (void)fail(err, STATUS_IO, hint, "there is no '%s'", path);
        memory_destroy(path);
        path = NULL;
    }
    return path;
}

char *setup_find_rig(const struct setup_paths *paths, const char *capture, struct error *err)
{
    return find_file(paths->rig, capture, "rig.yaml", err);
}

char *setup_find_specimen(const struct setup_paths *paths, const char *capture, struct error *err)
{
    return find_file(paths->specimen, capture, "specimen.yaml", err);
}

enum status setup_name_fault(const char *file, enum status status, struct error *err)
{
    if (status != STATUS_INPUT || file == NULL || err == NULL) {
        return status;
    }
    return fail_lines(err, status, err->hint, "'%s': %s", file, err->message);
}

enum status setup_read(const struct setup_paths *paths, const char *capture, struct rig *rig,
    struct specimen *specimen, struct error *err)
{
    char *path = setup_find_rig(paths, capture, err);
    enum status status = path != NULL ? rig_read(path, rig, err) : err->status;
    memory_destroy(path);
    if (status != STATUS_OK) {
        return status;
    }
    path = setup_find_specimen(paths, capture, err);
    status = path != NULL ? specimen_read(path, specimen, err) : err->status;
    memory_destroy(path);
    if (status != STATUS_OK) {
        rig_clear(rig);
    }
    return status;
}
