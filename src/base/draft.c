// SPDX-License-Identifier: GPL-3.0-or-later
/* Output files appear whole or not at all. On Linux a file can be written without a name
 * (O_TMPFILE) and be linked to one when it is done: then nothing is left of it even when the
 * program is killed. File systems that do not know this get a file beside the place, which is
 * renamed; those files are listed, for the handler of the signals that end a program (leftover.c).
 */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/file.h"
#include "base/leftover.h"
#include "base/memory.h"
#include "base/text.h"

#define NAMES_TRIED 1000

static enum status fail_write(struct error *err, const char *path, int reason)
{
    const char *hint = reason == ENOSPC || reason == EDQUOT || reason == EFBIG
                           ? "make room, or write somewhere else"
                           : "check the path and the permissions";
    if (reason == ENOMEM) {
        return fail_memory(err);
    }
    return reason == ENOMEM
               ? fail_memory(err)
               : fail(err, STATUS_IO, hint, "cannot write '%s': %s", path, strerror(reason));
}

/* --- names ---------------------------------------------------------------------------------- */

/* Gives `make` names beside `path` until one is free; that name, or NULL with errno set. */
static char *find_name(
    const char *path, bool (*make)(const char *name, void *context), void *context)
{
    for (unsigned int i = 0; i < NAMES_TRIED; i++) {
        struct text name = {0};
        text_add_format(&name, "%s.%ld-%u.part", path, (long)getpid(), i);
        if (name.failed) {
            text_clear(&name);
            errno = ENOMEM;
            return NULL;
        }
        leftover_hold();
        const bool is_made = make(name.bytes, context);
        const int reason = errno;
        if (is_made) {
            leftover_add(name.bytes);
        }
        leftover_release();
        if (is_made) {
            return name.bytes;
        }
        text_clear(&name);
        errno = reason;
        if (reason != EEXIST) {
            return NULL;
        }
    }
    return NULL;
}

static void forget_name(char *name)
{
    if (name != NULL) {
        leftover_remove(name);
        memory_destroy(name);
    }
}

/* An open file and the rights it shall have. */
struct opening {
    int file;
    mode_t mode;
};

static bool open_name(const char *name, void *context)
{
    struct opening *opening = context;
    do {
        opening->file = open(name, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, opening->mode);
    } while (opening->file < 0 && errno == EINTR);
    return opening->file >= 0;
}

#define LINK_SIZE 40
static const char *get_link(char link[LINK_SIZE], int file)
{
    snprintf(link, LINK_SIZE, "/proc/self/fd/%d", file);
    return link;
}

static bool link_name(const char *name, void *context)
{
    char link[LINK_SIZE];
    const struct opening *opening = context;
    return linkat(AT_FDCWD, get_link(link, opening->file), AT_FDCWD, name, AT_SYMLINK_FOLLOW) == 0;
}

/* Lists what the writer of a named draft may make beside it; false: there is no memory. */
static bool list_companions(struct file_draft *draft, const char *const *endings)
{
    for (size_t i = 0; draft->temporary != NULL && endings != NULL && endings[i] != NULL; i++) {
        struct text name = {0};
        text_add_format(&name, "%s%s", draft->temporary, endings[i]);
        if (name.failed) {
            text_clear(&name);
            errno = ENOMEM;
            return false;
        }
        leftover_add(name.bytes);
        draft->companions[i] = name.bytes;
    }
    return true;
}

/* Frees; what still has a temporary name is removed. */
static void drop(struct file_draft *draft, bool is_renamed)
{
    for (size_t i = 0; i < FILE_COMPANIONS; i++) {
        forget_name(draft->companions[i]);
    }
    if (draft->temporary != NULL && !is_renamed) {
        unlink(draft->temporary);
    }
    forget_name(draft->temporary);
    memory_destroy(draft->path);
    memory_destroy(draft->shown);
    *draft = (struct file_draft){0};
}

/* --- create --------------------------------------------------------------------------------- */

/* Where a file that is there really is: a link stays a link. */
static char *resolve(const char *path, bool is_there)
{
    if (!is_there) {
        return memory_copy_text(path);
    }
    return realpath(path, NULL);
}

/* A file without a name in the folder of `path`; -1 with errno set where there are none. */
static int open_nameless(const char *path, mode_t mode)
{
    char link[LINK_SIZE];
    char *folder = file_path_beside(path, "");
    if (folder == NULL) {
        errno = ENOMEM;
        return -1;
    }
    int file = open(*folder != '\0' ? folder : ".", O_RDWR | O_TMPFILE | O_CLOEXEC, mode);
    const int reason = errno;
    memory_destroy(folder);
    errno = reason;
    if (file >= 0 && access(get_link(link, file), F_OK) != 0) { /* without /proc there is no link */
        close(file);
        file = -1;
    }
    return file;
}

/* Opens what will become the file; false with errno set. */
static bool open_draft(
    struct file_draft *draft, mode_t mode, bool needs_name, const char *const *endings)
{
    if (draft->is_direct) {
        do {
            draft->file = open(draft->path, O_WRONLY | O_TRUNC | O_CLOEXEC);
        } while (draft->file < 0 && errno == EINTR);
        return draft->file >= 0;
    }
    draft->file = needs_name ? -1 : open_nameless(draft->path, mode);
    if (draft->file < 0 && !needs_name && errno == ENOMEM) {
        return false;
    }
    if (draft->file < 0) {
        struct opening opening = {.mode = mode};
        draft->temporary = find_name(draft->path, open_name, &opening);
        draft->file = opening.file;
        return draft->temporary != NULL && list_companions(draft, endings);
    }
    return true;
}

