// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_INPUT_H
#define LODECARD_CLI_INPUT_H

#include <stddef.h>

#include "base/error.h"

/* Standard input ("-") can be read only once: STATUS_USAGE when more of the paths name it. */
enum status input_check_stdin(const char *const *paths, size_t count, struct error *err) MUST_CHECK;

#endif
