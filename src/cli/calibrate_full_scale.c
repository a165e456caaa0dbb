// SPDX-License-Identifier: GPL-3.0-or-later
#include <stdio.h>
#include <string.h>

#include "calibrate/full_scale.h"
#include "cli/calibrate.h"
#include "setup/setup.h"

/* The input of the rig that has the channel: where its full scale stands, and its coupling. */
static enum status find_input(const char *path, struct full_scale_options *how, struct error *err)
{
    struct rig rig = {0};
    char number[24];
    enum status status = rig_read(path, &rig, err);
    if (status)
        return status;
    snprintf(number, sizeof number, "%zu", how->channel);
    const struct rig_input *input = &rig.excitation;
    how->key_path = "inputs.excitation.full_scale";
    if (strcmp(input->channel, number)) {
        input = &rig.pickup;
        how->key_path = "inputs.pickup.full_scale";
    }
    if (strcmp(input->channel, number))
        status = fail(err, STATUS_INPUT, "look at the 'channel' of its inputs",
            "'%s' has no input with channel %zu", path, how->channel);
    else if (input->quantity != INPUT_VOLTAGE)
        status = fail(err, STATUS_INPUT, "full scales are for audio inputs, which carry voltages",
            "channel %zu of '%s' is no voltage", how->channel, path);
    else
        how->corner = input->corner.is_present ? input->corner : rig.corner;
    rig_clear(&rig);
    return status;
}

static enum status read_voltage(const char *words, struct quantity *voltage, struct error *err)
{
    struct error reason = {0};
    struct quantity quantity = {0};
    if (quantity_read(words, DIMENSION_VOLTAGE, &quantity, &reason))
        return fail(err, STATUS_USAGE, reason.hint, "option '--voltage': %s", reason.message);
    if (!(quantity.value > 0))
        return fail(err, STATUS_USAGE, "give what the meter showed",
            "option '--voltage': '%s' is "
            "not above 0",
            words);
    if (!quantity.has_uncertainty)
        return fail(err, STATUS_USAGE,
            "its manual states it, often as '0.5 % + 3 digits': --voltage '1.000 V ± 0.8 %'",
            "option '--voltage': '%s' has no uncertainty of the meter", words);
    *voltage = quantity;
    return STATUS_OK;
}

static enum status run(const struct calibrate_command *options, int count, char **words,
    struct calibration *calibration, const char **target, struct error *err)
{
    struct full_scale_level levels[OPTION_TEXTS_MOST];
    struct full_scale_options how = {.channel = options->channel,
        .is_peak_to_peak = options->is_peak_to_peak,
        .levels = levels,
        .count = (size_t)count,
        .key_path = "full_scale"};
    (void)target;
    if (!options->channel)
        return fail(err, STATUS_USAGE, "--channel 1 is the first one of the audio file",
            "'calibrate full-scale' needs the channel that was fed");
    if (how.count != options->voltages.count)
        return fail(err, STATUS_USAGE, "give --voltage once a capture, in their order",
            "there are %d captures and %zu voltages", count, options->voltages.count);
    enum status status = STATUS_OK;
    for (size_t i = 0; !status && i < how.count; i++) {
        levels[i].capture = words[i];
        status = read_voltage(options->voltages.list[i], &levels[i].voltage, err);
    }
    if (!status && options->rig)
        status = find_input(options->rig, &how, err);
    return status ? status : full_scale_calibrate(&how, calibration, err);
}

static const char *const own[] = {"voltage", "channel", "peak-to-peak", NULL};

const struct calibrate_mode calibrate_full_scale = {"full-scale", own, run};
