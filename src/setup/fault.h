// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_SETUP_FAULT_H
#define LODECARD_SETUP_FAULT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "setup/yaml.h"

/* The faults of one file, gathered to be told at once. */

#define FAULT_SIZE 600 /* bytes of one message */

struct fault {
    struct yaml_place place;
    char *key_path; /* "inputs.excitation.shunt"; "" for the file */
    char *message;
};

struct faults {
    struct fault *list;
    size_t count;
    size_t capacity;
    size_t untold; /* beyond the limit of the list */
    bool failed;   /* out of memory */
};

void faults_add(
    struct faults *faults, struct yaml_place place, const char *key_path, const char *message);

/* Whether the list is full: further faults are counted, not kept, and need no message. */
bool faults_is_full(const struct faults *faults);

/* Whether a key, one within it or a group around it has a fault. */
bool faults_has(const struct faults *faults, const char *key_path);

/* STATUS_OK when there are none; else one line a fault, in the order of the file:
 * "file:line:column: key: message", as many as an error holds, and how many more there are. */
enum status faults_finish(struct faults *faults, const char *file, struct error *err) MUST_CHECK;

void faults_clear(struct faults *faults); /* safe on a zeroed struct and twice */

#endif
