// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_MOTOR_WORDS_H
#define LODECARD_PAPER_MOTOR_WORDS_H

#include "motor/machine.h"
#include "motor/steel.h"
#include "paper/plot_text.h"

/* Headings of the pictures of motors, as markup. */

/* "Torque over slip · R-17"; name NULL: the words alone. */
const char *motor_words_add_title(struct plot_texts *texts, const char *words, const char *name);

/* Pole pairs, ring, supply; the amplitude where `point` is not NULL. */
const char *motor_words_add_subtitle(
    struct plot_texts *texts, const struct motor_machine *machine, const struct steel_point *point);

#endif
