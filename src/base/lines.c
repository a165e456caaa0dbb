// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/lines.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/memory.h"

#define BLOCK_SIZE ((size_t)1 << 16)

struct lines {
    char *path; /* as messages name it */
    int file;
    size_t limit;
    bool is_text;
    char *bytes; /* what was read and not yet handed on, and room for a zero byte */
    size_t capacity;
    size_t begin, end;
    size_t number;
    long long offset; /* of bytes[begin] */
    bool is_at_end;
};

static enum status fail_read(const char *path, struct error *err)
{
    return fail(err, STATUS_IO, "check the path and the permissions", "cannot read '%s': %s", path,
        strerror(errno));
}

enum status lines_open(
    const char *path, size_t limit, bool is_text, struct lines **lines, struct error *err)
{
    struct stat about;
    const bool is_stdin = strcmp(path, "-") == 0;
    const int file = is_stdin ? STDIN_FILENO : open(path, O_RDONLY | O_CLOEXEC);
    if (file < 0)
        return fail_read(path, err);
    enum status status = STATUS_OK;
    if (fstat(file, &about) == 0 && S_ISDIR(about.st_mode))
        status =
            fail(err, STATUS_IO, "name a file in it", "cannot read '%s': it is a folder", path);
    struct lines *made = status ? NULL : memory_create(1, sizeof *made);
    if (made) {
        *made = (struct lines){.path = memory_copy_text(is_stdin ? "standard input" : path),
            .file = file,
            .limit = limit,
            .is_text = is_text};
        if (made->path) {
            *lines = made;
            return STATUS_OK;
        }
        memory_destroy(made);
    }
    if (!is_stdin)
        close(file);
    return status ? status : fail_memory(err);
}

static enum status read_block(struct lines *lines, struct error *err)
{
    if (lines->begin > 0) { /* what is left goes to the front */
        memmove(lines->bytes, lines->bytes + lines->begin, lines->end - lines->begin);
        lines->end -= lines->begin;
        lines->begin = 0;
    }
    char *bytes = memory_reserve(lines->bytes, &lines->capacity, lines->end + BLOCK_SIZE + 1, 1);
    if (!bytes)
        return fail_memory(err);
    lines->bytes = bytes;
    ssize_t got;
    do
        got = read(lines->file, lines->bytes + lines->end, BLOCK_SIZE);
    while (got < 0 && errno == EINTR);
    if (got < 0)
        return fail_read(lines->path, err);
    lines->is_at_end = got == 0;
    lines->end += (size_t)got;
    return STATUS_OK;
}

static enum status check_line(const struct lines *lines, const struct line *line, struct error *err)
{
    if (line->length > lines->limit)
        return fail(err, STATUS_INPUT, "is this the file you meant?",
            "line %zu of '%s' has more than %zu bytes", line->number, lines->path, lines->limit);
    if (lines->is_text && memchr(line->bytes, '\0', line->length))
        return fail(err, STATUS_INPUT, "is this the file you meant?",
            "line %zu of '%s' holds a zero byte", line->number, lines->path);
    return STATUS_OK;
}

enum status lines_read(struct lines *lines, struct line *line, bool *is_found, struct error *err)
{
    size_t searched = 0; /* bytes of the line that hold no new line */
    char *end = NULL;
    for (;;) {
        const size_t length = lines->end - lines->begin;
        if (length > searched)
            end = memchr(lines->bytes + lines->begin + searched, '\n', length - searched);
        searched = length;
        if (end || lines->is_at_end || length > lines->limit)
            break;
        const enum status status = read_block(lines, err);
        if (status)
            return status;
    }
    if (!end && searched == 0) {
        *is_found = false;
        return STATUS_OK;
    }
    struct line found = {.bytes = lines->bytes + lines->begin,
        .length = end ? (size_t)(end - lines->bytes) - lines->begin : searched,
        .number = lines->number + 1,
        .offset = lines->offset,
        .has_end = end != NULL};
    const enum status status = check_line(lines, &found, err);
    if (status)
        return status;
    const size_t taken = found.length + (end != NULL);
    lines->number++;
    lines->begin += taken;
    lines->offset += (long long)taken;
    if (end)
        *end = '\0';
    else
        lines->bytes[lines->end] = '\0';
    *line = found;
    *is_found = true;
    return STATUS_OK;
}

void lines_close(struct lines *lines)
{
    if (!lines)
        return;
    if (lines->file != STDIN_FILENO)
        close(lines->file);
    memory_destroy(lines->bytes);
    memory_destroy(lines->path);
    memory_destroy(lines);
}
