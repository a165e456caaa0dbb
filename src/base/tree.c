// SPDX-License-Identifier: GPL-3.0-or-later
/* Reads JSON with jansson 2.14 (its manual, chapter "Decoding"), which keeps the order of keys,
 * refuses keys given twice and text that is not UTF-8, and tells line and column. What it read is
 * copied into nodes of our own at once: they know their parent, so that a message can name the path
 * of keys, and members are reached by their number without walking. Depth is looked at before
 * jansson reads: its own limit (2048) is fixed when it is compiled. */
#include "base/tree.h"

#include <jansson.h>
#include <pthread.h>
#include <setjmp.h>
#include <stddef.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/text.h"

#define DEPTH_LIMIT 64

struct tree_value {
    enum tree_kind kind;
    bool is_true;
    double number;
    char *text;                      /* of a text */
    char *key;                       /* of a member, else NULL */
    const struct tree_value *parent; /* NULL: the root */
    struct tree_value *children;     /* of an array or object */
    size_t count;
};

struct tree {
    char *name;
    struct tree_value root;
};

static const char *const kind_names[] = {
    [TREE_NONE] = "nothing",
    [TREE_NULL] = "null",
    [TREE_BOOL] = "true or false",
    [TREE_NUMBER] = "a number",
    [TREE_TEXT] = "a text",
    [TREE_ARRAY] = "a list",
    [TREE_OBJECT] = "an object",
};

/* --- depth -------------------------------------------------------------------------------------
 */

struct place {
    size_t line;
    size_t column; /* in bytes, from 1 */
};

/* Whether brackets are nested too deeply, and where. Brackets in texts do not count. */
static bool is_too_deep(const char *bytes, size_t length, struct place *place)
{
    size_t depth = 0;
    bool is_text = false;
    struct place at = {.line = 1};
    for (size_t i = 0; i < length; i++) {
        char c = bytes[i];
        at.column++;
        if (c == '\n') {
            at = (struct place){.line = at.line + 1};
        } else if (is_text) {
            is_text = c != '"';
            if (c == '\\') {
                i++;
                at.column++;
            }
        } else if (c == '"') {
            is_text = true;
        } else if (c == '[' || c == '{') {
            depth++;
            if (depth > DEPTH_LIMIT) {
                *place = at;
                return true;
            }
        } else if ((c == ']' || c == '}') && depth > 0) {
            depth--;
        }
    }
    return false;
}

/* --- from jansson's values to ours -------------------------------------------------------------
 */

static void clear_value(struct tree_value *value)
{
    for (size_t i = 0; i < value->count; i++) {
        clear_value(&value->children[i]);
    }
    memory_destroy(value->children);
    memory_destroy(value->text);
    memory_destroy(value->key);
}

static bool copy_value(struct tree_value *value, const json_t *from);

static bool create_children(struct tree_value *value, size_t count)
{
    if (count > 0) {
        value->children = memory_create(count, sizeof *value->children);
        if (value->children == NULL) {
            return false;
        }
    }
    value->count = count;
    for (size_t i = 0; i < count; i++) {
        value->children[i].parent = value;
    }
    return true;
}

static bool copy_array(struct tree_value *value, const json_t *from)
{
    if (!create_children(value, json_array_size(from))) {
        return false;
    }
    for (size_t i = 0; i < value->count; i++) {
        if (!copy_value(&value->children[i], json_array_get(from, i))) {
            return false;
        }
    }
    return true;
}

static bool copy_object(struct tree_value *value, json_t *from)
{
    if (!create_children(value, json_object_size(from))) {
        return false;
    }
    struct tree_value *child = value->children;
    for (void *at = json_object_iter(from); at != NULL; at = json_object_iter_next(from, at)) {
        child->key = memory_copy_text(json_object_iter_key(at));
        if (child->key == NULL || !copy_value(child, json_object_iter_value(at))) {
            return false;
        }
        child++;
    }
    return true;
}

