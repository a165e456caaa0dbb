// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/memory.h"
#include "calibrate/loopback.h"
#include "cli/calibrate.h"
#include "setup/setup.h"

static enum status set_channel(struct rig_input *input, const char *given, const char *usual)
{
    const char *channel = given ? given : input->channel ? NULL : usual;
    if (!channel)
        return STATUS_OK;
    memory_destroy(input->channel);
    input->channel = memory_copy_text(channel);
    return input->channel ? STATUS_OK : STATUS_FAULT;
}

enum status calibrate_read_rig(
    const struct calibrate_command *options, struct rig *rig, struct error *err)
{
    enum status status = options->rig ? rig_read(options->rig, rig, err) : STATUS_OK;
    if (!status && (set_channel(&rig->excitation, options->excitation, "1") ||
                       set_channel(&rig->pickup, options->pickup, "2")))
        status = fail_memory(err);
    return status;
}

static enum status run(const struct calibrate_command *options, int count, char **words,
    struct calibration *calibration, const char **target, struct error *err)
{
    struct rig rig = {0};
    (void)target;
    if (count != 1)
        return fail(err, STATUS_USAGE, "--crosstalk names the second one",
            "'calibrate loopback' takes one capture, and there are %d", count);
    enum status status = calibrate_read_rig(options, &rig, err);
    struct loopback_options how = {.capture = words[0],
        .crosstalk = options->crosstalk,
        .rig = &rig,
        .frequency_Hz = options->fundamental_Hz,
        .is_flat = options->is_flat};
    if (!status)
        status = loopback_calibrate(&how, calibration, err);
    rig_clear(&rig);
    return status;
}

static const char *const own[] = {"excitation", "pickup", "crosstalk", "flat", "fundamental", NULL};

const struct calibrate_mode calibrate_loopback = {"loopback", own, run};
