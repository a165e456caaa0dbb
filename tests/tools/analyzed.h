// SPDX-License-Identifier: GPL-3.0-or-later
/* Put ahead of each file that an analyzer reads (tests/tools/deep), for it sees one file at a time
 * and would follow failures that return success. Says of base/error.h what stands in base/error.c.
 */
#ifndef TESTS_TOOLS_ANALYZED_H
#define TESTS_TOOLS_ANALYZED_H

#include "base/error.h"

#define fail_memory(err) ((void)(fail_memory)(err), STATUS_FAULT)
#define fail(err, status, ...) ((void)(fail)(err, status, __VA_ARGS__), (status))
#define fail_lines(err, status, ...) ((void)(fail_lines)(err, status, __VA_ARGS__), (status))

#endif
