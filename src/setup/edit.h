// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_SETUP_EDIT_H
#define LODECARD_SETUP_EDIT_H

#include <stddef.h>

#include "base/error.h"
#include "base/text.h"

/* Changes single values in a file that a person wrote (rig.yaml, specimen.yaml) and leaves every
 * other byte as it is: comments, order, blanks, quotes, line ends. The value of a key that is there
 * is replaced; a key that is not is put below the last one of its group; a group that is not there,
 * at the end of the group around it. */
struct edit {
    const char *key_path; /* "inputs.pickup.full_scale" */
    const char *value;    /* plain text of one line, without the characters , { } [ ] # : " ' */
};

/* Adds the changed file to `out`. It is read again and compared: nothing but the edited keys
 * differs, or the edit is refused (STATUS_INPUT) with the line to write by hand as its hint. `name`
 * is the file's name for messages. */
enum status edit_apply(const char *name, const char *bytes, size_t length, const struct edit *edits,
    size_t count, struct text *out, struct error *err) MUST_CHECK;

/* Adds what an edit changed: "- old line" and "+ new line". */
void edit_add_changes(struct text *out, const char *before, const char *after);

#endif