/* False: out of memory. The depth of the recursion is bounded by is_too_deep(). */
static bool copy_value(struct tree_value *value, const json_t *from)
{
    switch (json_typeof(from)) {
    case JSON_OBJECT:
        value->kind = TREE_OBJECT;
        return copy_object(value, (json_t *)from);
    case JSON_ARRAY:
        value->kind = TREE_ARRAY;
        return copy_array(value, from);
    case JSON_STRING:
        value->kind = TREE_TEXT;
        value->text = memory_copy_text(json_string_value(from));
        return value->text != NULL;
    case JSON_INTEGER:
    case JSON_REAL:
        value->kind = TREE_NUMBER;
        value->number = json_number_value(from);
        return true;
    case JSON_TRUE:
    case JSON_FALSE:
        value->kind = TREE_BOOL;
        value->is_true = json_is_true(from);
        return true;
    case JSON_NULL:
        value->kind = TREE_NULL;
        return true;
    }
    return true;
}

/* --- reading -----------------------------------------------------------------------------------
 */

/* Where memory is refused jansson drops a character, blames the text or ends the program. So it
 * takes its memory here, and a refusal leaves it at once, whatever it was about to do. */
struct lent {
    _Alignas(max_align_t) struct lent *next;
    struct lent *previous;
};
static _Thread_local struct lent *lent_list;
static _Thread_local jmp_buf refusal;

static void *lend(size_t size)
{
    struct lent *lent = memory_create(1, sizeof *lent + size);
    if (lent == NULL) {
        longjmp(refusal, 1);
    }
    lent->next = lent_list;
    if (lent_list != NULL) {
        lent_list->previous = lent;
    }
    lent_list = lent;
    return lent + 1;
}

static void take_back(void *memory)
{
    if (memory == NULL) {
        return;
    }
    struct lent *lent = (struct lent *)memory - 1;
    struct lent **link = lent->previous != NULL ? &lent->previous->next : &lent_list;
    *link = lent->next;
    if (lent->next != NULL) {
        lent->next->previous = lent->previous;
    }
    memory_destroy(lent);
}

static void set_memory(void)
{
    json_set_alloc_funcs(lend, take_back);
}

/* NULL: it has failed, and `is_refused` tells whether for want of memory. */
static json_t *load(const char *bytes, size_t length, json_error_t *error, bool *is_refused)
{
    static pthread_once_t once = PTHREAD_ONCE_INIT;
    pthread_once(&once, set_memory);
    *is_refused = setjmp(refusal) != 0;
    if (*is_refused) {
        while (lent_list != NULL) {
            take_back(lent_list + 1);
        }
        return NULL;
    }
    return json_loadb(bytes, length, JSON_REJECT_DUPLICATES | JSON_DECODE_INT_AS_REAL, error);
}

static enum status fail_syntax(const char *name, const json_error_t *error, struct error *err)
{
    const enum json_error_code code = json_error_code(error);
    return fail(err, STATUS_INPUT,
        code == json_error_premature_end_of_input
            ? "the file was cut off: write or copy it again"
            : "the file must be JSON as RFC 8259 has it, in UTF-8, with finite numbers",
        "line %d, column %d of '%s': %s", error->line, error->column > 0 ? error->column : 1, name,
        error->text);
}

enum status tree_read_bytes(
    const char *name, const char *bytes, size_t length, struct tree **tree, struct error *err)
{
    struct place place;
    if (is_too_deep(bytes, length, &place)) {
        return fail(err, STATUS_INPUT, "is this the right file? no result nests as deeply as this",
            "line %zu, column %zu of '%s': nested more than %d deep", place.line, place.column,
            name, DEPTH_LIMIT);
    }
    json_error_t error = {.line = 1};
    bool is_refused;
    json_t *read = load(bytes, length, &error, &is_refused);
    if (read == NULL) {
        return is_refused ? fail_memory(err) : fail_syntax(name, &error, err);
    }
    struct tree *made = memory_create(1, sizeof *made);
    bool is_done = made != NULL;
    if (is_done) {
        made->name = memory_copy_text(name);
        is_done = made->name != NULL && copy_value(&made->root, read);
    }
    json_decref(read);
    if (!is_done) {
        tree_destroy(made);
        return fail_memory(err);
    }
    *tree = made;
    return STATUS_OK;
}

enum status tree_read(const char *path, size_t limit, struct tree **tree, struct error *err)
{
    char *bytes = NULL;
    size_t length = 0;
    enum status status = file_read(path, limit, &bytes, &length, err);
    if (status == STATUS_OK) {
        status = tree_read_bytes(path, bytes, length, tree, err);
    }
    memory_destroy(bytes);
    return status;
}

void tree_destroy(struct tree *tree)
{
    if (tree != NULL) {
        clear_value(&tree->root);
        memory_destroy(tree->name);
        memory_destroy(tree);
    }
}

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
