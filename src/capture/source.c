// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/source.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/memory.h"

#define BUFFER_SIZE ((size_t)1 << 16)

struct source {
    char *path;
    int file;
    int failure;     /* errno of the first failed read */
    int64_t length;  /* -1: a stream */
    int64_t next;    /* where the next read begins */
    int64_t taken;   /* bytes taken from a stream so far */
    bool is_opening; /* a stream keeps what it takes */

    /* A file: the bytes last read, at `kept_at`. A stream: its first bytes. */
    unsigned char *kept;
    size_t kept_count;
    size_t kept_capacity;
    int64_t kept_at;

    unsigned char patch[SOURCE_PATCH_SIZE];
    size_t patch_count;
    int64_t patch_at;

    struct digest *digest;  /* of a stream */
    struct digest_job *job; /* of a file */
};

static enum status fail_reading(struct error *err, const char *path, int reason)
{
    return fail(err, STATUS_IO, "check the path and the permissions", "cannot read '%s': %s", path,
        strerror(reason));
}

/* Opens the file and finds whether it is one that can be read anywhere. */
static enum status open_file(struct source *source, struct error *err)
{
    struct stat about;
    bool is_standard_input = strcmp(source->path, "-") == 0;
    source->file =
        is_standard_input ? STDIN_FILENO : open(source->path, O_RDONLY | O_CLOEXEC | O_NOCTTY);
    if (source->file < 0 || fstat(source->file, &about) != 0) {
        return fail_reading(err, source->path, errno);
    }
    if (S_ISDIR(about.st_mode)) {
        return fail(
            err, STATUS_IO, "name a file in it", "cannot read '%s': it is a folder", source->path);
    }
    /* What the system makes up while it is read (/proc) says 0 bytes. */
    bool is_file = S_ISREG(about.st_mode) && about.st_size > 0 && !is_standard_input;
    source->length = is_file ? (int64_t)about.st_size : -1;
    return STATUS_OK;
}

static bool prepare(struct source *source)
{
    if (source->length >= 0) {
        source->kept = memory_reserve(NULL, &source->kept_capacity, BUFFER_SIZE, 1);
        return source->kept != NULL;
    }
    source->is_opening = true;
    source->digest = digest_create();
    return source->digest != NULL;
}

enum status source_create(const char *path, struct source **source, struct error *err)
{
    struct source *made = memory_create(1, sizeof *made);
    if (made == NULL) {
        return fail_memory(err);
    }
    made->file = -1;
    made->path = memory_copy_text(path);
    enum status status = made->path == NULL ? fail_memory(err) : open_file(made, err);
    if (status == STATUS_OK && !prepare(made)) {
        status = fail_memory(err);
    }
    if (status != STATUS_OK) {
        source_destroy(made);
        return status;
    }
    *source = made;
    return STATUS_OK;
}

void source_destroy(struct source *source)
{
    char text[DIGEST_TEXT_SIZE];
    if (source == NULL) {
        return;
    }
    if (source->job != NULL) {
        enum status ignored = digest_job_finish(source->job, text, NULL);
        (void)ignored;
    }
    digest_destroy(source->digest);
    if (source->file > STDIN_FILENO) {
        close(source->file);
    }
    memory_destroy(source->kept);
    memory_destroy(source->path);
    memory_destroy(source);
}

const char *source_get_path(const struct source *source)
{
    return source->path;
}

bool source_is_file(const struct source *source)
{
    return source->length >= 0;
}

int64_t source_get_length(const struct source *source)
{
    return source->length;
}

int64_t source_get_position(const struct source *source)
{
    return source->next;
}

void source_set_position(struct source *source, int64_t position)
{
    source->next = position;
}

int source_get_failure(const struct source *source)
{
    return source->failure;
}

enum status source_fail(const struct source *source, struct error *err)
{
    return fail_reading(err, source->path, source->failure);
}

static long set_failure(struct source *source, int reason)
{
    if (source->failure == 0) {
        source->failure = reason;
    }
    errno = reason;
    return -1;
}

/* Reads a file at a place, until there are `count` bytes or it ends. */
static long read_at(struct source *source, int64_t at, unsigned char *bytes, size_t count)
{
    size_t have = 0;
    while (have < count) {
        ssize_t got = pread(source->file, bytes + have, count - have, (off_t)at + (off_t)have);
        if (got == 0) {
            break;
        }
        if (got > 0) {
            have += (size_t)got;
        } else if (errno != EINTR) {
            return set_failure(source, errno);
        }
    }
    return (long)have;
}

/* Takes the next bytes of a stream; they are digested as they are. */
static long take(struct source *source, unsigned char *bytes, size_t count)
{
    ssize_t got;
    do {
        got = read(source->file, bytes, count);
    } while (got < 0 && errno == EINTR);
    if (got < 0) {
        return set_failure(source, errno);
    }
    digest_add(source->digest, bytes, (size_t)got);
    source->taken += got;
    return (long)got;
}

