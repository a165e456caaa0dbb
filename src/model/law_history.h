// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_MODEL_LAW_HISTORY_H
#define LODECARD_MODEL_LAW_HISTORY_H

#include "model/history.h"

/* Jiles and Atherton's law along any H(t): one rule a form. */
extern const struct history_rule law_history_1986;
extern const struct history_rule law_history_1992;
extern const struct history_rule law_history_field;

#endif
