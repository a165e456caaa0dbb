// SPDX-License-Identifier: GPL-3.0-or-later
/* Output files appear whole or not at all: they are written beside their place under another name,
 * then renamed. What is there and is no regular file (a pipe, /dev/null) is written to directly. */
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

#define NAMES_TRIED 1000

static enum status fail_write(struct error *err, const char *path, int reason)
{
    const char *hint = reason == ENOSPC || reason == EDQUOT || reason == EFBIG
                           ? "make room, or write somewhere else"
                           : "check the path and the permissions";
    return fail(err, STATUS_IO, hint, "cannot write '%s': %s", path, strerror(reason));
}

/* Creates an empty file beside `path` that nobody else has; its name, or NULL with errno set. */
static char *create_beside(const char *path, mode_t mode)
{
    for (unsigned int i = 0; i < NAMES_TRIED; i++) {
        struct text name = {0};
        text_add_format(&name, "%s.%ld-%u.part", path, (long)getpid(), i);
        if (name.failed) {
            errno = ENOMEM;
            return NULL;
        }
        int file = open(name.bytes, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, mode);
        if (file >= 0) {
            close(file);
            return name.bytes;
        }
        text_clear(&name);
        if (errno != EEXIST) {
            return NULL;
        }
    }
    return NULL;
}

/* Where a file that is there really is: a link stays a link. */
static char *resolve(const char *path, bool is_there)
{
    if (!is_there) {
        return memory_copy_text(path);
    }
    char *found = realpath(path, NULL);
    return found;
}

enum status file_draft_create(struct file_draft *draft, const char *path, struct error *err)
{
    struct stat about;
    struct file_draft made = {0};
    bool is_there = stat(path, &about) == 0;
    if (is_there && S_ISDIR(about.st_mode)) {
        return fail(err, STATUS_IO, "name a file in it", "cannot write '%s': it is a folder", path);
    }
    if (is_there && access(path, W_OK) != 0) {
        return fail_write(err, path, errno);
    }
    bool is_direct = is_there && !S_ISREG(about.st_mode);
    made.path = is_direct ? memory_copy_text(path) : resolve(path, is_there);
    if (made.path == NULL) {
        return fail_memory(err);
    }
    made.temporary = is_direct ? memory_copy_text(path)
                               : create_beside(made.path, is_there ? about.st_mode & 0777 : 0666);
    if (made.temporary == NULL) {
        int reason = errno;
        memory_destroy(made.path);
        return fail_write(err, path, reason);
    }
    *draft = made;
    return STATUS_OK;
}

static bool is_direct(const struct file_draft *draft)
{
    return strcmp(draft->path, draft->temporary) == 0;
}

/* Sees to it that the bytes are on the disk before the name points to them. */
static bool flush(const char *path)
{
    int file = open(path, O_RDONLY | O_CLOEXEC);
    if (file < 0) {
        return false;
    }
    bool is_done = fsync(file) == 0 || errno == EINVAL || errno == EROFS;
    int reason = errno;
    close(file);
    errno = reason;
    return is_done;
}

enum status file_draft_commit(struct file_draft *draft, struct error *err)
{
    enum status status = STATUS_OK;
    if (!is_direct(draft)) {
        if (!flush(draft->temporary) || rename(draft->temporary, draft->path) != 0) {
            status = fail_write(err, draft->path, errno);
            unlink(draft->temporary);
        }
    }
    memory_destroy(draft->path);
    memory_destroy(draft->temporary);
    *draft = (struct file_draft){0};
    return status;
}

void file_draft_abandon(struct file_draft *draft)
{
    if (draft->temporary != NULL && !is_direct(draft)) {
        unlink(draft->temporary);
    }
    memory_destroy(draft->path);
    memory_destroy(draft->temporary);
    *draft = (struct file_draft){0};
}

/* Writes all bytes; 0, or the reason as errno has it. */
static int write_bytes(const char *path, const char *bytes, size_t length)
{
    int file = open(path, O_WRONLY | O_TRUNC | O_CLOEXEC);
    if (file < 0) {
        return errno;
    }
    int reason = 0;
    while (length > 0 && reason == 0) {
        ssize_t count = write(file, bytes, length);
        if (count >= 0) {
            bytes += count;
            length -= (size_t)count;
        } else if (errno != EINTR) {
            reason = errno;
        }
    }
    if (close(file) != 0 && reason == 0) {
        reason = errno;
    }
    return reason;
}

enum status file_write(const char *path, const void *bytes, size_t length, struct error *err)
{
    struct file_draft draft = {0};
    enum status status = file_draft_create(&draft, path, err);
    if (status != STATUS_OK) {
        return status;
    }
    int reason = write_bytes(draft.temporary, bytes, length);
    if (reason != 0) {
        file_draft_abandon(&draft);
        return fail_write(err, path, reason);
    }
    return file_draft_commit(&draft, err);
}
