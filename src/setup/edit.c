// SPDX-License-Identifier: GPL-3.0-or-later
/* Decision: the tree tells where a value stands, and only those bytes change. Writing the tree anew
 * would lose comments and the person's own order; a second file that overrides the first would hide
 * from the reader what counts. Whatever the places say, the result is read again and compared. */
#include "setup/edit.h"

#include <stdbool.h>
#include <string.h>

#include "setup/yaml.h"

#define INDENT 2

/* A file on its way: its text and its tree. */
struct draft {
    const char *name;
    struct text text;
    struct yaml *yaml;
};

static enum status read_draft(struct draft *draft, struct error *err)
{
    yaml_destroy(draft->yaml);
    draft->yaml = NULL;
    return draft->text.failed
               ? fail_memory(err)
               : yaml_create(draft->name, draft->text.bytes, draft->text.length, &draft->yaml, err);
}

/* The byte at which the character of that number begins. */
static size_t find_byte(const struct text *text, size_t character)
{
    static const char mark[] = "\xEF\xBB\xBF";
    size_t at = text->length >= 3 && memcmp(text->bytes, mark, 3) == 0 ? 3 : 0;
    for (; character > 0 && at < text->length; character--) {
        uint32_t code;
        const size_t size = text_read_character(text->bytes + at, text->length - at, &code);
        at += size > 0 ? size : 1;
    }
    return at;
}

static yaml_node find_value(
    const struct yaml *yaml, yaml_node map, const char *key, size_t key_length)
{
    if (yaml_get_kind(yaml, map) != YAML_MAP) {
        return 0;
    }
    for (size_t i = 0; i < yaml_get_count(yaml, map); i++) {
        yaml_node name, value;
        yaml_get_pair(yaml, map, i, &name, &value);
        const char *words = yaml_get_text(yaml, name);
        if (strlen(words) == key_length && memcmp(words, key, key_length) == 0) {
            return value;
        }
    }
    return 0;
}

static enum status refuse(const struct draft *draft, const struct edit *edit, struct error *err)
{
    char hint[300];
    struct text words = {0};
    text_add_format(&words, "write '%s: %s' into it by hand", edit->key_path, edit->value);
    const size_t length = words.length < sizeof hint ? words.length : sizeof hint - 1;
    memcpy(hint, words.failed ? "" : words.bytes, words.failed ? 0 : length);
    hint[words.failed ? 0 : length] = '\0';
    text_clear(&words);
    return fail(err, STATUS_INPUT, hint, "'%s' is written in a way that '%s' cannot be put into",
        draft->name, edit->key_path);
}

/* Puts words in the place of the bytes from `begin` to `end`. */
static void splice(struct text *text, size_t begin, size_t end, const char *words)
{
    struct text made = {0};
    text_add_bytes(&made, text->bytes, begin);
    text_add(&made, words);
    text_add_bytes(&made, text->bytes + end, text->length - end);
    text_clear(text);
    *text = made;
}

static void replace_value(struct draft *draft, yaml_node node, const char *value)
{
    const struct yaml_span span = yaml_get_span(draft->yaml, node);
    const size_t begin = find_byte(&draft->text, span.begin);
    const size_t end = find_byte(&draft->text, span.end);
    struct text words = {0};
    text_add_format(&words, "%s%s", begin == end ? " " : "", value);
    splice(&draft->text, begin, end, words.failed ? "" : words.bytes);
    draft->text.failed |= words.failed;
    text_clear(&words);
}

/* Behind the last character of a node: groups written by indentation end with their last value. */
static size_t find_end(const struct draft *draft, yaml_node node)
{
    while (yaml_get_kind(draft->yaml, node) != YAML_TEXT && !yaml_is_flow(draft->yaml, node) &&
           yaml_get_count(draft->yaml, node) > 0) {
        const size_t last = yaml_get_count(draft->yaml, node) - 1;
        yaml_node key, value;
        if (yaml_get_kind(draft->yaml, node) == YAML_LIST) {
            value = yaml_get_member(draft->yaml, node, last);
        } else {
            yaml_get_pair(draft->yaml, node, last, &key, &value);
        }
        node = value;
    }
    return find_byte(&draft->text, yaml_get_span(draft->yaml, node).end);
}

