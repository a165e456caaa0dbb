// SPDX-License-Identifier: GPL-3.0-or-later
#include "calibrate/shunt.h"
#include "cli/calibrate.h"
#include "setup/setup.h"

static enum status read_value(const char *option, const char *words, enum dimension dimension,
    const char *hint, struct quantity *value, struct error *err)
{
    struct error reason = {0};
    struct quantity quantity = {0};
    if (quantity_read(words, dimension, &quantity, &reason))
        return fail(err, STATUS_USAGE, reason.hint, "option '%s': %s", option, reason.message);
    if (!quantity.has_uncertainty)
        return fail(err, STATUS_USAGE, hint, "option '%s': '%s' has no uncertainty", option, words);
    *value = quantity;
    return STATUS_OK;
}

static enum status read_reference(
    const struct calibrate_command *options, struct shunt_options *how, struct error *err)
{
    if (!options->reference)
        return fail(err, STATUS_USAGE,
            "its certificate or data sheet states it: --reference '0.1000 ohm ± 0.02 %'",
            "'calibrate shunt' needs the known resistor");
    enum status status = read_value("--reference", options->reference, DIMENSION_RESISTANCE,
        "'0.1000 ohm ± 0.02 %', or a data sheet's limit: '0.1 ohm ± 1 % rect'", &how->reference,
        err);
    if (!status && !(how->reference.value > 0))
        status = fail(err, STATUS_USAGE, "give the resistance that its certificate states",
            "option '--reference': '%s' is not above 0", options->reference);
    if (!status && options->time_constant)
        status = read_value("--time-constant", options->time_constant, DIMENSION_TIME,
            "'0 ns ± 20 ns'", &how->constant, err);
    return status;
}

static enum status run(const struct calibrate_command *options, int count, char **words,
    struct calibration *calibration, const char **target, struct error *err)
{
    struct rig rig = {0};
    (void)target;
    if (count != 1)
        return fail(err, STATUS_USAGE, "one recording tells it",
            "'calibrate shunt' takes one capture, and there are %d", count);
    if (!options->rig)
        return fail(err, STATUS_USAGE, "calibrate full scale and loopback into it first",
            "'calibrate shunt' needs --rig: the gains of both inputs stand in it");
    struct shunt_options how = {
        .capture = words[0], .rig = &rig, .frequency_Hz = options->fundamental_Hz};
    enum status status = read_reference(options, &how, err);
    if (!status)
        status = calibrate_read_rig(options, &rig, err);
    if (!status)
        status = shunt_calibrate(&how, calibration, err);
    rig_clear(&rig);
    return status;
}

static const char *const own[] = {"reference", "time-constant", "fundamental", NULL};

const struct calibrate_mode calibrate_shunt = {"shunt", own, run};
