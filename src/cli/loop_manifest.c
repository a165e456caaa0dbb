// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/loop_manifest.h"

#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <search.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/json.h"
#include "base/lines.h"
#include "base/memory.h"
#include "base/version.h"

#define LINE_MOST ((size_t)1 << 30) /* bytes; a result with a million points has 40e6 */
#define HEX ((size_t)(DIGEST_TEXT_SIZE - 1))

static const char head[] = "{\"schema\": \"lodecard-manifest/1\"}\n";
static const char check_begin[] = "{\"check\": \"", check_end[] = "\", ";
static const char key_begin[] = "\"key\": \"", key_end[] = "\", \"status\": ";
static const char result_begin[] = ", \"result\": "; /* no text within a record holds such quotes */
static const char file_begin[] = "\"capture\": {\"file\": \"";
#define LENGTH(text) (sizeof(text) - 1)
#define CHECKED_AT                                                                                 \
    (LENGTH(check_begin) + HEX + LENGTH(check_end)) /* where what is checked begins */
#define STATUS_AT (CHECKED_AT + LENGTH(key_begin) + HEX + LENGTH(key_end))

/* Where a result stands. */
struct record {
    char key[DIGEST_TEXT_SIZE];
    int file;         /* descriptor */
    long long offset; /* of the line */
    size_t length;    /* without its new line */
    int status;
};

struct loop_manifest {
    char *path; /* of the file written to, or NULL */
    int *files; /* descriptors; the first is the one written to, or -1 */
    size_t file_count;
    long long end; /* of the file written to */
    void *records; /* a tree of tsearch(3) */
    bool has_records;
    size_t torn;
    pthread_mutex_t lock;
};

static int compare(const void *a, const void *b)
{
    return strcmp(((const struct record *)a)->key, ((const struct record *)b)->key);
}

static struct record *find_record(const struct loop_manifest *manifest, const char *key)
{
    struct record wanted;
    snprintf(wanted.key, sizeof wanted.key, "%s", key);
    struct record *const *found = tfind(&wanted, &manifest->records, compare);
    return found ? *found : NULL;
}

/* The last one of a key counts. */
static enum status keep_record(
    struct loop_manifest *manifest, const struct record *record, struct error *err)
{
    struct record *known = find_record(manifest, record->key);
    if (!known) {
        known = memory_create(1, sizeof *known);
        if (!known)
            return fail_memory(err);
        *known = *record;
        if (!tsearch(known, &manifest->records, compare)) {
            memory_destroy(known);
            return fail_memory(err);
        }
    }
    *known = *record;
    manifest->has_records = true;
    return STATUS_OK;
}

/* --- reading ---------------------------------------------------------------------------------- */

/* Whether a line is a whole record: begins as one, and is the one that was written. */
static bool read_record(const struct line *line, struct record *record)
{
    char sum[DIGEST_TEXT_SIZE];
    const char *at = line->bytes;
    if (line->length <= STATUS_AT || memcmp(at, check_begin, LENGTH(check_begin)) ||
        memcmp(at + CHECKED_AT, key_begin, LENGTH(key_begin)))
        return false;
    digest_bytes(at + CHECKED_AT, line->length - CHECKED_AT, sum);
    if (memcmp(sum, at + LENGTH(check_begin), HEX))
        return false;
    memcpy(record->key, at + CHECKED_AT + LENGTH(key_begin), HEX);
    record->key[HEX] = '\0';
    record->status = (int)strtol(at + STATUS_AT, NULL, 10);
    record->offset = line->offset;
    record->length = line->length;
    return true;
}

static bool is_head(const struct line *line)
{
    return line->length == LENGTH(head) - 1 && !memcmp(line->bytes, head, LENGTH(head) - 1);
}

/* A head that was torn: the first letters of one, without a new line. */
static bool is_torn_head(const struct line *line)
{
    return !line->has_end && line->length < LENGTH(head) &&
           !memcmp(line->bytes, head, line->length);
}

static enum status fail_schema(const char *path, struct error *err)
{
    return fail(err, STATUS_INPUT, "name the manifest that an earlier run wrote, or a new file",
        "'%s' is no manifest: it does not begin with %.*s", path, (int)LENGTH(head) - 1, head);
}

/* Reads the lines of a manifest; `*sound` is where its last whole line ends. */
static enum status read_lines(struct loop_manifest *manifest, const char *path, int file,
    struct lines *lines, long long *sound, struct error *err)
{
    struct line line;
    bool is_found;
    *sound = 0;
    for (;;) {
        enum status status = lines_read(lines, &line, &is_found, err);
        if (status || !is_found)
            return status;
        const bool is_first = line.number == 1;
        if (is_first && !is_head(&line) && !is_torn_head(&line))
            return fail_schema(path, err);
        struct record record = {.file = file};
        const bool is_record = line.has_end && read_record(&line, &record);
        if (is_record)
            status = keep_record(manifest, &record, err);
        if (status)
            return status;
        if (line.has_end && (is_record || is_head(&line)))
            *sound = line.offset + (long long)line.length + 1;
        else
            manifest->torn++;
    }
}

