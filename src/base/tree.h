// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_BASE_TREE_H
#define LODECARD_BASE_TREE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/json.h"
#include "base/text.h"

/* JSON (RFC 8259) that was read: a tree of values (jansson underneath; no other file includes it).
 * Limits: depth 64, duplicate keys refused, numbers must be finite. All getters take NULL and
 * values of another kind and then give the empty answer (NULL, 0, false), so that a reader asks
 * through and checks once. */
struct tree;       /* the document: owns everything below it */
struct tree_value; /* borrowed from its document */

/* STATUS_INPUT names `name`, line and column. `name` is how messages call the source. */
enum status tree_read_bytes(const char *name, const char *bytes, size_t length, struct tree **tree,
    struct error *err) MUST_CHECK;
enum status tree_read(
    const char *path, size_t limit, struct tree **tree, struct error *err) MUST_CHECK;
void tree_destroy(struct tree *tree); /* NULL is allowed */
const struct tree_value *tree_get_root(const struct tree *tree);
const char *tree_get_name(const struct tree *tree);

enum tree_kind { TREE_NONE, TREE_NULL, TREE_BOOL, TREE_NUMBER, TREE_TEXT, TREE_ARRAY, TREE_OBJECT };
enum tree_kind tree_get_kind(const struct tree_value *value);
const char *tree_kind_get_name(enum tree_kind kind); /* for messages: "a number" */
const struct tree_value *tree_get(
    const struct tree_value *object, const char *key); /* member, or NULL */
size_t tree_get_count(const struct tree_value *value); /* of an array or object */
const struct tree_value *tree_get_at(
    const struct tree_value *value, size_t index); /* element, or member in file order */
const char *tree_get_key_at(const struct tree_value *object, size_t index);
const char *tree_get_text(const struct tree_value *value); /* NULL: not a text */
bool tree_get_number(
    const struct tree_value *value, double *number); /* false: not a number; untouched */
bool tree_get_bool(const struct tree_value *value, bool *is_true);

/* The path of keys from the root, such as "loops[2].figures"; nothing for the root. */
void tree_write_path(const struct tree_value *value, struct text *out);

/* Checked reading for files: STATUS_INPUT names file, the path of keys ("figures.remanence_T"),
 * what was expected. */
enum status tree_need_number(const struct tree *tree, const struct tree_value *object,
    const char *key, double *number, struct error *err) MUST_CHECK;
enum status tree_need_text(const struct tree *tree, const struct tree_value *object,
    const char *key, const char **words, struct error *err) MUST_CHECK;
/* An array of numbers; free with memory_destroy. */
enum status tree_need_numbers(const struct tree *tree, const struct tree_value *object,
    const char *key, double **list, size_t *count, struct error *err) MUST_CHECK;
/* The "schema" member must be `schema`, such as "lodecard-loop/1". */
enum status tree_need_schema(
    const struct tree *tree, const char *schema, struct error *err) MUST_CHECK;

/* Writes a value into a JSON that is being written (copying what was read, order kept). */
void tree_write_json(struct json *json, const char *key, const struct tree_value *value);

#endif