/* ", a: {b: value}" behind the last member. */
static void add_to_flow(struct draft *draft, yaml_node map, const char *path, const char *value)
{
    struct text words = {0};
    size_t at = find_byte(&draft->text, yaml_get_span(draft->yaml, map).begin) + 1, groups = 0;
    if (yaml_get_count(draft->yaml, map) > 0) {
        yaml_node key, last;
        yaml_get_pair(draft->yaml, map, yaml_get_count(draft->yaml, map) - 1, &key, &last);
        at = find_byte(&draft->text, yaml_get_span(draft->yaml, last).end);
        text_add(&words, ", ");
    }
    for (const char *dot; (dot = strchr(path, '.')) != NULL; path = dot + 1, groups++) {
        text_add_bytes(&words, path, (size_t)(dot - path));
        text_add(&words, ": {");
    }
    text_add_format(&words, "%s: %s", path, value);
    for (; groups > 0; groups--) {
        text_add(&words, "}");
    }
    splice(&draft->text, at, at, words.failed ? "" : words.bytes);
    draft->text.failed |= words.failed;
    text_clear(&words);
}

/* Lines of their own below the last one of the group. */
static void add_lines(struct draft *draft, yaml_node map, const char *path, const char *value)
{
    yaml_node first, ignored;
    struct text words = {0};
    size_t at = find_end(draft, map);
    const char *line = memchr(draft->text.bytes + at, '\n', draft->text.length - at);
    const char *newline = strstr(draft->text.bytes, "\r\n") != NULL ? "\r\n" : "\n";
    at = line != NULL ? (size_t)(line - draft->text.bytes) + 1 : draft->text.length;
    if (line == NULL) {
        text_add(&words, newline);
    }
    yaml_get_pair(draft->yaml, map, 0, &first, &ignored);
    size_t indent = yaml_get_place(draft->yaml, first).column - 1;
    for (const char *dot; (dot = strchr(path, '.')) != NULL; path = dot + 1, indent += INDENT) {
        text_add_format(&words, "%*s%.*s:%s", (int)indent, "", (int)(dot - path), path, newline);
    }
    text_add_format(&words, "%*s%s: %s%s", (int)indent, "", path, value, newline);
    splice(&draft->text, at, at, words.failed ? "" : words.bytes);
    draft->text.failed |= words.failed;
    text_clear(&words);
}

static enum status apply(struct draft *draft, const struct edit *edit, struct error *err)
{
    yaml_node node = yaml_get_root(draft->yaml);
    for (const char *path = edit->key_path;;) {
        const size_t length = strcspn(path, ".");
        const yaml_node value = find_value(draft->yaml, node, path, length);
        if (value == 0) {
            if (yaml_get_kind(draft->yaml, node) != YAML_MAP) {
                return refuse(draft, edit, err);
            }
            if (yaml_is_flow(draft->yaml, node)) {
                add_to_flow(draft, node, path, edit->value);
            } else {
                add_lines(draft, node, path, edit->value);
            }
            break;
        }
        if (path[length] == '\0') {
            if (yaml_get_kind(draft->yaml, value) != YAML_TEXT) {
                return refuse(draft, edit, err);
            }
            replace_value(draft, value, edit->value);
            break;
        }
        node = value;
        path += length + 1;
    }
    if (read_draft(draft, err) != STATUS_OK) {
        return draft->text.failed ? fail_memory(err) : refuse(draft, edit, err);
    }
    return STATUS_OK;
}

/* Every key with its text, one a line, but for the edited ones. */
static void list_values(const struct yaml *yaml, yaml_node node, const char *path,
    const struct edit *edits, size_t count, struct text *out)
{
    const enum yaml_kind kind = yaml_get_kind(yaml, node);
    for (size_t i = 0; i < count; i++) {
        if (strcmp(path, edits[i].key_path) == 0) {
            return;
        }
    }
    if (kind == YAML_TEXT) {
        text_add_format(out, "%s=%s\n", path, yaml_get_text(yaml, node));
    }
    for (size_t i = 0; kind != YAML_TEXT && i < yaml_get_count(yaml, node); i++) {
        yaml_node key = 0, value;
        struct text below = {0};
        if (kind == YAML_LIST) {
            value = yaml_get_member(yaml, node, i);
            text_add_format(&below, "%s.%zu", path, i);
        } else {
            yaml_get_pair(yaml, node, i, &key, &value);
            text_add_format(
                &below, "%s%s%s", path, *path != '\0' ? "." : "", yaml_get_text(yaml, key));
        }
        out->failed |= below.failed;
        list_values(yaml, value, below.failed ? "" : below.bytes, edits, count, out);
        text_clear(&below);
    }
}