static enum status read_file(
    struct loop_manifest *manifest, const char *path, int file, long long *sound, struct error *err)
{
    struct lines *lines = NULL;
    enum status status = lines_open(path, LINE_MOST, false, &lines, err);
    if (!status)
        status = read_lines(manifest, path, file, lines, sound, err);
    lines_close(lines);
    return status;
}

static enum status fail_io(const char *what, const char *path, struct error *err)
{
    return fail(err, STATUS_IO, "check the path, the permissions and the disk",
        "cannot %s '%s': %s", what, path, strerror(errno));
}

/* --- writing ---------------------------------------------------------------------------------- */

static enum status append(
    struct loop_manifest *manifest, const char *bytes, size_t length, struct error *err)
{
    const int file = manifest->files[0];
    const long long begin = manifest->end;
    while (length > 0) {
        const ssize_t written = pwrite(file, bytes, length, manifest->end);
        if (written < 0 && errno == EINTR)
            continue;
        if (written < 0) {
            const enum status status = fail_io("write", manifest->path, err);
            manifest->end = begin;
            if (ftruncate(file, begin) != 0)
                manifest->torn++; /* it will be known as such, or written over */
            return status;
        }
        bytes += written;
        length -= (size_t)written;
        manifest->end += written;
    }
    return STATUS_OK;
}

/* Takes the file for this process, cuts off a torn end, writes the head of a new one. */
static enum status open_own(struct loop_manifest *manifest, struct error *err)
{
    struct stat about;
    const char *path = manifest->path;
    const int file = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0666);
    manifest->files[0] = file;
    if (file < 0)
        return fail_io("write", path, err);
    if (fstat(file, &about) || !S_ISREG(about.st_mode))
        return fail(err, STATUS_IO, "name a file", "cannot keep a manifest in '%s'", path);
    if (flock(file, LOCK_EX | LOCK_NB))
        return fail(err, STATUS_IO,
            "give each worker a manifest of its own; --done reads those of the others",
            "the manifest '%s' is in use by another run", path);
    enum status status = read_file(manifest, path, file, &manifest->end, err);
    if (status)
        return status;
    if (ftruncate(file, manifest->end))
        return fail_io("write", path, err);
    return manifest->end == 0 ? append(manifest, head, LENGTH(head), err) : STATUS_OK;
}

enum status loop_manifest_open(const char *path, const char *const *others, size_t count,
    struct loop_manifest **manifest, struct error *err)
{
    struct loop_manifest *made = memory_create(1, sizeof *made);
    if (!made)
        return fail_memory(err);
    pthread_mutex_init(&made->lock, NULL);
    made->path = memory_copy_text(path);
    made->files = memory_create(count + 1, sizeof *made->files);
    enum status status = made->files && (made->path || !path) ? STATUS_OK : fail_memory(err);
    if (!status) {
        made->files[0] = -1;
        made->file_count = 1;
    }
    for (size_t i = 0; !status && i < count; i++) {
        long long sound;
        const int file = open(others[i], O_RDONLY | O_CLOEXEC);
        made->files[made->file_count++] = file;
        status = file < 0 ? fail_io("read", others[i], err)
                          : read_file(made, others[i], file, &sound, err);
    }
    if (!status && path)
        status = open_own(made, err);
    if (status)
        loop_manifest_close(made);
    else
        *manifest = made;
    return status;
}

static void destroy_record(void *record)
{
    memory_destroy(record);
}

void loop_manifest_close(struct loop_manifest *manifest)
{
    if (!manifest)
        return;
    tdestroy(manifest->records, destroy_record);
    for (size_t i = 0; manifest->files && i < manifest->file_count; i++)
        if (manifest->files[i] >= 0)
            close(manifest->files[i]);
    memory_destroy(manifest->files);
    memory_destroy(manifest->path);
    pthread_mutex_destroy(&manifest->lock);
    memory_destroy(manifest);
}

bool loop_manifest_is_empty(const struct loop_manifest *manifest)
{
    return !manifest->has_records;
}

size_t loop_manifest_get_torn(const struct loop_manifest *manifest)
{
    return manifest->torn;
}

/* --- results ---------------------------------------------------------------------------------- */

static void add_origin(struct text *out, const struct loop_origin *origin)
{
    text_add_format(out,
        "{\"capture_sha256\": \"%s\", \"rig_sha256\": \"%s\", \"specimen_sha256\": \"%s\", "
        "\"options\": %s, \"version\": \"%s\"}",
        origin->sha256, origin->rig_sha256, origin->specimen_sha256, origin->options,
        LODECARD_VERSION);
}

static enum status set_key(
    const struct loop_origin *origin, char key[DIGEST_TEXT_SIZE], struct error *err)
{
    struct text of = {0};
    add_origin(&of, origin);
    if (!of.failed)
        digest_bytes(of.bytes, of.length, key);
    const bool is_set = !of.failed;
    text_clear(&of);
    return is_set ? STATUS_OK : fail_memory(err);
}

