// SPDX-License-Identifier: GPL-3.0-or-later
#include "setup/fault.h"

#include <stdint.h>
#include <string.h>

#include "base/memory.h"
#include "base/text.h"
#include "base/visible.h"

#define FAULT_LIMIT 200 /* more are counted, not kept */
#define TAIL_SIZE 40    /* room for "... and 200 more faults" */

bool faults_is_full(const struct faults *faults)
{
    return faults->count >= FAULT_LIMIT;
}

/* A message is cut to its size, and so is a value within it: half a character goes. */
static void drop_halves(char *message)
{
    size_t length = strlen(message);
    size_t kept = 0;
    for (size_t at = 0; at < length;) {
        uint32_t code;
        size_t size = text_read_character(message + at, length - at, &code);
        memmove(message + kept, message + at, size);
        kept += size;
        at += size > 0 ? size : 1;
    }
    message[kept] = '\0';
}

void faults_add(
    struct faults *faults, struct yaml_place place, const char *key_path, const char *message)
{
    if (faults_is_full(faults)) {
        faults->untold++;
        return;
    }
    struct fault *list =
        memory_reserve(faults->list, &faults->capacity, faults->count + 1, sizeof *list);
    if (list == NULL) {
        faults->failed = true;
        return;
    }
    faults->list = list;
    struct fault made = {.place = place,
        .key_path = memory_copy_text(key_path),
        .message = memory_copy_text(message)};
    if (made.message != NULL) {
        drop_halves(made.message);
    }
    faults->failed = faults->failed || made.key_path == NULL || made.message == NULL;
    list[faults->count++] = made;
}

/* Whether `path` is `group` or lies within it. */
static bool is_within(const char *path, const char *group)
{
    size_t length = strlen(group);
    return strncmp(path, group, length) == 0 && (path[length] == '\0' || path[length] == '.');
}

bool faults_has(const struct faults *faults, const char *key_path)
{
    for (size_t i = 0; i < faults->count; i++) {
        const char *path = faults->list[i].key_path;
        if (path != NULL && (is_within(path, key_path) || is_within(key_path, path))) {
            return true;
        }
    }
    return false;
}

/* Insertion keeps the order of faults at one place; there are few. */
static void sort(struct faults *faults)
{
    for (size_t i = 1; i < faults->count; i++) {
        struct fault moving = faults->list[i];
        size_t j = i;
        for (; j > 0; j--) {
            struct yaml_place before = faults->list[j - 1].place;
            bool is_later =
                before.line > moving.place.line ||
                (before.line == moving.place.line && before.column > moving.place.column);
            if (!is_later) {
                break;
            }
            faults->list[j] = faults->list[j - 1];
        }
        faults->list[j] = moving;
    }
}

static void add_line(struct text *lines, const char *file, const struct fault *fault)
{
    const char *colon = fault->key_path[0] != '\0' ? ": " : "";
    text_add(lines, lines->length > 0 ? "\n" : "");
    visible_add(lines, file, strlen(file), "");
    text_add_format(lines, ":%zu:%zu: ", fault->place.line, fault->place.column);
    visible_add(lines, fault->key_path, strlen(fault->key_path), "");
    text_add(lines, colon);
    visible_add(lines, fault->message, strlen(fault->message), "");
}

enum status faults_finish(struct faults *faults, const char *file, struct error *err)
{
    struct text lines = {0};
    size_t told = 0;
    if (faults->failed) {
        return fail_memory(err);
    }
    if (faults->count == 0) {
        return STATUS_OK;
    }
    sort(faults);
    size_t room = sizeof err->message - TAIL_SIZE;
    for (; told < faults->count && !lines.failed; told++) {
        size_t before = lines.length;
        add_line(&lines, file, &faults->list[told]);
        if (!lines.failed && lines.length > room && told > 0) {
            lines.length = before;
            lines.bytes[before] = '\0';
            break;
        }
    }
    size_t more = faults->count - told + faults->untold;
    if (more > 0) {
        text_add_format(&lines, "\n... and %zu more fault%s", more, more > 1 ? "s" : "");
    }
    enum status status =
        lines.failed ? fail_memory(err)
                     : fail_lines(err, STATUS_INPUT,
                           "docs/files.md explains every key, with examples", "%s", lines.bytes);
    text_clear(&lines);
    return status;
}

void faults_clear(struct faults *faults)
{
    for (size_t i = 0; i < faults->count; i++) {
        memory_destroy(faults->list[i].key_path);
        memory_destroy(faults->list[i].message);
    }
    memory_destroy(faults->list);
    *faults = (struct faults){0};
}
