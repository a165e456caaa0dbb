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
    {0},
};

static enum status write_example(struct error *err)
{
    if (fputs(ring_example, stdout) < 0)
        return fail(err, STATUS_IO, "check the disk or pipe that takes the output",
            "cannot write to standard output");
    return STATUS_OK;
}

static enum status run_bench(
    const struct virtual_command *options, const char *path, struct error *err)
{
    struct ring ring = {0};
    enum status status = ring_read(path, &ring, err);
    if (!status)
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
