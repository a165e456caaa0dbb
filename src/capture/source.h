// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CAPTURE_SOURCE_H
#define LODECARD_CAPTURE_SOURCE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/error.h"
#include "base/file.h"
#include "capture/reader.h" /* struct source, source_read */

/* The bytes of a capture. A regular file can be read anywhere. Everything else (standard input, a
 * pipe, a device) comes forward only; what comes while the capture is being opened is kept, so that
 * a reader may look ahead and begin again:
 *
 *     source_create -> source_peek -> [a reader looks around] -> source_settle -> source_read ...
 *
 * On a stream that is being opened a read beyond SOURCE_JUMP_LIMIT that does not continue what was
 * read already gives 0 bytes: parsers that look for what stands behind the samples find the end
 * there, instead of swallowing the samples. */
#define SOURCE_JUMP_LIMIT (1L << 20)
#define SOURCE_KEEP_LIMIT (1L << 24) /* no more than this is kept of a stream */

enum status source_create(const char *path, struct source **source, struct error *err) MUST_CHECK;
void source_destroy(struct source *source); /* NULL is allowed */

const char *source_get_path(const struct source *source); /* as given, for messages */
bool source_is_file(const struct source *source);
int64_t source_get_length(const struct source *source); /* bytes; -1: a stream */

/* The first bytes (at most READER_HEAD_SIZE); the position stays at 0. */
enum status source_peek(
    struct source *source, const unsigned char **head, size_t *count, struct error *err) MUST_CHECK;

/* The opening is over: a stream keeps no more. The position stays. */
void source_settle(struct source *source);

/* Where the next read begins. On a stream, a position ahead is reached by reading up to it, and one
 * behind only while its bytes are kept: the read fails with ESPIPE otherwise. */
int64_t source_get_position(const struct source *source);
void source_set_position(struct source *source, int64_t position);

/* The errno of the first read that failed; 0: none did. Third-party parsers take a failed read for
 * the end. */
int source_get_failure(const struct source *source);
/* STATUS_IO with the words for that errno. */
enum status source_fail(const struct source *source, struct error *err);

/* Reads will see these bytes (at most SOURCE_PATCH_SIZE) at `offset` instead: how a header that
 * was never completed is mended. The digest is of the bytes as they are. One patch a source. */
#define SOURCE_PATCH_SIZE 8
void source_set_patch(
    struct source *source, int64_t offset, const unsigned char *bytes, size_t count);

/* The SHA-256 of all bytes: of a file by a thread of its own from source_begin_digest on, of a
 * stream as the bytes come; finish waits for the one and drains the other. */
enum status source_begin_digest(struct source *source, struct error *err) MUST_CHECK;
enum status source_finish_digest(
    struct source *source, char text[DIGEST_TEXT_SIZE], struct error *err) MUST_CHECK;

#endif
