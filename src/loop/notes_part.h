// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LOOP_NOTES_PART_H
#define LODECARD_LOOP_NOTES_PART_H

/* The single notes and what they share; notes.c lists them. Each function adds its note where the
 * evidence supports it, with the measured value and the limit in the message and among the note's
 * numbers. Limits are reasoned in docs/notes.md. */
#include <stdbool.h>

#include "loop/evidence.h"

/* The subjects of notes on one input, by its index. */
extern const char *const evidence_input_name[2];

/* A figure's value, 0 when it is absent; whether it is there. */
double evidence_get_value(const struct evidence *evidence, enum figure figure);
bool evidence_has_value(const struct evidence *evidence, enum figure figure);

/* Half the peak-to-peak excursion of an input as recorded. */
double evidence_get_amplitude(const struct evidence *evidence, int m);

/* One step of an integer format, as a fraction of full scale; 0 for tables and floats. */
double evidence_get_step(const struct evidence *evidence);

/* The harmonic above all that the sampling carries which shows as this tone, folded at half the
 * sampling rate; 0 when none does. */
size_t evidence_find_folded(const struct evidence *evidence, const struct stray *stray);

/* notes_level.c */
void note_clipped(const struct evidence *evidence, struct notes *notes);
void note_offset(const struct evidence *evidence, struct notes *notes);
void note_quiet(const struct evidence *evidence, struct notes *notes);

/* notes_steady.c */
void note_short(const struct evidence *evidence, struct notes *notes);
void note_unsteady(const struct evidence *evidence, struct notes *notes);
void note_noisy(const struct evidence *evidence, struct notes *notes);

/* notes_drift.c */
void note_drift(const struct evidence *evidence, struct notes *notes);
void note_mean_drift(const struct evidence *evidence, struct notes *notes);

/* notes_sampling.c */
void note_undersampled(const struct evidence *evidence, struct notes *notes);
void note_dropout(const struct evidence *evidence, struct notes *notes);

/* notes_hum.c */
void note_hum(const struct evidence *evidence, struct notes *notes);

/* notes_shape.c */
void note_asymmetric(const struct evidence *evidence, struct notes *notes);
void note_distorted(const struct evidence *evidence, struct notes *notes);
void note_unsaturated(const struct evidence *evidence, struct notes *notes);
void note_square(const struct evidence *evidence, struct notes *notes);

/* notes_bench.c */
void note_coupled(const struct evidence *evidence, struct notes *notes);
void note_delay_sensitive(const struct evidence *evidence, struct notes *notes);
void note_thick_ring(const struct evidence *evidence, struct notes *notes);
void note_skin_effect(const struct evidence *evidence, struct notes *notes);
void note_unlikely(const struct evidence *evidence, struct notes *notes);
void note_outdated(const struct evidence *evidence, struct notes *notes);

#endif
