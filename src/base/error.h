// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_BASE_ERROR_H
#define LODECARD_BASE_ERROR_H

/* What a function that can fail returns. The values are the exit status of the program. */
enum status {
    STATUS_OK = 0,
    STATUS_USAGE = 1,   /* the command line is wrong */
    STATUS_INPUT = 2,   /* an input file is wrong */
    STATUS_CAPTURE = 3, /* the capture cannot support a result */
    STATUS_IO = 4,      /* reading or writing failed */
    STATUS_FAULT = 5,   /* a fault of the program, or no memory */
};

/* An error: a code for programs, words for people. The message says what failed first, with its
 * subject in quotes, without capital or full stop; it may hold several lines when one file has
 * several faults. The hint says what to do and may be empty. */
struct error {
    enum status status;
    char message[4096];
    char hint[320];
};

#define MUST_CHECK __attribute__((warn_unused_result))

/* Fills `err` (which may be NULL) and returns `status`, so that a failure is one line:
 *     return fail(err, STATUS_INPUT, "hint", "line %zu of '%s': ...", ...);
 * A text that does not fit is cut at a character's border and ends in "...". What would steer a
 * terminal, new lines among it, is written as base/visible.h says: names come from anywhere. */
enum status fail(struct error *err, enum status status, const char *hint, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

/* The same, but new lines end lines: for a message that holds several, or hands such a one on. */
enum status fail_lines(struct error *err, enum status status, const char *hint, const char *format,
    ...) __attribute__((format(printf, 4, 5)));

/* The failure every allocation shares: STATUS_FAULT, "out of memory". */
enum status fail_memory(struct error *err);

#endif
