// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop/note.h"

#include <math.h>
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
    *note = (struct note){0};
    note->code = code;
    note->level = level;
    va_list words;
    va_start(words, format);
    vsnprintf(note->message, sizeof note->message, format, words);
    va_end(words);
    snprintf(note->hint, sizeof note->hint, "%s", hint);
}

static struct note *get_last(struct notes *notes)
{
    return notes->failed || notes->count == 0 ? NULL : &notes->list[notes->count - 1];
}

void notes_set_subject(struct notes *notes, const char *subject)
{
    struct note *note = get_last(notes);
    if (note != NULL) {
        note->subject = subject;
    }
}

void notes_add_measure(struct notes *notes, const char *key, double value, double limit)
{
    struct note *note = get_last(notes);
    if (note != NULL && isfinite(value) && note->number_count < NOTE_NUMBERS) {
        note->numbers[note->number_count++] = (struct note_number){key, value, limit};
    }
}

void notes_add_number(struct notes *notes, const char *key, double value)
{
    notes_add_measure(notes, key, value, NAN);
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

/* "numbers": each value, and the limit it was held against under the same key with limit_ in front.
 */
static void write_numbers(struct json *json, const struct note *note)
{
    char key[80];
    if (note->number_count == 0) {
        return;
    }
    json_begin_object(json, "numbers");
    for (size_t i = 0; i < note->number_count; i++) {
        const struct note_number *number = &note->numbers[i];
        json_add_number(json, number->key, number->value);
        if (isfinite(number->limit)) {
            snprintf(key, sizeof key, "limit_%s", number->key);
            json_add_number(json, key, number->limit);
        }
    }
    json_end_object(json);
}

void notes_write_json(struct json *json, const char *key, const struct notes *notes)
{
    json_begin_array(json, key);
    for (size_t i = 0; i < notes->count; i++) {
        const struct note *note = &notes->list[i];
        json_begin_object(json, NULL);
        json_add_text(json, "code", note->code);
        json_add_text(json, "level", level_names[note->level]);
        if (note->subject != NULL) {
            json_add_text(json, "subject", note->subject);
        }
        json_add_text(json, "message", note->message);
        json_add_text(json, "hint", note->hint);
        write_numbers(json, note);
        json_end_object(json);
    }
    json_end_array(json);
}

void notes_clear(struct notes *notes)
{
    memory_destroy(notes->list);
    *notes = (struct notes){0};
}
