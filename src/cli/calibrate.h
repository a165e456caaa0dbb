// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_CALIBRATE_H
#define LODECARD_CLI_CALIBRATE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/text.h"
#include "calibrate/calibration.h"
#include "cli/options.h"
#include "setup/setup.h"

/* What the command line of `calibrate` asks for. */
struct calibrate_command {
    const char *rig, *specimen, *date, *json;
    bool is_dry;
    /* full-scale */
    struct option_texts voltages;
    size_t channel;
    bool is_peak_to_peak;
    /* loopback */
    const char *excitation, *pickup; /* channels; NULL: the rig's, or 1 and 2 */
    const char *crosstalk;
    double fundamental_Hz;
    bool is_flat;
    /* shunt */
    const char *reference, *time_constant;
};

/* A mode: what it does with the captures behind its name. A row of the table in calibrate.c. */
struct calibrate_mode {
    const char *name;
    const char *const *options; /* those that are its own; ends in NULL */
    /* Fills the calibration and, when the file to write into is another than --rig, *target. */
    enum status (*run)(const struct calibrate_command *options, int count, char **words,
        struct calibration *calibration, const char **target, struct error *err);
};
extern const struct calibrate_mode calibrate_full_scale;
extern const struct calibrate_mode calibrate_loopback;
extern const struct calibrate_mode calibrate_empty_coil;
extern const struct calibrate_mode calibrate_shunt;

/* The rig of --rig, or an empty one, with the channels that the command line names. */
enum status calibrate_read_rig(
    const struct calibrate_command *options, struct rig *rig, struct error *err) MUST_CHECK;

/* Findings and notes as people read them. */
void calibrate_text_add(struct text *out, const struct calibration *calibration);

/* The lines to paste where no file is to be written. */
void calibrate_text_add_lines(
    struct text *out, const struct calibration *calibration, const char *date);

/* Puts the findings into the file at `path`, the rig (with the date) or the specimen, and adds what
 * changes to `out`. With `is_dry` nothing is written. The file must be a right one before and
 * after: STATUS_CAPTURE where the findings are no values, with the names of the `captures`. */
enum status calibrate_write(const char *path, const struct calibration *calibration,
    const struct calibrate_command *options, const char *captures, struct text *out,
    struct error *err) MUST_CHECK;

#endif
