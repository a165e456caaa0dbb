// SPDX-License-Identifier: GPL-3.0-or-later
#include <string.h>

#include "base/memory.h"
#include "base/text.h"
#include "base/tree_part.h"

static const char *const kind_names[] = {
    [TREE_NONE] = "nothing",
    [TREE_NULL] = "null",
    [TREE_BOOL] = "true or false",
    [TREE_NUMBER] = "a number",
    [TREE_TEXT] = "a text",
    [TREE_ARRAY] = "a list",
    [TREE_OBJECT] = "an object",
};

/* --- asking ------------------------------------------------------------------------------------
 */

const struct tree_value *tree_get_root(const struct tree *tree)
{
    return tree != NULL ? &tree->root : NULL;
}

const char *tree_get_name(const struct tree *tree)
{
    return tree != NULL ? tree->name : NULL;
}

const char *tree_kind_get_name(enum tree_kind kind)
{
    return kind_names[kind];
}

enum tree_kind tree_get_kind(const struct tree_value *value)
{
    return value != NULL ? value->kind : TREE_NONE;
}

const struct tree_value *tree_get(const struct tree_value *object, const char *key)
{
    if (tree_get_kind(object) == TREE_OBJECT) {
        for (size_t i = 0; i < object->count; i++) {
            if (strcmp(object->children[i].key, key) == 0) {
                return &object->children[i];
            }
        }
    }
    return NULL;
}

size_t tree_get_count(const struct tree_value *value)
{
    return value != NULL ? value->count : 0;
}

const struct tree_value *tree_get_at(const struct tree_value *value, size_t index)
{
    return index < tree_get_count(value) ? &value->children[index] : NULL;
}

const char *tree_get_key_at(const struct tree_value *object, size_t index)
{
    return tree_get_kind(object) == TREE_OBJECT && index < object->count
               ? object->children[index].key
               : NULL;
}

const char *tree_get_text(const struct tree_value *value)
{
    return value != NULL ? value->text : NULL;
}

bool tree_get_number(const struct tree_value *value, double *number)
{
    if (tree_get_kind(value) != TREE_NUMBER) {
        return false;
    }
    *number = value->number;
    return true;
}

bool tree_get_bool(const struct tree_value *value, bool *is_true)
{
    if (tree_get_kind(value) != TREE_BOOL) {
        return false;
    }
    *is_true = value->is_true;
    return true;
}

void tree_write_path(const struct tree_value *value, struct text *out)
{
    if (value == NULL || value->parent == NULL) {
        return;
    }
    tree_write_path(value->parent, out);
    if (value->key == NULL) {
        text_add_format(out, "[%zu]", (size_t)(value - value->parent->children));
    } else {
        text_add(out, out->length > 0 ? "." : "");
        text_add(out, value->key);
    }
}

/* --- checked reading ---------------------------------------------------------------------------
 */

/* The path of `key` in `object`, which may not be there. */
static void write_member_path(const struct tree_value *object, const char *key, struct text *out)
{
    tree_write_path(object, out);
    text_add(out, out->length > 0 ? "." : "");
    text_add(out, key);
}

static enum status fail_kind(const struct tree *tree, const struct tree_value *object,
    const char *key, const char *wanted, struct error *err)
{
    struct text path = {0};
    write_member_path(object, key, &path);
    enum tree_kind kind = tree_get_kind(tree_get(object, key));
    enum status status;
    if (path.failed) {
        status = fail_memory(err);
    } else if (kind == TREE_NONE) {
        status = fail(err, STATUS_INPUT, "is this the right file, and is it whole?",
            "'%s': '%s' is missing; %s is needed", tree->name, path.bytes, wanted);
    } else {
        status = fail(err, STATUS_INPUT, "is this the right file, and is it whole?",
            "'%s': '%s' is %s; %s is needed", tree->name, path.bytes, kind_names[kind], wanted);
    }
    text_clear(&path);
    return status;
}

enum status tree_need_number(const struct tree *tree, const struct tree_value *object,
    const char *key, double *number, struct error *err)
{
    return tree_get_number(tree_get(object, key), number)
               ? STATUS_OK
               : fail_kind(tree, object, key, "a number", err);
}

enum status tree_need_text(const struct tree *tree, const struct tree_value *object,
    const char *key, const char **words, struct error *err)
{
    const char *found = tree_get_text(tree_get(object, key));
    if (found == NULL) {
        return fail_kind(tree, object, key, "a text", err);
    }
    *words = found;
    return STATUS_OK;
}

enum status tree_need_numbers(const struct tree *tree, const struct tree_value *object,
    const char *key, double **list, size_t *count, struct error *err)
{
    const struct tree_value *array = tree_get(object, key);
    if (tree_get_kind(array) != TREE_ARRAY) {
        return fail_kind(tree, object, key, "a list of numbers", err);
    }
    double *made = memory_create(array->count > 0 ? array->count : 1, sizeof *made);
    if (made == NULL) {
        return fail_memory(err);
    }
    for (size_t i = 0; i < array->count; i++) {
        if (!tree_get_number(&array->children[i], &made[i])) {
            memory_destroy(made);
            struct text path = {0};
            tree_write_path(&array->children[i], &path);
            enum status status = fail(err, STATUS_INPUT, "is this the right file, and is it whole?",
                "'%s': '%s' is %s; a number is needed", tree->name, path.failed ? key : path.bytes,
                kind_names[array->children[i].kind]);
            text_clear(&path);
            return status;
        }
    }
    *list = made;
    *count = array->count;
    return STATUS_OK;
}

enum status tree_need_schema(const struct tree *tree, const char *schema, struct error *err)
{
    const char *found = tree_get_text(tree_get(&tree->root, "schema"));
    if (found == NULL) {
        return fail(err, STATUS_INPUT,
            "is this the right file? results of lodecard name their schema",
            "'%s' has no 'schema'; '%s' is needed", tree->name, schema);
    }
    if (strcmp(found, schema) != 0) {
        return fail(err, STATUS_INPUT, "is this the right file, and this version of the program?",
            "'%s' has the schema '%s'; '%s' is needed", tree->name, found, schema);
    }
    return STATUS_OK;
}

/* --- writing -----------------------------------------------------------------------------------
 */

static bool is_all_numbers(const struct tree_value *array)
{
    for (size_t i = 0; i < array->count; i++) {
        if (array->children[i].kind != TREE_NUMBER) {
            return false;
        }
    }
    return true;
}

static void write_children(struct json *json, const struct tree_value *value)
{
    for (size_t i = 0; i < value->count; i++) {
        tree_write_json(json, value->children[i].key, &value->children[i]);
    }
}

void tree_write_json(struct json *json, const char *key, const struct tree_value *value)
{
    switch (tree_get_kind(value)) {
    case TREE_NONE:
    case TREE_NULL:
        json_add_text(json, key, NULL);
        break;
    case TREE_BOOL:
        json_add_bool(json, key, value->is_true);
        break;
    case TREE_NUMBER:
        json_add_number(json, key, value->number);
        break;
    case TREE_TEXT:
        json_add_text(json, key, value->text);
        break;
    case TREE_ARRAY:
        json_begin_array(json, key);
        json->is_flat = is_all_numbers(value);
        write_children(json, value);
        json_end_array(json);
        json->is_flat = false;
        break;
    case TREE_OBJECT:
        json_begin_object(json, key);
        write_children(json, value);
        json_end_object(json);
        break;
    }
}
