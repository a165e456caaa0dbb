// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_LOOP_MANIFEST_H
#define LODECARD_CLI_LOOP_MANIFEST_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/file.h"
#include "base/text.h"

/* What was done of a survey, so that a run that was stopped at any moment goes on where it was.
 * A file of lines: the head {"schema": "lodecard-manifest/1"}, then a line for each result:
 *     {"check": "…", "key": "…", "status": 0, "capture": "…", "of": {…}, "result": {…}}
 * `check` is the SHA-256 of the bytes behind it up to the end of the line, so that a line that was
 * torn by a crash is known as such, wherever it stands. `of` tells what the result was made from:
 * the SHA-256 of the capture, of rig and specimen, the options and the program's version; `key` is
 * the SHA-256 of `of`. `result` is the "lodecard-loop/1" object, with a status other than 0 the one
 * that has "error". Lines of several manifests may stand in one file (cat), heads included.
 * A manifest is written by one process at a time; the others are refused. */
struct loop_manifest;

/* The file that is written to (NULL: none), which is made if need be and whose torn end is cut off,
 * and `count` others that are only read. */
enum status loop_manifest_open(const char *path, const char *const *others, size_t count,
    struct loop_manifest **manifest, struct error *err) MUST_CHECK;
void loop_manifest_close(struct loop_manifest *manifest); /* NULL is allowed */

bool loop_manifest_is_empty(const struct loop_manifest *manifest);
size_t loop_manifest_get_torn(const struct loop_manifest *manifest); /* lines that did not count */

/* What a result is made from. */
struct loop_origin {
    const char *capture; /* its path */
    char sha256[DIGEST_TEXT_SIZE], rig_sha256[DIGEST_TEXT_SIZE], specimen_sha256[DIGEST_TEXT_SIZE];
    const char *options; /* JSON object on one line */
};

/* The result of that origin, as it was added last; `*is_found` is false when there is none. The
 * file of its capture is told as the origin's, whatever it was called then. */
enum status loop_manifest_find(struct loop_manifest *manifest, const struct loop_origin *origin,
    struct text *result, bool *is_found, struct error *err) MUST_CHECK;

/* Adds a result (without new line) and sees it onto the disk. One that is there already is not
 * added again, unless its status was another. Nothing happens without a file to write to. */
enum status loop_manifest_add(struct loop_manifest *manifest, const struct loop_origin *origin,
    enum status outcome, const struct text *result, struct error *err) MUST_CHECK;

/* Finding and adding may be done by several threads at once. */

#endif
