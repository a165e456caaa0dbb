// SPDX-License-Identifier: GPL-3.0-or-later
/* Reads JSON with jansson 2.14 (its manual, chapter "Decoding"), which keeps the order of keys,
 * refuses keys given twice and text that is not UTF-8, and tells line and column. What it read is
 * copied into nodes of our own at once: they know their parent, so that a message can name the path
 * of keys, and members are reached by their number without walking. Depth is looked at before
 * jansson reads: its own limit (2048) is fixed when it is compiled. */
#include <jansson.h>
#include <pthread.h>
#include <setjmp.h>
#include <stddef.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/tree_part.h"

#define DEPTH_LIMIT 64

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
