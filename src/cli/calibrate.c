// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/calibrate.h"

#include <stdio.h>
#include <string.h>

#include "cli/command.h"
#include "cli/common_options.h"
#include "cli/output.h"
#include "cli/verb.h"
#include "setup/date.h"

static const struct calibrate_mode *const mode_list[] = {
    &calibrate_full_scale, &calibrate_loopback, &calibrate_empty_coil, &calibrate_shunt, NULL};

#define AT(member) .offset = offsetof(struct calibrate_command, member)
static const struct option calibrate_table[] = {
    {.name = "", .help = "Where the values go"},
    {.name = "rig",
        .value = "FILE",
        .type = OPTION_TEXT,
        AT(rig),
        .help = "write them into this rig.yaml; comments, order and all other values stay as they "
                "are (default: print the lines to paste)"},
    {.name = "specimen",
        .value = "FILE",
        .type = OPTION_TEXT,
        AT(specimen),
        .help = "the ring that an empty coil is wound for"},
    {.name = "dry-run",
        .letter = 'n',
        .type = OPTION_FLAG,
        AT(is_dry),
        .help = "show what would change in the file, and leave it as it is"},
    {.name = "date",
        .value = "DATE",
        .type = OPTION_TEXT,
        AT(date),
        .help = "the day of the calibration, such as 2026-11-25, written as calibration.date"},
    {.table = json_options, AT(json)},
    {.name = "", .help = "Of full-scale"},
    {.name = "voltage",
        .value = "V",
        .type = OPTION_TEXTS,
        AT(voltages),
        .help = "what the meter showed, with its uncertainty: '1.000 V \u00B1 0.5 %'; once a "
                "capture, in their order"},
    {.name = "channel",
        .value = "N",
        .type = OPTION_COUNT,
        .least = 1,
        .most = 1024,
        AT(channel),
        .help = "the channel that was fed, from 1"},
    {.name = "peak-to-peak",
        .type = OPTION_FLAG,
        AT(is_peak_to_peak),
        .help = "the voltages are peak to peak (default: r.m.s. of all but the mean, harmonics "
                "included, as a true r.m.s. meter shows it in its AC range)"},
    {.name = "", .help = "Of loopback, empty-coil and shunt"},
    {.name = "excitation",
        .value = "N",
        .type = OPTION_TEXT,
        AT(excitation),
        .help = "the channel of the excitation (default: the rig's, or 1)"},
    {.name = "pickup",
        .value = "N",
        .type = OPTION_TEXT,
        AT(pickup),
        .help = "the channel of the pickup (default: the rig's, or 2)"},
    {.name = "fundamental",
        .value = "F",
        .type = OPTION_NUMBER,
        .dimension = DIMENSION_FREQUENCY,
        .most = 1e6,
        AT(fundamental_Hz),
        .help = "the frequency that all tones are multiples of, such as '20 Hz' (default: found, "
                "which needs it among the large tones)"},
    {.name = "flat",
        .type = OPTION_FLAG,
        AT(is_flat),
        .help = "all tones are equally large at the inputs, so that their sizes tell the corner of "
                "either input"},
    {.name = "crosstalk",
        .value = "CAPTURE",
        .type = OPTION_TEXT,
        AT(crosstalk),
        .help = "a second recording, with one of the inputs terminated"},
    {.name = "", .help = "Of shunt"},
    {.name = "reference",
        .value = "R",
        .type = OPTION_TEXT,
        AT(reference),
        .help = "the known resistor, with its uncertainty: '0.1000 ohm \u00B1 0.02 %'"},
    {.name = "time-constant",
        .value = "T",
        .type = OPTION_TEXT,
        AT(time_constant),
        .help = "its inductance over its resistance, with its uncertainty: '0 ns \u00B1 20 ns' "
                "(default: taken as 0)"},
    {0},
};

static const struct example calibrate_examples[] = {
    {"lodecard calibrate full-scale tone.wav --channel 1 --voltage '1.000 V \u00B1 0.5 %'",
        "the volts at digital full scale of the first input"},
    {"lodecard calibrate full-scale low.wav high.wav --channel 1 --voltage '0.100 V \u00B1 0.6 %' "
     "--voltage '1.000 V \u00B1 0.5 %' --rig rig.yaml --date 2026-11-25",
        "the same from two levels, with linearity, into the rig"},
    {"lodecard calibrate loopback both.wav --crosstalk one.wav --fundamental '20 Hz' --rig "
     "rig.yaml",
        "how the two inputs differ: gain, delay, coupling, crosstalk"},
    {"lodecard calibrate loopback both.wav --fundamental '20 Hz' --json both.json",
        "the same for programs: schema lodecard-calibration/1 of docs/output.md"},
    {"lodecard calibrate empty-coil air.wav --rig rig.yaml --specimen specimen.yaml",
        "the area of the pickup turns, into the winding"},
    {"lodecard calibrate shunt series.wav --reference '0.1000 ohm \u00B1 0.02 %' --rig rig.yaml",
        "resistance and inductance of the shunt, from a known resistor in series with it"},
    {0},
};

