// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/common_options.h"

#include "loop/loop.h"
#include "setup/setup.h"

#define AT(type, member) .offset = offsetof(struct type, member)

const struct option setup_options[] = {
    {.name = "rig",
        .value = "FILE",
        .type = OPTION_TEXT,
        AT(setup_paths, rig),
        .help = "the bench of captures (default: rig.yaml beside each; beside '-', in the current "
                "folder)"},
    {.name = "specimen",
        .value = "FILE",
        .type = OPTION_TEXT,
        AT(setup_paths, specimen),
        .help = "the ring of captures (default: specimen.yaml beside each)"},
    {0},
};

const struct option excerpt_options[] = {
    {.name = "start",
        .value = "S",
        .type = OPTION_NUMBER,
        .dimension = DIMENSION_TIME,
        AT(capture_options, start_s),
        .help = "leave out the first S seconds; '20 ms' works as well"},
    {.name = "length",
        .value = "S",
        .type = OPTION_NUMBER,
        .dimension = DIMENSION_TIME,
        AT(capture_options, length_s),
        .help = "take S seconds (default: all)"},
    {.name = "decimal",
        .value = "C",
        .type = OPTION_LETTER,
        .letters = ".,",
        AT(capture_options, decimal),
        .help = "decimal sign of a table: '.' or ',' (default: found from the file)"},
    {.name = "separator",
        .value = "C",
        .type = OPTION_LETTER,
        .letters = ",;\t ",
        AT(capture_options, separator),
        .help = "what parts the cells of a table: ',', ';', tab or blank (default: found from the "
                "file)"},
    {0},
};

const struct option fit_options[] = {
    {.name = "harmonics",
        .value = "K",
        .type = OPTION_COUNT,
        .least = 1,
        .most = 1e5,
        AT(loop_options, harmonics),
        .help = "fit harmonics 1 to K (default: as many as the capture holds)"},
    {.name = "fundamental",
        .value = "HZ",
        .type = OPTION_NUMBER,
        .dimension = DIMENSION_FREQUENCY,
        AT(loop_options, frequency_Hz),
        .help = "the drive's frequency, where a foreign tone is taken for it (default: found)"},
    {0},
};

const struct option today_options[] = {
    {.name = "today",
        .value = "DATE",
        .type = OPTION_TEXT,
        AT(loop_options, today),
        .help = "the day, such as 2026-11-25: a rig whose calibration is older than its interval "
                "gets a note"},
    {0},
};

const struct option jobs_options[] = {
    {.name = "jobs",
        .letter = 'j',
        .value = "N",
        .type = OPTION_COUNT,
        .least = 0,
        .most = 1024,
        .help = "work on N captures at a time (default: 1; 0: one a processor)"},
    {0},
};

const struct option strict_options[] = {
    {.name = "strict",
        .type = OPTION_FLAG,
        .help = "exit with 3 when a note is a warning; the results are written all the same"},
    {0},
};

static const char *const json_endings[] = {".json", NULL};

const struct option json_options[] = {
    {.name = "json",
        .value = "[FILE]",
        .type = OPTION_PLACE,
        .endings = json_endings,
        .help = "write everything as JSON; without FILE or with '-': to standard output, instead "
                "of the text; FILE ends in .json (any other: --json=FILE)"},
    {0},
};

const struct option json_any_options[] = {
    {.name = "json",
        .value = "[FILE]",
        .type = OPTION_PLACE,
        .help = "write everything as JSON; without FILE or with '-': to standard output, instead "
                "of the text"},
    {0},
};

const char *const json_lines_endings[] = {".json", ".jsonl", ".ndjson", NULL};

const struct option json_lines_options[] = {
    {.name = "json-lines",
        .value = "[FILE]",
        .type = OPTION_PLACE,
        .endings = json_lines_endings,
        .help = "write one line of JSON a capture, in their order; FILE ends in .json, .jsonl or "
                ".ndjson (any other: --json-lines=FILE)"},
    {0},
};
