// SPDX-License-Identifier: GPL-3.0-or-later
#include <stddef.h>
#include <string.h>

#include "cli/command.h"
#include "cli/common_options.h"
#include "cli/input.h"
#include "cli/look_text.h"
#include "cli/output.h"
#include "loop/look.h"

#define JSON_INDENT 2

struct look_command {
    struct capture_options capture;
    const char *json, *json_lines;
};

#define AT(member) .offset = offsetof(struct look_command, member)
static const struct option look_table[] = {
    {.name = "", .help = "What the capture is"},
    {.table = excerpt_options, AT(capture)},
    {.name = "time",
        .value = "COLUMN",
        .type = OPTION_TEXT,
        AT(capture.time_column),
        .help = "the time column of a table: its header or number (default: the column headed "
                "time or t)"},
    {.name = "sample-rate",
        .value = "HZ",
        .type = OPTION_NUMBER,
        .dimension = DIMENSION_FREQUENCY,
        AT(capture.sample_rate_Hz),
        .help = "of a table without a time column"},
    {.name = "", .help = "Where the result goes"},
    {.table = json_options, AT(json)},
    {.table = json_lines_options, AT(json_lines)},
    {0},
};

static const struct example look_examples[] = {
    {"lodecard look ring.flac", "levels, frequency, harmonics and noise of each channel"},
    {"lodecard look logger.csv --sample-rate '10 kHz'", "a table that has no time column"},
    {"arecord -f S32_LE -c 2 -r 96000 -d 5 | lodecard look -", "what the sound card records now"},
    {0},
};

static enum status check_options(
    const struct look_command *options, int count, char **words, struct error *err)
{
    const char *paths[] = {options->json, options->json_lines};
    if (count == 0) {
        return fail(err, STATUS_USAGE, "'lodecard look ring.wav'; '-' is standard input",
            "'look' needs a capture");
    }
    if (input_check_stdin((const char *const *)words, (size_t)count, err) != STATUS_OK) {
        return STATUS_USAGE;
    }
    if (options->json != NULL && count > 1) {
        return fail(err, STATUS_USAGE, "--json-lines writes one line a capture",
            "--json is for one capture, and there are %d", count);
    }
    return output_check(paths, sizeof paths / sizeof *paths, words, (size_t)count, err);
}

struct look_outputs {
    struct output text, json, lines;
};

/* Puts one look where it belongs. */
static enum status report(
    struct look_outputs *outputs, const struct look *look, bool is_first, struct error *err)
{
    struct text text = {0};
    struct text json = {0};
    struct text line = {0};
    enum status status = STATUS_OK;
    text_add(&text, is_first ? "" : "\n");
    look_text_add(&text, look);
    status = text.failed ? fail_memory(err) : look_write_json(look, JSON_INDENT, &json, err);
    if (status == STATUS_OK) {
        status = look_write_json(look, 0, &line, err);
    }
    if (status == STATUS_OK) {
        output_add_page(&outputs->text, &text);
        output_add(&outputs->json, json.bytes, json.length);
        output_add(&outputs->lines, line.bytes, line.length);
    }
    text_clear(&text);
    text_clear(&json);
    text_clear(&line);
    return status;
}

static enum status look_at(const char *path, const struct look_command *command,
    struct look_outputs *outputs, bool is_first, struct error *err)
{
    struct look look = {0};
    enum status status = look_read(path, &command->capture, &look, err);
    if (status == STATUS_OK) {
        status = report(outputs, &look, is_first, err);
    }
    look_clear(&look);
    return status;
}

/* One capture that fails does not stop the others; the exit status is the highest. */
static int look_at_all(const struct look_command *command, int count, char **words,
    struct look_outputs *outputs, struct error *err)
{
    int worst = STATUS_OK;
    bool is_first = true;
    for (int i = 0; i < count; i++) {
        struct error reason = {0};
        enum status status = look_at(words[i], command, outputs, is_first, &reason);
        if (status != STATUS_OK) {
            output_tell_failure(NULL, &reason);
        }
        is_first = is_first && status != STATUS_OK;
        worst = (int)status > worst ? (int)status : worst;
    }
    struct output *files[] = {&outputs->json, &outputs->lines};
    for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
        bool is_due = files[i] != &outputs->json || files[i]->kept.length > 0;
        enum status status = is_due ? output_finish(files[i], err) : STATUS_OK;
        worst = (int)status > worst ? (int)status : worst;
    }
    return worst;
}

static int run_look(const struct command *command, int count, char **words, struct error *err)
{
    struct look_command options = {0};
    enum status status =
        options_read(command->name, command->options, &options, &count, words, err);
    if (status == STATUS_OK) {
        status = check_options(&options, count, words, err);
    }
    if (status != STATUS_OK) {
        return (int)status;
    }
    struct look_outputs outputs = {.json.path = options.json, .lines.path = options.json_lines};
    if (!output_is_stdout(&outputs.json) && !output_is_stdout(&outputs.lines)) {
        outputs.text.path = "-";
    }
    int worst = look_at_all(&options, count, words, &outputs, err);
    output_clear(&outputs.json);
    output_clear(&outputs.lines);
    return worst;
}

const struct command command_look = {
    .name = "look",
    .group = "From a recording to a loop",
    .purpose = "what a capture holds; needs no rig",
    .synopsis = "[OPTION]... CAPTURE...",
    .description =
        "Tells what is in a capture, an audio file or a logger table ('-': standard input), "
        "without a rig: format, channels, sampling, and for each channel its level, offset, crest "
        "factor, frequency, harmonics, distance from the noise, clipping and missing samples; and "
        "which two channels look like the excitation and the pickup of a ring, and why.\n\nLevels "
        "of audio are fractions of full scale (FS); 0 dBFS is a sample at full scale. Harmonics "
        "are in percent of the fundamental. Signal to noise is the power of the waveform that "
        "repeats over that of the rest. Several captures come one below the other; one that fails "
        "does not stop the others, and the exit status is the highest of them.",
    .options = look_table,
    .examples = look_examples,
    .run = run_look,
};
