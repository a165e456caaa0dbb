// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CALIBRATE_CALIBRATION_H
#define LODECARD_CALIBRATE_CALIBRATION_H

#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"
#include "loop/note.h"

/* What a calibration found: values of the bench, each with its uncertainty, and notes. */

/* How a value is written: in which unit, and whether that takes prefixes. */
enum finding_unit {
    FINDING_VOLT,
    FINDING_SECOND,
    FINDING_HERTZ,
    FINDING_OHM,
    FINDING_HENRY,
    FINDING_SQUARE_MILLIMETRE,
    FINDING_DEGREE,
    FINDING_NUMBER,
    FINDING_PERCENT,
    FINDING_DECIBEL,    /* the value is in decibel already */
    FINDING_FULL_SCALE, /* decibel against a sample at full scale */
};

struct finding {
    char label[96];
    char word[64];        /* its key in JSON, without the unit */
    const char *key_path; /* in rig.yaml; NULL: for people only */
    enum finding_unit unit;
    double value;  /* SI */
    double u;      /* standard uncertainty (k = 1), SI; 0: none is known */
    bool is_limit; /* the value is an upper limit */
};

#define CALIBRATION_FINDINGS 64
struct calibration {
    struct finding list[CALIBRATION_FINDINGS];
    size_t count;
    struct notes notes;
};

/* Adds a finding and gives it, to be completed; its label is formatted. What does not fit is not
 * kept. */
struct finding *calibration_add(struct calibration *calibration, const char *word,
    enum finding_unit unit, double value, double u, const char *format, ...)
    __attribute__((format(printf, 6, 7)));

/* "1.5503 V ± 0.0078 V": the expanded uncertainty (k = 2) to two significant digits and the value
 * to match (JCGM 100:2008, 7.2.6), as rig.yaml takes it. Without an uncertainty, the value alone.
 */
void finding_add_value(struct text *out, const struct finding *finding);

/* The "lodecard-calibration/1" object of docs/output.md, indented by 2; `date` may be NULL. */
void calibration_write_json(
    const struct calibration *calibration, const char *mode, const char *date, struct text *out);

void calibration_clear(struct calibration *calibration);

#endif
