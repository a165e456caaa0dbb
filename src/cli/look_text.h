// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_LOOK_TEXT_H
#define LODECARD_CLI_LOOK_TEXT_H

#include "base/text.h"
#include "loop/look.h"

/* A look at a capture as people read it, 80 columns wide: a column for each channel. */
void look_text_add(struct text *out, const struct look *look);

#endif
