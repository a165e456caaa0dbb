// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/output.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/visible.h"

static int stdout_failure; /* errno of the first failure */

/* Standard output as a stream of our own: that of the C library takes an interruption for a failure
 * and forgets the reason of one. */
static ssize_t put_stdout(void *unused, const char *bytes, size_t count)
{
    (void)unused;
    if (memory_has_failed()) /* nothing more is told: it might not be the whole */
        return (ssize_t)count;
    if (stdout_failure == 0 && !file_put(STDOUT_FILENO, bytes, count))
        stdout_failure = errno;
    return stdout_failure ? 0 : (ssize_t)count;
}

static int close_stdout(void *unused)
{
    (void)unused;
    const int result = close(STDOUT_FILENO);
    if (result != 0 && errno != EINTR && !stdout_failure)
        stdout_failure = errno;
    return stdout_failure ? EOF : 0;
}

void output_open_stdout(void)
{
    const cookie_io_functions_t functions = {.write = put_stdout, .close = close_stdout};
    FILE *made = fopencookie(NULL, "w", functions);
    if (!made) /* then the C library's own has to do */
        return;
    if (isatty(STDOUT_FILENO))
        (void)setvbuf(made, NULL, _IOLBF, BUFSIZ);
    stdout = made;
}

bool output_is_stdout(const struct output *output)
{
    return output->path && !strcmp(output->path, "-");
}

/* The folder a path is in; free with memory_destroy; NULL when out of memory. */
static char *get_folder(const char *path)
{
    size_t length = (size_t)(text_base_name(path) - path);
    struct text folder = {0};
    text_add_bytes(&folder, path, length);
    text_add(&folder, length ? "" : ".");
    if (folder.failed)
        text_clear(&folder);
    return folder.bytes;
}

static enum status check_place(const char *path, struct error *err)
{
    static const char hint[] = "check the path and the permissions";
    struct stat about;
    bool is_there = stat(path, &about) == 0;
    if (is_there && S_ISDIR(about.st_mode))
        return fail(err, STATUS_IO, "name a file in it", "cannot write '%s': it is a folder", path);
    if (is_there && !S_ISREG(about.st_mode)) /* a pipe or device: only writing tells */
        return STATUS_OK;
    char *folder = get_folder(path);
    if (!folder)
        return fail_memory(err);
    bool is_good = access(folder, W_OK | X_OK) == 0;
    int reason = errno;
    memory_destroy(folder);
    if (!is_good)
        return fail(err, STATUS_IO, hint, "cannot write '%s': %s", path, strerror(reason));
    return STATUS_OK;
}

enum status output_check(const char *const *paths, size_t count, char *const *inputs,
    size_t input_count, struct error *err)
{
    for (size_t i = 0; i < count; i++) {
        if (!paths[i])
            continue;
        for (size_t j = 0; j < i; j++)
            if (paths[j] && !strcmp(paths[i], paths[j]))
                return fail(err, STATUS_USAGE, "give each result a place of its own",
                    "two results would go to '%s'", paths[i]);
        if (!strcmp(paths[i], "-"))
            continue;
        for (size_t j = 0; j < input_count; j++)
            if (!strcmp(paths[i], inputs[j]))
                return fail(err, STATUS_USAGE, "give the result another name",
                    "the result would replace the input '%s'", paths[i]);
        enum status status = check_place(paths[i], err);
        if (status)
            return status;
    }
    return STATUS_OK;
}

void output_add(struct output *output, const char *bytes, size_t count)
{
    if (!output->path || count == 0)
        return;
    if (!output_is_stdout(output)) {
        text_add_bytes(&output->kept, bytes, count);
        return;
    }
    errno = 0;
    bool is_done = fwrite(bytes, 1, count, stdout) == count && fflush(stdout) == 0;
    if (!is_done && !stdout_failure)
        stdout_failure = errno ? errno : EIO;
}

void output_add_page(struct output *output, const struct text *page)
{
    struct text shown = {0};
    visible_add(&shown, page->bytes, page->length, "\n\t");
    if (shown.failed && output_is_stdout(output))
        stdout_failure = stdout_failure ? stdout_failure : ENOMEM;
    output->kept.failed = output->kept.failed || shown.failed;
    output_add(output, shown.bytes, shown.length);
    text_clear(&shown);
}

static void tell(const char *bytes, size_t length, const char *kept)
{
    char piece[VISIBLE_SIZE];
    for (size_t at = 0, taken; at < length; at += taken) {
        const size_t size = visible_write(piece, bytes + at, length - at, kept, &taken);
        fwrite(piece, 1, size, stderr);
    }
}

void output_tell_page(const struct text *page)
{
    tell(page->bytes, page->length, "\n\t");
}

void output_tell_failure(const char *name, const struct error *err)
{
    const bool has_name = name && *name;
    if (!err->message[0])
        return;
    fputs("lodecard: ", stderr);
    tell(name, has_name ? strlen(name) : 0, "");
    fprintf(stderr, "%s%s\n", has_name ? ": " : "", err->message);
    if (err->hint[0])
        fprintf(stderr, "hint: %s\n", err->hint);
}

int output_get_failure(void)
{
    return stdout_failure;
}

enum status output_finish(struct output *output, struct error *err)
{
    if (!output->path || output_is_stdout(output))
        return STATUS_OK;
    if (output->kept.failed)
        return fail_memory(err);
    return file_write(output->path, output->kept.bytes, output->kept.length, err);
}

void output_clear(struct output *output)
{
    text_clear(&output->kept);
}

enum status output_write(const char *path, const struct text *bytes, struct error *err)
{
    struct output output = {.path = path};
    if (bytes->failed)
        return fail_memory(err);
    output_add(&output, bytes->bytes, bytes->length);
    enum status status = output_finish(&output, err);
    output_clear(&output);
    return status;
}

enum status output_print(const struct text *page, struct error *err)
{
    struct output output = {.path = "-"};
    if (page->failed)
        return fail_memory(err);
    output_add_page(&output, page);
    return STATUS_OK;
}
