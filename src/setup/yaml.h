// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_SETUP_YAML_H
#define LODECARD_SETUP_YAML_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* A YAML document as a tree; the only part that knows libyaml. What the files of ours never need
 * is refused before the tree is built: more than one document, anchors, aliases and tags, control
 * characters, more than 16 levels (libyaml takes minutes for 100 kB of brackets otherwise). */

#define YAML_SIZE_LIMIT (1 << 20) /* bytes of a file */

struct yaml;

enum yaml_kind { YAML_TEXT, YAML_LIST, YAML_MAP };

/* Where a node begins, counted from 1, columns in characters. */
struct yaml_place {
    size_t line;
    size_t column;
};

/* Where a node stands: from its first character to behind its last one, counted from 0 in
 * characters (a byte order mark is none). A group written by indentation has no end of its own. */
struct yaml_span {
    size_t begin;
    size_t end;
};

/* Nodes are numbers; 0 is no node. */
typedef int yaml_node;

/* Builds the tree. `name` is the file's name for messages: "name:line:column: what is wrong". */
enum status yaml_create(const char *name, const char *bytes, size_t length, struct yaml **yaml,
    struct error *err) MUST_CHECK;
void yaml_destroy(struct yaml *yaml); /* NULL is allowed */

yaml_node yaml_get_root(const struct yaml *yaml);
enum yaml_kind yaml_get_kind(const struct yaml *yaml, yaml_node node);
struct yaml_place yaml_get_place(const struct yaml *yaml, yaml_node node);

struct yaml_span yaml_get_span(const struct yaml *yaml, yaml_node node);

/* Whether a list or map is written in brackets. */
bool yaml_is_flow(const struct yaml *yaml, yaml_node node);

/* The words of a text node; "" for other kinds. */
const char *yaml_get_text(const struct yaml *yaml, yaml_node node);

/* Whether a node says that there is no value: nothing, "~" or "null" without quotes. */
bool yaml_is_empty(const struct yaml *yaml, yaml_node node);

/* Members of a list or pairs of a map; 0 for a text. */
size_t yaml_get_count(const struct yaml *yaml, yaml_node node);
yaml_node yaml_get_member(const struct yaml *yaml, yaml_node list, size_t index);
void yaml_get_pair(
    const struct yaml *yaml, yaml_node map, size_t index, yaml_node *key, yaml_node *value);

#endif
