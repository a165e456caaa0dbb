// SPDX-License-Identifier: GPL-3.0-or-later
#include "calibrate/coil.h"
#include "cli/calibrate.h"
#include "setup/setup.h"

static enum status run(const struct calibrate_command *options, int count, char **words,
    struct calibration *calibration, const char **target, struct error *err)
{
    struct rig rig = {0};
    struct specimen specimen = {0};
    if (count != 1)
        return fail(err, STATUS_USAGE, "one recording tells it",
            "'calibrate empty-coil' takes one capture, and there are %d", count);
    if (!options->rig || !options->specimen)
        return fail(err, STATUS_USAGE,
            "the path length comes from the one, the turns and full scales from the other",
            "'calibrate empty-coil' needs --rig and --specimen");
    enum status status = calibrate_read_rig(options, &rig, err);
    if (!status)
        status = specimen_read(options->specimen, &specimen, err);
    struct coil_options how = {.capture = words[0],
        .rig = &rig,
        .specimen = &specimen,
        .frequency_Hz = options->fundamental_Hz};
    if (!status)
        status = coil_calibrate(&how, calibration, err);
    if (!status && specimen.winding.is_present)
        *target = options->specimen; /* its winding replaces the rig's */
    specimen_clear(&specimen);
    rig_clear(&rig);
    return status;
}

static const char *const own[] = {"specimen", "fundamental", NULL};

const struct calibrate_mode calibrate_empty_coil = {"empty-coil", own, run};
