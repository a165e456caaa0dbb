// SPDX-License-Identifier: GPL-3.0-or-later
#include <stdint.h>
#include <stdio.h>

#include "cli/command.h"
#include "virtual/bench.h"
#include "virtual/ring.h"

struct virtual_command {
    const char *folder;
    size_t seed;
    bool is_example;
    struct option_texts frequencies, peaks;
};

#define AT(member) .offset = offsetof(struct virtual_command, member)
static const struct option virtual_table[] = {
    {.name = "", .help = "What is written"},
    {.name = "output",
        .letter = 'o',
        .value = "FOLDER",
        .type = OPTION_TEXT,
        AT(folder),
        .help = "where the capture, rig.yaml, specimen.yaml and truth.json go; made if need be"},
    {.name = "seed",
        .value = "N",
        .type = OPTION_COUNT,
        .least = 0,
        .most = 9e15,
        AT(seed),
        .help = "where the random numbers begin (default: 1); the same seed gives the same bytes"},
    {.name = "frequency",
        .value = "F",
        .type = OPTION_TEXTS,
        AT(frequencies),
        .help = "of a series, such as '20 Hz'; given often: a capture for each frequency and peak"},
    {.name = "peak",
        .value = "B",
        .type = OPTION_TEXTS,
        AT(peaks),
        .help = "flux density of a series, such as '1 T'; may be given often"},
    {.name = "example",
        .type = OPTION_FLAG,
        AT(is_example),
        .help = "print a commented RING.yaml to begin with"},
    {0},
};

static const struct example virtual_examples[] = {
    {"lodecard virtual --example > ring.yaml", "a file to change"},
    {"lodecard virtual ring.yaml -o bench", "a capture with rig, specimen and truth"},
    {"lodecard loop bench/capture.flac", "and what the program finds in it"},
    {"lodecard virtual sine.yaml -o bench --frequency '5 Hz' --frequency '20 Hz' --peak '0.5 T' "
     "--peak '1 T'",
        "a series of four captures, for a model driven by its flux density"},
    {0},
};

static enum status write_example(struct error *err)
{
    if (fputs(ring_example, stdout) < 0)
        return fail(err, STATUS_IO, "check the disk or pipe that takes the output",
            "cannot write to standard output");
    return STATUS_OK;
}

static enum status read_points(const char *option, const struct option_texts *texts,
    enum dimension dimension, double *values, struct error *err)
{
    for (size_t i = 0; i < texts->count; i++) {
        struct quantity quantity = {0};
        struct error inner;
        if (quantity_read(texts->list[i], dimension, &quantity, &inner))
            return fail(err, STATUS_USAGE, inner.hint, "option '--%s': '%s': %s", option,
                texts->list[i], inner.message);
        if (!(quantity.value > 0))
            return fail(err, STATUS_USAGE, "give a value above 0", "option '--%s': '%s'", option,
                texts->list[i]);
        values[i] = quantity.value;
    }
    return STATUS_OK;
}

/* A capture for each frequency and peak; what is not given stays as the file has it. */
static enum status run_points(
    const struct virtual_command *options, struct ring *ring, struct error *err)
{
    double frequencies[OPTION_TEXTS_MOST], peaks[OPTION_TEXTS_MOST];
    size_t frequency_count = options->frequencies.count, peak_count = options->peaks.count;
    uint64_t seed = options->seed;
    enum status status =
        read_points("frequency", &options->frequencies, DIMENSION_FREQUENCY, frequencies, err);
    if (!status)
        status = read_points("peak", &options->peaks, DIMENSION_FLUX_DENSITY, peaks, err);
    if (frequency_count == 0)
        frequencies[frequency_count++] = ring->drive.frequency.value;
    if (peak_count == 0)
        peaks[peak_count++] = ring->drive.flux_density_peak.value;
    for (size_t f = 0; !status && f < frequency_count; f++)
        for (size_t p = 0; !status && p < peak_count; p++)
            status = bench_run_point(ring, frequencies[f], peaks[p], options->folder, seed++, err);
    return status;
}

static enum status run_bench(
    const struct virtual_command *options, const char *path, struct error *err)
{
    struct ring ring = {0};
    enum status status = ring_read(path, &ring, err);
    if (!status && (options->frequencies.count || options->peaks.count))
        status = run_points(options, &ring, err);
    else if (!status)
        status = bench_run(&ring, options->folder, options->seed, err);
    ring_clear(&ring);
    return status;
}

static int run_virtual(const struct command *command, int count, char **words, struct error *err)
{
    struct virtual_command options = {.seed = 1};
    enum status status =
        options_read(command->name, command->options, &options, &count, words, err);
    if (status)
        return (int)status;
    if (options.is_example && (count > 0 || options.folder))
        return (int)fail(err, STATUS_USAGE, "give it alone: 'lodecard virtual --example'",
            "--example takes no file and no folder");
    if (options.is_example)
        return (int)write_example(err);
    if (count != 1)
        return (int)fail(err, STATUS_USAGE, "'lodecard virtual --example' prints one to begin with",
            "'virtual' needs one RING.yaml, and there are %d", count);
    if (options.folder == NULL)
        return (int)fail(
            err, STATUS_USAGE, "add -o FOLDER", "'virtual' needs a folder for what it writes");
    return (int)run_bench(&options, words[0], err);
}

const struct command command_virtual = {
    .name = "virtual",
    .group = "Teaching and testing",
    .purpose = "a virtual bench: captures of a ring with known truth",
    .synopsis = "RING.yaml -o FOLDER",
    .description =
        "Records a ring that does not exist: writes a capture (audio file or logger table), the "
        "rig.yaml and specimen.yaml that belong to it, and truth.json with the figures that a "
        "perfect measurement would find.\n\n"
        "The ring's H(t) and B(t) are finite Fourier series, from a hysteresis model or term by "
        "term, so that the truth is exact. Faults to order (noise, clipping, hum, skew, lost "
        "samples and others) go into the recording only.",
    .options = virtual_table,
    .examples = virtual_examples,
    .run = run_virtual,
};
