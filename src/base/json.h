// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_BASE_JSON_H
#define LODECARD_BASE_JSON_H

#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"

/* Writes JSON (RFC 8259) into a text. Keys come out in the order of the calls; numbers read back to
 * the same double; what is not finite becomes null. In arrays and at the top `key` is NULL.
 * `indent` 0 writes everything on one line (for JSON lines), otherwise that many blanks a level;
 * arrays of numbers always stand on one line. Invalid UTF-8 is replaced by U+FFFD. */
struct json {
    struct text *out; /* borrowed */
    int indent;
    int depth;
    bool has_member;
    bool is_flat; /* inside an array of numbers */
};

void json_init(struct json *json, struct text *out, int indent);
void json_begin_object(struct json *json, const char *key);
void json_end_object(struct json *json);
void json_begin_array(struct json *json, const char *key);
void json_end_array(struct json *json);
void json_add_text(struct json *json, const char *key, const char *value); /* NULL: null */
void json_add_number(struct json *json, const char *key, double value);
void json_add_integer(struct json *json, const char *key, long long value);
void json_add_bool(struct json *json, const char *key, bool value);
void json_add_numbers(struct json *json, const char *key, const double *values, size_t count);
void json_finish(struct json *json); /* the final new line */

#endif