static bool has_value(const struct yaml *yaml, const struct edit *edit)
{
    yaml_node node = yaml_get_root(yaml);
    const char *path = edit->key_path;
    for (size_t length; node != 0; path += length + 1) {
        length = strcspn(path, ".");
        node = find_value(yaml, node, path, length);
        if (path[length] == '\0') {
            break;
        }
    }
    return node != 0 && strcmp(yaml_get_text(yaml, node), edit->value) == 0;
}

/* Whether the edited file says what was wanted and nothing else has changed. */
static enum status verify(const struct draft *draft, const struct yaml *before,
    const struct edit *edits, size_t count, struct error *err)
{
    struct text old = {0}, now = {0};
    list_values(before, yaml_get_root(before), "", edits, count, &old);
    list_values(draft->yaml, yaml_get_root(draft->yaml), "", edits, count, &now);
    enum status status = old.failed || now.failed ? fail_memory(err) : STATUS_OK;
    if (status == STATUS_OK &&
        (old.length != now.length ||
            memcmp(old.length ? old.bytes : "", now.length ? now.bytes : "", old.length) != 0)) {
        status = refuse(draft, &edits[0], err);
    }
    for (size_t i = 0; status == STATUS_OK && i < count; i++) {
        if (!has_value(draft->yaml, &edits[i])) {
            status = refuse(draft, &edits[i], err);
        }
    }
    text_clear(&old);
    text_clear(&now);
    return status;
}

enum status edit_apply(const char *name, const char *bytes, size_t length, const struct edit *edits,
    size_t count, struct text *out, struct error *err)
{
    struct draft draft = {.name = name};
    struct yaml *before = NULL;
    text_add_bytes(&draft.text, bytes, length);
    enum status status = yaml_create(name, bytes, length, &before, err);
    if (status == STATUS_OK) {
        status = read_draft(&draft, err);
    }
    for (size_t i = 0; status == STATUS_OK && i < count; i++) {
        status = apply(&draft, &edits[i], err);
    }
    if (status == STATUS_OK && count > 0) {
        status = verify(&draft, before, edits, count, err);
    }
    if (status == STATUS_OK) {
        text_add_bytes(out, draft.text.bytes, draft.text.length);
        status = out->failed ? fail_memory(err) : STATUS_OK;
    }
    yaml_destroy(before);
    yaml_destroy(draft.yaml);
    text_clear(&draft.text);
    return status;
}

static size_t get_line(const char *bytes)
{
    const size_t length = strcspn(bytes, "\n");
    return length + (bytes[length] == '\n');
}

static void add_line(struct text *out, const char *sign, const char *line, size_t length)
{
    text_add(out, sign);
    text_add_bytes(out, line, length);
    text_add(out, "\n");
}

static size_t get_content(const char *line)
{
    return strcspn(line, "\r\n");
}

/* Whether two lines begin with the same key, blanks ahead of it included. */
static bool has_same_key(const char *a, const char *b)
{
    const size_t length = strcspn(a, ":\r\n");
    return strcspn(b, ":\r\n") == length && memcmp(a, b, length) == 0;
}

/* Edits change lines and add some; none goes away and none moves. */
void edit_add_changes(struct text *out, const char *before, const char *after)
{
    for (; *after != '\0'; after += get_line(after)) {
        const size_t old = get_content(before), now = get_content(after);
        const bool is_same = *before != '\0' && old == now && memcmp(before, after, old) == 0;
        const bool is_changed = *before != '\0' && !is_same && has_same_key(before, after);
        if (is_changed) {
            add_line(out, "- ", before, old);
        }
        if (!is_same) {
            add_line(out, "+ ", after, now);
        }
        before += is_same || is_changed ? get_line(before) : 0;
    }
}