static enum status create(struct file_draft *draft, const char *path, bool needs_name,
    const char *const *endings, struct error *err)
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
    made.is_direct = is_there && !S_ISREG(about.st_mode);
    errno = ENOMEM; /* realpath() says it when it is something else */
    made.path = resolve(path, is_there && !made.is_direct);
    int reason = made.path != NULL ? ENOMEM : errno;
    made.shown = memory_copy_text(path);
    if (made.path == NULL || made.shown == NULL) {
        drop(&made, false);
        return fail_write(err, path, reason);
    }
    if (!open_draft(&made, is_there ? about.st_mode & 0777 : 0666, needs_name, endings)) {
        reason = errno;
        drop(&made, false);
        return fail_write(err, path, reason);
    }
    *draft = made;
    return STATUS_OK;
}

enum status file_draft_create(struct file_draft *draft, const char *path, struct error *err)
{
    return create(draft, path, false, NULL, err);
}

enum status file_draft_create_named(
    struct file_draft *draft, const char *path, const char *const *endings, struct error *err)
{
    return create(draft, path, true, endings, err);
}

/* --- write ---------------------------------------------------------------------------------- */

bool file_put(int file, const void *bytes, size_t length)
{
    const char *next = bytes;
    while (length > 0) {
        ssize_t count = write(file, next, length);
        if (count >= 0) {
            next += count;
            length -= (size_t)count;
        } else if (errno != EINTR) {
            return false;
        }
    }
    return true;
}

enum status file_draft_add(
    struct file_draft *draft, const void *bytes, size_t length, struct error *err)
{
    return file_put(draft->file, bytes, length) ? STATUS_OK : fail_write(err, draft->shown, errno);
}

/* --- commit --------------------------------------------------------------------------------- */

/* Sees to it that the bytes are on the disk before a name points to them. */
static bool flush(int file)
{
    int result;
    do {
        result = fsync(file);
    } while (result != 0 && errno == EINTR);
    return result == 0 || errno == EINVAL || errno == EROFS;
}

/* The bytes of a nameless file that cannot be linked (some network file systems and sandboxes),
 * copied into one with a name; false with errno set. */
static bool copy_to_name(struct file_draft *draft)
{
    char block[1 << 15];
    struct stat about;
    if (fstat(draft->file, &about) != 0) {
        return false;
    }
    struct opening opening = {.mode = about.st_mode & 0777};
    draft->temporary = find_name(draft->path, open_name, &opening);
    if (draft->temporary == NULL) {
        return false;
    }
    off_t place = 0;
    bool is_done = true;
    while (is_done && place < about.st_size) {
        ssize_t got = pread(draft->file, block, sizeof block, place);
        is_done = got > 0 ? file_put(opening.file, block, (size_t)got) : got < 0 && errno == EINTR;
        place += got > 0 ? got : 0;
    }
    is_done = is_done && flush(opening.file);
    int reason = errno;
    is_done = close(opening.file) == 0 && is_done;
    errno = reason;
    return is_done;
}

/* A new file gets its name at once; one that replaces another gets one beside it, which is then
 * renamed. */
static bool give_name(struct file_draft *draft)
{
    struct opening opening = {.file = draft->file};
    if (link_name(draft->path, &opening)) {
        return true;
    }
    draft->temporary = errno == EEXIST ? find_name(draft->path, link_name, &opening) : NULL;
    if (draft->temporary == NULL && errno != ENOSPC && errno != ENOMEM && !copy_to_name(draft)) {
        return false;
    }
    return draft->temporary != NULL && rename(draft->temporary, draft->path) == 0;
}

void file_draft_abandon(struct file_draft *draft)
{
    if (draft->path != NULL) {
        close(draft->file);
        drop(draft, false);
    }
}

enum status file_draft_commit(struct file_draft *draft, struct error *err)
{
    if (memory_has_failed()) {
        file_draft_abandon(draft);
        return fail_memory(err);
    }
    bool is_done = draft->is_direct || flush(draft->file);
    if (is_done && !draft->is_direct) {
        is_done = draft->temporary != NULL ? rename(draft->temporary, draft->path) == 0
                                           : give_name(draft);
    }
    int reason = errno;
    /* Behind fsync there is nothing left that closing could fail to write. */
    bool is_closed = close(draft->file) == 0 || errno == EINTR || !draft->is_direct;
    reason = is_done ? errno : reason;
    enum status status = is_done && is_closed ? STATUS_OK : fail_write(err, draft->shown, reason);
    drop(draft, is_done);
    return status;
}

bool file_draft_remove_all(int sign)
{
    return leftover_unlink_all(sign);
}

enum status file_write(const char *path, const void *bytes, size_t length, struct error *err)
{
    struct file_draft draft = {0};
    enum status status = file_draft_create(&draft, path, err);
    if (status == STATUS_OK) {
        status = file_draft_add(&draft, bytes, length, err);
    }
    if (status == STATUS_OK) {
        status = file_draft_commit(&draft, err);
    }
    file_draft_abandon(&draft);
    return status;
}