static enum status check(const struct calibrate_mode *mode, const struct calibrate_command *options,
    int count, struct error *err)
{
    long day;
    if (options->date && date_read(options->date, &day, err))
        return err->status = STATUS_USAGE;
    if (options->is_dry && !options->rig)
        return fail(err, STATUS_USAGE, "add --rig rig.yaml", "--dry-run has no file to look at");
    if (count == 0)
        return fail(err, STATUS_USAGE, "'lodecard help calibrate' shows examples",
            "'calibrate %s' needs a capture", mode->name);
    if (count > OPTION_TEXTS_MOST)
        return fail(err, STATUS_USAGE, "a handful of levels is enough",
            "%d captures are more than %d", count, OPTION_TEXTS_MOST);
    return STATUS_OK;
}

/* Prints what was found, and puts it where it belongs. */
static enum status report(const struct calibrate_mode *mode,
    const struct calibrate_command *options, const struct calibration *calibration,
    const char *target, int count, char **words, struct error *err)
{
    struct output output = {.path = "-"}, json = {.path = options->json};
    struct text out = {0}, object = {0}, captures = {0};
    enum status status = STATUS_OK;
    for (int i = 0; i < count; i++)
        text_add_format(&captures, "%s'%s'", i > 0 ? ", " : "", words[i]);
    calibrate_text_add(&out, calibration);
    calibration_write_json(calibration, mode->name, options->date, &object);
    if (target && !captures.failed)
        status = calibrate_write(target, calibration, options, captures.bytes, &out, err);
    else
        calibrate_text_add_lines(&out, calibration, options->date);
    if (out.failed || object.failed || captures.failed)
        status = fail_memory(err);
    else if (!status || !output_is_stdout(&json)) {
        if (!output_is_stdout(&json))
            output_add_page(&output, &out);
        output_add(&json, object.bytes, object.length);
    }
    if (!status)
        status = output_finish(&json, err);
    text_clear(&out);
    text_clear(&object);
    text_clear(&captures);
    output_clear(&output);
    output_clear(&json);
    return status;
}

static bool get_verb(size_t index, struct command_verb *verb)
{
    if (index >= sizeof mode_list / sizeof *mode_list - 1)
        return false;
    *verb = (struct command_verb){mode_list[index]->name, mode_list[index]->options};
    return true;
}

static int run_calibrate(const struct command *command, int count, char **words, struct error *err)
{
    static const struct calibrate_command nothing;
    struct calibrate_command options = nothing;
    struct calibration calibration = {0};
    size_t index = 0;
    enum status status = verb_read(command, &options, &nothing, &count, words, &index, err);
    const struct calibrate_mode *mode = mode_list[index];
    if (!status)
        status = check(mode, &options, count - 1, err);
    if (status)
        return (int)status;
    const char *const places[] = {options.json};
    if (!status)
        status = output_check(places, 1, words + 1, (size_t)count - 1, err);
    const char *target = options.rig;
    if (!status)
        status = mode->run(&options, count - 1, words + 1, &calibration, &target, err);
    if (!status)
        status = report(mode, &options, &calibration, target, count - 1, words + 1, err);
    calibration_clear(&calibration);
    return (int)status;
}

const struct command command_calibrate = {
    .name = "calibrate",
    .group = "From a recording to a loop",
    .purpose = "values of the rig from recorded tones",
    .synopsis = "MODE [OPTION]... CAPTURE...",
    .description =
        "Finds values of rig.yaml, each with its uncertainty, from recordings made for it. MODE "
        "says which:\n\n"
        "full-scale: the volts at digital full scale of one input, from a sine whose voltage a "
        "meter reads at the input's terminals; with several levels also the linearity.\n\n"
        "loopback: one signal at both inputs (sine, multi-sine, noise that repeats) tells the "
        "ratio of their gains, the delay of the pickup, the difference of their couplings and "
        "what leaks from one into the other.\n\n"
        "empty-coil: the windings without the ring, on a former of its size, tell the area of the "
        "pickup turns. Needs --rig and --specimen.\n\n"
        "shunt: a known resistor in series with the shunt, its voltage at the pickup's input, "
        "tells the resistance of the shunt and its inductance. Needs --rig and --reference.\n\n"
        "docs/calibration.md tells how to connect what, and what to keep away from a sound card: "
        "anything tied to the mains, anything that can pass the input's limits.",
    .options = calibrate_table,
    .examples = calibrate_examples,
    .get_verb = get_verb,
    .run = run_calibrate,
};