/* A text as JSON. */
static void add_quoted(struct text *out, const char *words)
{
    struct json json;
    json_init(&json, out, 0);
    json_add_text(&json, NULL, words);
}

static enum status read_bytes(
    const struct record *record, const char *path, struct text *line, struct error *err)
{
    char *bytes = memory_create(record->length + 1, 1);
    size_t done = 0;
    ssize_t got = 1;
    if (!bytes)
        return fail_memory(err);
    while (done < record->length && got > 0) {
        got = pread(
            record->file, bytes + done, record->length - done, record->offset + (long long)done);
        if (got < 0 && errno == EINTR)
            got = 1;
        else if (got > 0)
            done += (size_t)got;
    }
    enum status status = STATUS_OK;
    if (got < 0)
        status = fail_io("read", path, err);
    else if (done < record->length)
        status =
            fail(err, STATUS_IO, "start the run again", "a manifest was cut while it was read");
    else
        text_add_bytes(line, bytes, record->length);
    memory_destroy(bytes);
    return status ? status : line->failed ? fail_memory(err) : STATUS_OK;
}

/* The result that stands in a record's line, its capture called as it is now. */
static enum status add_result(
    struct text *out, const char *line, const struct loop_origin *origin, struct error *err)
{
    const char *result = strstr(line, result_begin);
    const char *name = result ? strstr(result, file_begin) : NULL;
    const char *end = name ? name + LENGTH(file_begin) : NULL;
    while (end && *end && *end != '"')
        end += end[0] == '\\' && end[1] ? 2 : 1;
    const size_t rest = end && *end ? strlen(end + 1) : 0;
    if (rest < 2 || end[rest] != '}') /* a brace of the result, and the record's own */
        return fail(err, STATUS_INPUT, "start with a new manifest",
            "a manifest holds no result for '%s'", origin->capture);
    result += LENGTH(result_begin);
    name += LENGTH(file_begin) - 1; /* the quote */
    text_add_bytes(out, result, (size_t)(name - result));
    add_quoted(out, text_base_name(origin->capture));
    text_add_bytes(out, end + 1, rest - 1); /* without the record's own brace */
    return out->failed ? fail_memory(err) : STATUS_OK;
}

enum status loop_manifest_find(struct loop_manifest *manifest, const struct loop_origin *origin,
    struct text *result, bool *is_found, struct error *err)
{
    char key[DIGEST_TEXT_SIZE];
    struct text line = {0};
    enum status status = set_key(origin, key, err);
    if (status)
        return status;
    pthread_mutex_lock(&manifest->lock);
    const struct record *found = find_record(manifest, key);
    const struct record record = found ? *found : (struct record){0};
    pthread_mutex_unlock(&manifest->lock);
    if (found)
        status = read_bytes(&record, origin->capture, &line, err);
    if (found && !status)
        status = add_result(result, line.bytes, origin, err);
    text_clear(&line);
    if (!status)
        *is_found = found != NULL;
    return status;
}

/* The line of a record, with its new line. */
static void add_line(struct text *line, const char *key, const struct loop_origin *origin,
    enum status outcome, const struct text *result)
{
    char sum[DIGEST_TEXT_SIZE];
    struct text checked = {0};
    text_add_format(&checked, "%s%s%s%d, \"capture\": ", key_begin, key, key_end, (int)outcome);
    add_quoted(&checked, origin->capture);
    text_add(&checked, ", \"of\": ");
    add_origin(&checked, origin);
    text_add(&checked, result_begin);
    text_add_bytes(&checked, result->bytes, result->length);
    text_add(&checked, "}");
    if (checked.failed)
        line->failed = true;
    else
        digest_bytes(checked.bytes, checked.length, sum);
    if (!checked.failed)
        text_add_format(line, "%s%s%s%s\n", check_begin, sum, check_end, checked.bytes);
    text_clear(&checked);
}

enum status loop_manifest_add(struct loop_manifest *manifest, const struct loop_origin *origin,
    enum status outcome, const struct text *result, struct error *err)
{
    struct record record = {.file = manifest->files[0], .status = (int)outcome};
    struct text line = {0};
    if (!manifest->path)
        return STATUS_OK;
    enum status status = set_key(origin, record.key, err);
    if (status)
        return status;
    add_line(&line, record.key, origin, outcome, result);
    if (line.failed)
        status = fail_memory(err);
    pthread_mutex_lock(&manifest->lock);
    const struct record *known = find_record(manifest, record.key);
    const bool is_news = !known || known->status != record.status;
    record.offset = manifest->end;
    record.length = line.length - (line.length > 0);
    if (!status && is_news)
        status = append(manifest, line.bytes, line.length, err);
    if (!status && is_news)
        status = keep_record(manifest, &record, err);
    pthread_mutex_unlock(&manifest->lock);
    if (!status && is_news && fdatasync(record.file) && errno != EINVAL && errno != EROFS)
        status = fail_io("write", manifest->path, err);
    text_clear(&line);
    return status;
}
