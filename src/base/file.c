// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/memory.h"
#include "base/text.h"

static const char read_hint[] = "check the path and the permissions";

static enum status fail_read(struct error *err, const char *path)
{
    return fail(err, STATUS_IO, read_hint, "cannot read '%s': %s", path, strerror(errno));
}

/* Opens for reading what can be read: a file, a pipe, a device, not a folder. */
static enum status open_input(const char *path, int *file, struct error *err)
{
    struct stat about;
    bool is_standard_input = strcmp(path, "-") == 0;
    int opened = is_standard_input ? STDIN_FILENO : open(path, O_RDONLY | O_CLOEXEC);
    if (opened < 0) {
        return fail_read(err, path);
    }
    if (fstat(opened, &about) == 0 && S_ISDIR(about.st_mode)) {
        if (!is_standard_input) {
            close(opened);
        }
        return fail(err, STATUS_IO, "name a file in it", "cannot read '%s': it is a folder", path);
    }
    *file = opened;
    return STATUS_OK;
}

/* Reads to the end, at most one byte more than the limit; false when reading failed. */
static bool read_all(int file, size_t limit, struct text *content)
{
    char block[1 << 15];
    while (content->length <= limit) {
        size_t room = limit - content->length;
        size_t wanted = room < sizeof block ? room + 1 : sizeof block;
        ssize_t got = read(file, block, wanted);
        if (got == 0) {
            return true;
        }
        if (got > 0) {
            text_add_bytes(content, block, (size_t)got);
            if (content->failed) {
                errno = ENOMEM;
                return false;
            }
        } else if (errno != EINTR) {
            return false;
        }
    }
    return true;
}

enum status file_read(
    const char *path, size_t limit, char **bytes, size_t *length, struct error *err)
{
    int file = -1;
    struct text content = {0};
    enum status status = open_input(path, &file, err);
    if (status != STATUS_OK) {
        return status;
    }
    text_add(&content, "");
    if (!read_all(file, limit, &content)) {
        status = errno == ENOMEM ? fail_memory(err) : fail_read(err, path);
    } else if (content.failed) {
        status = fail_memory(err);
    } else if (content.length > limit) {
        status = fail(err, STATUS_INPUT, "is this the file you meant?",
            "'%s' is larger than %zu bytes", path, limit);
    }
    if (file != STDIN_FILENO) {
        close(file);
    }
    if (status != STATUS_OK) {
        text_clear(&content);
        return status;
    }
    *bytes = content.bytes;
    *length = content.length;
    return STATUS_OK;
}

bool file_exists(const char *path)
{
    struct stat about;
    return stat(path, &about) == 0;
}

char *file_path_beside(const char *beside, const char *name)
{
    size_t folder = (size_t)(text_base_name(beside) - beside);
    struct text path = {0};
    text_add_bytes(&path, beside, folder);
    text_add(&path, name);
    if (path.failed) {
        text_clear(&path);
    }
    return path.bytes;
}

/* One folder; that it is there already is no failure. */
static bool create_one(const char *path)
{
    struct stat about;
    if (mkdir(path, 0777) == 0) {
        return true;
    }
    if (errno != EEXIST) {
        return false;
    }
    if (stat(path, &about) == 0 && S_ISDIR(about.st_mode)) {
        return true;
    }
    errno = ENOTDIR;
    return false;
}

enum status file_create_folder(const char *path, struct error *err)
{
    char *copy = memory_copy_text(path);
    if (copy == NULL) {
        return fail_memory(err);
    }
    bool is_done = true;
    for (char *slash = strchr(copy + (*copy == '/'), '/'); is_done && slash != NULL;
         slash = strchr(slash + 1, '/')) {
        *slash = '\0';
        is_done = create_one(copy);
        *slash = '/';
    }
    is_done = is_done && create_one(copy);
    int reason = errno;
    memory_destroy(copy);
    if (!is_done) {
        return fail(err, STATUS_IO, "check the path and the permissions",
            "cannot create folder '%s': %s", path, strerror(reason));
    }
    return STATUS_OK;
}
