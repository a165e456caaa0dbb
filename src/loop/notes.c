// SPDX-License-Identifier: GPL-3.0-or-later
/* The one list of notes: each code with the worst level it can have. Two codes, and one face of
 * another, show while the loop is being made, without which there is nothing more to judge. */
#include "loop/notes_part.h"

enum scope { FOR_PERIODIC = 1, FOR_TRACE = 2, FOR_ALL = 3 };

static const struct {
    const char *code;
    enum note_level worst;
    enum scope scope;
    void (*add)(const struct evidence *evidence, struct notes *notes); /* NULL: added elsewhere */
} table[] = {
    {"clipped", NOTE_WARNING, FOR_PERIODIC, note_clipped},
    {"short", NOTE_FATAL, FOR_ALL, NULL}, /* reading.c, trace.c: nothing to make a loop of */
    {"short", NOTE_WARNING, FOR_PERIODIC, note_short},
    {"unsteady", NOTE_WARNING, FOR_PERIODIC, note_unsteady},
    {"noisy", NOTE_WARNING, FOR_PERIODIC, note_noisy},
    {"offset", NOTE_WARNING, FOR_PERIODIC, note_offset},
    {"drift", NOTE_WARNING, FOR_TRACE, note_drift},
    {"drift", NOTE_WARNING, FOR_PERIODIC, note_mean_drift},
    {"reversed", NOTE_WARNING, FOR_ALL, NULL},        /* direction.c */
    {"swapped", NOTE_FATAL, FOR_ALL, NULL},           /* direction.c */
    {"undersampled", NOTE_FATAL, FOR_PERIODIC, NULL}, /* reading.c */
    {"undersampled", NOTE_WARNING, FOR_PERIODIC, note_undersampled},
    {"hum", NOTE_WARNING, FOR_PERIODIC, note_hum},
    {"asymmetric", NOTE_WARNING, FOR_PERIODIC, note_asymmetric},
    {"distorted", NOTE_INFO, FOR_PERIODIC, note_distorted},
    {"dropout", NOTE_WARNING, FOR_ALL, note_dropout},
    {"quiet", NOTE_WARNING, FOR_PERIODIC, note_quiet},
    {"coupled", NOTE_WARNING, FOR_PERIODIC, note_coupled},
    {"delay-sensitive", NOTE_FATAL, FOR_PERIODIC, NULL}, /* direction.c */
    {"delay-sensitive", NOTE_WARNING, FOR_PERIODIC, note_delay_sensitive},
    {"unsaturated", NOTE_INFO, FOR_ALL, note_unsaturated},
    {"square", NOTE_INFO, FOR_PERIODIC, note_square},
    {"thick-ring", NOTE_WARNING, FOR_ALL, note_thick_ring},
    {"skin-effect", NOTE_WARNING, FOR_PERIODIC, note_skin_effect},
    {"unlikely", NOTE_WARNING, FOR_ALL, note_unlikely},
    {"outdated", NOTE_WARNING, FOR_ALL, note_outdated},
    {"not-periodic", NOTE_FATAL, FOR_PERIODIC, NULL}, /* reading.c */
    {"no-loop", NOTE_FATAL, FOR_TRACE, NULL},         /* loop.c */
};

void evidence_add_notes(const struct evidence *evidence, struct notes *notes)
{
    const enum scope scope = evidence->fit != NULL ? FOR_PERIODIC : FOR_TRACE;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        if ((table[i].scope & scope) != 0 && table[i].add != NULL) {
            table[i].add(evidence, notes);
        }
    }
}
