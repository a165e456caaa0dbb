// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop/note.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"

static const char *const level_names[] = {
    [NOTE_INFO] = "info",
    [NOTE_WARNING] = "warning",
    [NOTE_FATAL] = "fatal",
};

void notes_add(struct notes *notes, const char *code, enum note_level level, const char *hint,
    const char *format, ...)
{
    struct note *list =
        memory_reserve(notes->list, &notes->capacity, notes->count + 1, sizeof *list);
    if (list == NULL) {
        notes->failed = true;
        return;
    }
    notes->list = list;
    struct note *note = &list[notes->count++];
    note->code = code;
    note->level = level;
    va_list words;
    va_start(words, format);
    vsnprintf(note->message, sizeof note->message, format, words);
    va_end(words);
    snprintf(note->hint, sizeof note->hint, "%s", hint);
}

bool notes_has(const struct notes *notes, const char *code)
{
    for (size_t i = 0; i < notes->count; i++) {
        if (strcmp(notes->list[i].code, code) == 0) {
            return true;
        }
    }
    return false;
}

const struct note *notes_find_fatal(const struct notes *notes)
{
    for (size_t i = 0; i < notes->count; i++) {
        if (notes->list[i].level == NOTE_FATAL) {
            return &notes->list[i];
        }
    }
    return NULL;
}

const char *note_level_get_name(enum note_level level)
{
    return level_names[level];
}

void notes_write_json(struct json *json, const char *key, const struct notes *notes)
{
    json_begin_array(json, key);
    for (size_t i = 0; i < notes->count; i++) {
        const struct note *note = &notes->list[i];
        json_begin_object(json, NULL);
        json_add_text(json, "code", note->code);
        json_add_text(json, "level", level_names[note->level]);
        json_add_text(json, "message", note->message);
        json_add_text(json, "hint", note->hint);
        json_end_object(json);
    }
    json_end_array(json);
}

void notes_clear(struct notes *notes)
{
    memory_destroy(notes->list);
    *notes = (struct notes){0};
}
