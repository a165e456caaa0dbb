// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CARD_SCRIPT_STATE_H
#define LODECARD_CARD_SCRIPT_STATE_H

#include "card/script.h"

/* The inside of script_run, which calls it in the child process: the Lua state with its guard
 * rails. Without that process around it a hostile pattern or finalizer could run for ever. */
enum status script_state_run(const struct script *script, const struct script_input *input,
    struct text *out, struct error *err) MUST_CHECK;

#endif
