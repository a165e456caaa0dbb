// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LOOP_NOTE_H
#define LODECARD_LOOP_NOTE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/json.h"

/* Something the user must know about a capture or a result. A note is data, not an error. */
enum note_level { NOTE_INFO, NOTE_WARNING, NOTE_FATAL };

/* What a note was judged from, for programs. */
struct note_number {
    const char *key; /* a literal, its unit at its end: "skin_depth_m"; ratios have none */
    double value;
    double limit; /* what it was held against; NaN: nothing */
};

enum { NOTE_NUMBERS = 4 };

struct note {
    const char *code; /* one of the codes of docs/notes.md: a literal */
    enum note_level level;
    const char *subject; /* "excitation", "pickup" or the key of a figure: a literal; NULL: all */
    char message[320];   /* with the measured value and the limit */
    char hint[320];      /* what to do on the bench */
    struct note_number numbers[NOTE_NUMBERS];
    size_t number_count;
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

/* What the note added last is about, and its numbers: a value with the limit that it was held
 * against, or one that only describes. What is not finite is left out. */
void notes_set_subject(struct notes *notes, const char *subject);
void notes_add_measure(struct notes *notes, const char *key, double value, double limit);
void notes_add_number(struct notes *notes, const char *key, double value);

bool notes_has(const struct notes *notes, const char *code);
const struct note *notes_find_fatal(const struct notes *notes); /* the first fatal one, or NULL */
const char *note_level_get_name(enum note_level level);
void notes_write_json(struct json *json, const char *key, const struct notes *notes);
void notes_clear(struct notes *notes);

#endif