/* Copies what is kept of the bytes from `at` on; 0: nothing is. */
static size_t copy_kept(const struct source *source, int64_t at, unsigned char *bytes, size_t count)
{
    int64_t ahead = source->kept_at + (int64_t)source->kept_count - at;
    if (at < source->kept_at || ahead <= 0) {
        return 0;
    }
    size_t copied = (size_t)ahead < count ? (size_t)ahead : count;
    memcpy(bytes, source->kept + (at - source->kept_at), copied);
    return copied;
}

static long read_file(struct source *source, unsigned char *bytes, size_t count)
{
    size_t copied = copy_kept(source, source->next, bytes, count);
    if (copied > 0) {
        return (long)copied;
    }
    if (count >= BUFFER_SIZE) {
        return read_at(source, source->next, bytes, count);
    }
    source->kept_count = 0;
    long got = read_at(source, source->next, source->kept, BUFFER_SIZE);
    if (got <= 0) {
        return got;
    }
    source->kept_at = source->next;
    source->kept_count = (size_t)got;
    return (long)copy_kept(source, source->next, bytes, count);
}

/* Takes and keeps more of a stream that is being opened, at least up to `end` unless it ends or
 * too much is kept. */
static long keep(struct source *source, int64_t end)
{
    while ((int64_t)source->kept_count < end && source->kept_count < SOURCE_KEEP_LIMIT) {
        size_t room = source->kept_count + READER_HEAD_SIZE;
        unsigned char *kept = memory_reserve(source->kept, &source->kept_capacity, room, 1);
        if (kept == NULL) {
            return set_failure(source, ENOMEM);
        }
        source->kept = kept;
        long got = take(source, kept + source->kept_count, READER_HEAD_SIZE);
        if (got <= 0) {
            return got;
        }
        source->kept_count += (size_t)got;
    }
    return 1;
}

/* Takes bytes of a stream that nobody wants, up to `end`. */
static long skip(struct source *source, int64_t end)
{
    unsigned char block[READER_HEAD_SIZE];
    long got = 1;
    while (source->taken < end && got > 0) {
        int64_t left = end - source->taken;
        got = take(source, block, left < (int64_t)sizeof block ? (size_t)left : sizeof block);
    }
    return got;
}

static long read_stream(struct source *source, unsigned char *bytes, size_t count)
{
    if (source->is_opening) {
        if (source->next > source->taken && source->next > SOURCE_JUMP_LIMIT) {
            return 0;
        }
        if (keep(source, source->next + (int64_t)count) < 0) {
            return -1;
        }
    }
    size_t copied = copy_kept(source, source->next, bytes, count);
    if (copied > 0) {
        return (long)copied;
    }
    if (source->next < source->taken) {
        return set_failure(source, ESPIPE);
    }
    long got = skip(source, source->next);
    return got <= 0 ? got : take(source, bytes, count);
}

static void apply_patch(const struct source *source, unsigned char *bytes, size_t count)
{
    for (size_t i = 0; i < source->patch_count; i++) {
        int64_t place = source->patch_at + (int64_t)i - source->next;
        if (place >= 0 && place < (int64_t)count) {
            bytes[place] = source->patch[i];
        }
    }
}

long source_read(struct source *source, void *bytes, size_t count)
{
    unsigned char *into = bytes;
    size_t have = 0;
    while (have < count) {
        long got = source->length >= 0 ? read_file(source, into + have, count - have)
                                       : read_stream(source, into + have, count - have);
        if (got < 0) {
            return -1;
        }
        if (got == 0) {
            break;
        }
        if (source->next < source->patch_at + SOURCE_PATCH_SIZE) {
            apply_patch(source, into + have, (size_t)got);
        }
        source->next += got;
        have += (size_t)got;
    }
    return (long)have;
}

enum status source_peek(
    struct source *source, const unsigned char **head, size_t *count, struct error *err)
{
    unsigned char first;
    source->next = 0;
    long got = source_read(source, &first, 1);
    if (got > 0 && source->length < 0) {
        got = keep(source, READER_HEAD_SIZE);
        got = got < 0 ? -1 : 1;
    }
    source->next = 0;
    if (got < 0) {
        return source_fail(source, err);
    }
    *head = source->kept;
    *count = source->kept_count < READER_HEAD_SIZE ? source->kept_count : READER_HEAD_SIZE;
    return STATUS_OK;
}

void source_settle(struct source *source)
{
    source->is_opening = false;
}

void source_set_patch(
    struct source *source, int64_t offset, const unsigned char *bytes, size_t count)
{
    memcpy(source->patch, bytes, count);
    source->patch_at = offset;
    source->patch_count = count;
}

enum status source_begin_digest(struct source *source, struct error *err)
{
    if (source->length >= 0 && source->job == NULL) {
        source->job = digest_job_create(source->path);
        if (source->job == NULL) {
            return fail_memory(err);
        }
    }
    return STATUS_OK;
}

enum status source_finish_digest(
    struct source *source, char text[DIGEST_TEXT_SIZE], struct error *err)
{
    if (source->length < 0) {
        if (skip(source, INT64_MAX) < 0) {
            return source_fail(source, err);
        }
        digest_get(source->digest, text);
        return STATUS_OK;
    }
    enum status status = source_begin_digest(source, err);
    if (status == STATUS_OK) {
        struct digest_job *job = source->job;
        source->job = NULL;
        status = digest_job_finish(job, text, err);
    }
    return status;
}
