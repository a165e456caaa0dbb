// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/loop_list.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/lines.h"
#include "base/memory.h"
#include "base/text.h"
#include "base/tree.h"

#define LINE_MOST ((size_t)1 << 20) /* bytes; paths have 4096 at most */
#define HARMONICS_MOST 1e5

struct loop_list {
    char *path;
    struct loop_options options;
    struct lines *lines;
};

enum status loop_list_open(const char *path, const struct loop_options *options,
    struct loop_list **list, struct error *err)
{
    struct loop_list *made = memory_create(1, sizeof *made);
    if (!made)
        return fail_memory(err);
    made->options = *options;
    made->path = memory_copy_text(strcmp(path, "-") ? path : "standard input");
    enum status status =
        made->path ? lines_open(path, LINE_MOST, true, &made->lines, err) : fail_memory(err);
    if (status)
        loop_list_close(made);
    else
        *list = made;
    return status;
}

void loop_list_close(struct loop_list *list)
{
    if (!list)
        return;
    lines_close(list->lines);
    memory_destroy(list->path);
    memory_destroy(list);
}

void loop_item_clear(struct loop_item *item)
{
    memory_destroy(item->path);
    memory_destroy(item->rig);
    memory_destroy(item->specimen);
    *item = (struct loop_item){0};
}

/* --- one line --------------------------------------------------------------------------------- */

enum kind { KIND_PATH, KIND_NUMBER, KIND_COUNT, KIND_LETTER };

#define OPTION(member) .offset = offsetof(struct loop_item, options.member)
static const struct entry {
    const char *key;
    enum kind kind;
    size_t offset;
    const char *letters;
} entries[] = {
    {"capture", KIND_PATH, .offset = offsetof(struct loop_item, path)},
    {"rig", KIND_PATH, .offset = offsetof(struct loop_item, rig)},
    {"specimen", KIND_PATH, .offset = offsetof(struct loop_item, specimen)},
    {"start_s", KIND_NUMBER, OPTION(capture.start_s)},
    {"length_s", KIND_NUMBER, OPTION(capture.length_s)},
    {"decimal", KIND_LETTER, OPTION(capture.decimal), .letters = ".,"},
    {"separator", KIND_LETTER, OPTION(capture.separator), .letters = ",;\t "},
    {"harmonics", KIND_COUNT, OPTION(harmonics)},
    {"fundamental_Hz", KIND_NUMBER, OPTION(frequency_Hz)},
};
#define ENTRIES (sizeof entries / sizeof *entries)

static const struct entry *find_entry(const char *key)
{
    for (size_t i = 0; i < ENTRIES; i++)
        if (!strcmp(entries[i].key, key))
            return &entries[i];
    return NULL;
}

static enum status refuse_key(const char *name, const char *key, struct error *err)
{
    const char *names[ENTRIES + 1] = {0};
    char hint[200] = "docs/surveys.md lists the keys";
    for (size_t i = 0; i < ENTRIES; i++)
        names[i] = entries[i].key;
    const char *nearest = text_nearest(key, names);
    if (nearest)
        snprintf(hint, sizeof hint, "did you mean '%s'?", nearest);
    return fail(err, STATUS_INPUT, hint, "%s: unknown key '%.60s'", name, key);
}

static enum status refuse_value(
    const char *name, const char *key, const char *want, struct error *err)
{
    return fail(
        err, STATUS_INPUT, "docs/surveys.md has examples", "%s: '%s' is not %s", name, key, want);
}

static enum status set_path(const char *name, const struct entry *entry, const char *words,
    char **target, struct error *err)
{
    if (!words || !*words)
        return refuse_value(name, entry->key, "a path", err);
    if (!strcmp(words, "-"))
        return fail(err, STATUS_INPUT, "name a file", "%s: '%s' cannot be standard input", name,
            entry->key);
    *target = memory_copy_text(words);
    return *target ? STATUS_OK : fail_memory(err);
}

static enum status set_value(const char *name, const struct entry *entry,
    const struct tree_value *value, struct loop_item *item, struct error *err)
{
    void *target = (char *)item + entry->offset;
    const char *words = tree_get_text(value);
    double number;
    const bool is_number = tree_get_number(value, &number);
    switch (entry->kind) {
    case KIND_PATH:
        return set_path(name, entry, words, target, err);
    case KIND_LETTER:
        if (!words || strlen(words) != 1 || !strchr(entry->letters, *words))
            return refuse_value(name, entry->key,
                entry->letters[0] == '.' ? "\".\" or \",\"" : "\",\", \";\", \"\\t\" or \" \"",
                err);
        *(char *)target = *words;
        return STATUS_OK;
    case KIND_NUMBER:
        if (!is_number || number < 0)
            return refuse_value(name, entry->key, "a number of 0 or more", err);
        *(double *)target = number;
        return STATUS_OK;
    case KIND_COUNT:
        break;
    }
    if (!is_number || number != floor(number) || number < 1 || number > HARMONICS_MOST)
        return refuse_value(name, entry->key, "a whole number from 1 to 100000", err);
    *(size_t *)target = (size_t)number;
    return STATUS_OK;
}

static enum status read_item(
    const char *name, const struct tree_value *root, struct loop_item *item, struct error *err)
{
    enum status status = STATUS_OK;
    if (tree_get_kind(root) != TREE_OBJECT)
        return fail(err, STATUS_INPUT, "{\"capture\": \"ring.flac\"}",
            "%s: expected an object in braces", name);
    for (size_t i = 0; i < tree_get_count(root) && !status; i++) {
        const char *key = tree_get_key_at(root, i);
        const struct entry *entry = find_entry(key);
        status = entry ? set_value(name, entry, tree_get_at(root, i), item, err)
                       : refuse_key(name, key, err);
    }
    if (!status && !item->path)
        status = fail(
            err, STATUS_INPUT, "{\"capture\": \"ring.flac\"}", "%s: there is no 'capture'", name);
    return status;
}

static enum status read_line(const struct loop_list *list, const struct line *line,
    struct loop_item *item, struct error *err)
{
    struct tree *tree = NULL;
    struct text file = {0}, name = {0};
    text_add_format(&file, "%s:%zu", list->path, line->number);
    text_add_format(&name, "line %zu of '%s'", line->number, list->path);
    enum status status = file.failed || name.failed ? fail_memory(err) : STATUS_OK;
    if (!status)
        status = tree_read_bytes(file.bytes, line->bytes, line->length, &tree, err);
    if (!status)
        status = read_item(name.bytes, tree_get_root(tree), item, err);
    tree_destroy(tree);
    text_clear(&file);
    text_clear(&name);
    return status;
}

enum status loop_list_read(
    struct loop_list *list, struct loop_item *item, bool *is_found, struct error *err)
{
    struct line line;
    do {
        const enum status status = lines_read(list->lines, &line, is_found, err);
        if (status || !*is_found)
            return status;
    } while (strspn(line.bytes, " \t\r") == line.length);
    struct loop_item made = {.options = list->options};
    enum status status = read_line(list, &line, &made, err);
    if (status) {
        memory_destroy(made.path);
        made.path = memory_copy_text(list->path);
    }
    if (!made.path) {
        loop_item_clear(&made);
        return status ? status : fail_memory(err);
    }
    *item = made;
    return status;
}
