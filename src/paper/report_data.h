// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_REPORT_DATA_H
#define LODECARD_PAPER_REPORT_DATA_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/file.h"
#include "base/json.h"
#include "base/text.h"
#include "quantity/figure.h"

/* The numbers behind a report, which document_set_data keeps in its file, on one line:
 *
 *     {"schema": "lodecard-report/1", "kind": "lot", "sha256": "...", "content": {...}}
 *
 * sha256 is that of the bytes of content's value as they stand there. No "<" is among them (it is
 * written "\u003c"), so that PDF and HTML hold the same bytes. */

/* One loop that the report rests on. Texts are borrowed; "" where not told. */
struct report_input {
    const char *capture_sha256;
    const char *name; /* of its file, without folder */
    const char *specimen, *heat, *supplier;
    const char *rig, *rig_calibrated; /* name; day such as 2026-11-25 */
    const struct figures *figures;
};

/* Begin; write the members of content into json, such as "verdict": {...}; finish. */
struct report_data {
    struct text content;
    struct json json;
};
void report_data_begin(struct report_data *data);

/* Adds "inputs" to the content and writes the whole into `out`; clears the data. */
enum status report_data_finish(struct report_data *data, const char *kind,
    const struct report_input *inputs, size_t count, struct text *out,
    struct error *err) MUST_CHECK;

/* What document_find_data gave, taken apart; content points into the bytes. */
#define REPORT_KIND_SIZE 24
struct report_envelope {
    char kind[REPORT_KIND_SIZE];
    char sha256[DIGEST_TEXT_SIZE]; /* as written */
    const char *content;
    size_t length;
    bool is_unchanged; /* the content has that digest */
};

/* STATUS_INPUT: these are not the numbers of a report of this schema. */
enum status report_data_read(const char *name, const char *json, size_t length,
    struct report_envelope *envelope, struct error *err) MUST_CHECK;

#endif
