// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LOOP_NOTE_H
#define LODECARD_LOOP_NOTE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/json.h"

/* Something the user must know about a capture or a result. A note is data, not an error. */
enum note_level { NOTE_INFO, NOTE_WARNING, NOTE_FATAL };

struct note {
    const char *code; /* one of the codes of docs/notes.md: a literal */
    enum note_level level;
    char message[320]; /* with the measured value and the limit */
    char hint[320];    /* what to do on the bench */
};

struct notes {
    struct note *list;
    size_t count;
    size_t capacity;
    bool failed; /* out of memory: a note was lost */
};

/* Adds a note; `hint` is plain text, the message is formatted. */
void notes_add(struct notes *notes, const char *code, enum note_level level, const char *hint,
    const char *format, ...) __attribute__((format(printf, 5, 6)));
bool notes_has(const struct notes *notes, const char *code);
const struct note *notes_find_fatal(const struct notes *notes); /* the first fatal one, or NULL */
const char *note_level_get_name(enum note_level level);
void notes_write_json(struct json *json, const char *key, const struct notes *notes);
void notes_clear(struct notes *notes);

#endif
