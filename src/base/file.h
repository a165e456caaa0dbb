// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_BASE_FILE_H
#define LODECARD_BASE_FILE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* Reads a whole file of at most `limit` bytes into `*bytes` (a zero byte is added behind; free with
 * memory_destroy). "-" is standard input. A folder and what cannot be opened or
 * read are STATUS_IO, a file over the limit is STATUS_INPUT; messages name the path. */
enum status file_read(
    const char *path, size_t limit, char **bytes, size_t *length, struct error *err) MUST_CHECK;

/* Writes the bytes apart from `path` and puts them there at the end: the file appears whole or not
 * at all. */
enum status file_write(
    const char *path, const void *bytes, size_t length, struct error *err) MUST_CHECK;

/* A file that is being written. Where the system allows, it has no name until it is whole, so that
 * nothing is left of it however the program ends; else it stands beside `path`, as
 * `path.PROCESS-N.part`. What is there and is no regular file (a pipe, /dev/null) is written to
 * directly. create begins it; what is written to `file` (also by others, such as libsndfile) or
 * with add is put at `path` by commit, after fsync; abandon drops it. A zeroed struct is none. */
#define FILE_COMPANIONS 3
struct file_draft {
    char *path;      /* where it will be */
    char *shown;     /* the same as messages call it: as it was given */
    char *temporary; /* its name until then; NULL: it has none */
    int file;        /* open for reading and writing; the draft closes it */
    bool is_direct;
    char *companions[FILE_COMPANIONS]; /* names of what is made beside it, or NULL */
};
enum status file_draft_create(
    struct file_draft *draft, const char *path, struct error *err) MUST_CHECK;
/* The same for writers that want a path of their own (SQLite): it has one, in `temporary`. What
 * they may make beside it, the same name with one of the `endings` (at most FILE_COMPANIONS, then
 * NULL; or NULL), goes with it when a signal ends the program. */
enum status file_draft_create_named(struct file_draft *draft, const char *path,
    const char *const *endings, struct error *err) MUST_CHECK;
enum status file_draft_add(
    struct file_draft *draft, const void *bytes, size_t length, struct error *err) MUST_CHECK;
enum status file_draft_commit(struct file_draft *draft, struct error *err) MUST_CHECK;
void file_draft_abandon(struct file_draft *draft); /* safe after commit, and on a zeroed struct */

/* Removes the named files of all drafts. May be called by the handler of a signal that ends the
 * program, once. false: a thread is just making one, and will remove them and raise the signal. */
bool file_draft_remove_all(int sign);

/* Writes all bytes, what the system takes at once and what not; false when that failed (errno is
 * set). */
bool file_put(int file, const void *bytes, size_t length) MUST_CHECK;

enum status file_create_folder(const char *path, struct error *err) MUST_CHECK; /* with parents */
bool file_exists(const char *path);
/* `name` in the folder of `beside`; free with memory_destroy; NULL when out of memory. */
char *file_path_beside(const char *beside, const char *name);

/* SHA-256 (FIPS 180-4). */
#define DIGEST_TEXT_SIZE 65
struct digest;
struct digest *digest_create(void);
void digest_add(struct digest *digest, const void *bytes, size_t count);
void digest_get(struct digest *digest, char text[DIGEST_TEXT_SIZE]); /* lower-case hexadecimal */
void digest_destroy(struct digest *digest);

/* The digest of bytes in memory, and of a whole file. */
void digest_bytes(const void *bytes, size_t count, char text[DIGEST_TEXT_SIZE]);
enum status digest_file(
    const char *path, char text[DIGEST_TEXT_SIZE], struct error *err) MUST_CHECK;

/* The digest of a file, computed by a thread of its own while the caller works.
 * digest_job_finish waits for it and frees the job. */
struct digest_job;
struct digest_job *digest_job_create(const char *path);
enum status digest_job_finish(
    struct digest_job *job, char text[DIGEST_TEXT_SIZE], struct error *err) MUST_CHECK;

#endif
