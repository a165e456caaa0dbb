// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_TESTS_SCRATCH_H
#define LODECARD_TESTS_SCRATCH_H

#include <stddef.h>

/* A checked fixture: the test runs in a new empty folder, which goes away with all it holds.
 *     tcase_add_checked_fixture(tests, scratch_enter, scratch_leave); */
void scratch_enter(void);
void scratch_leave(void);

/* Writes a file of the scratch folder by other means than the code under test. */
void scratch_write(const char *name, const char *bytes, size_t count);

/* True when the file holds exactly these bytes. */
int scratch_holds(const char *name, const char *bytes);

/* Number of entries of the scratch folder. */
size_t scratch_count(void);

#endif
