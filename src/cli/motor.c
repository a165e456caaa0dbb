// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/command.h"

#include <stdio.h>
#include <string.h>

#include "cli/common_options.h"
#include "cli/input.h"
#include "cli/motor_job.h"
#include "cli/output.h"
#include "paper/chart.h"
#include "paper/motor_plot.h"

#define STEELS_MOST (2 * OPTION_TEXTS_MOST)
#define JSON_INDENT 2

#define AT(member) .offset = offsetof(struct motor_command, member)
static const struct option motor_table[] = {
    {.name = "", .help = "The motor"},
    {.name = "pole-pairs",
        .letter = 'p',
        .value = "P",
        .type = OPTION_COUNT,
        .least = 1,
        .most = 1000,
        AT(pole_pairs),
        .help = "number of pole pairs: 2 for 4 poles"},
    {.name = "supply",
        .value = "F",
        .type = OPTION_QUANTITY,
        .dimension = DIMENSION_FREQUENCY,
        AT(machine.supply),
        .help = "supply frequency, Hz; here and below with unit and uncertainty if wanted: '50 Hz "
                "± 0.1 Hz' (k = 2)"},
    {.name = "volume",
        .value = "V",
        .type = OPTION_QUANTITY,
        .most = 1,
        .dimension = DIMENSION_VOLUME,
        AT(machine.volume),
        .help = "volume of the rotor's ring, m³, or '20 cm3'; or its dimensions:"},
    {.name = "outer-diameter",
        .value = "D",
        .type = OPTION_QUANTITY,
        .most = 10,
        .dimension = DIMENSION_LENGTH,
        AT(machine.outer_diameter),
        .help = "of the ring, m, or '40 mm'"},
    {.name = "inner-diameter",
        .value = "D",
        .type = OPTION_QUANTITY,
        .most = 10,
        .dimension = DIMENSION_LENGTH,
        AT(machine.inner_diameter),
        .help = "of the ring"},
    {.name = "height",
        .value = "L",
        .type = OPTION_QUANTITY,
        .most = 10,
        .dimension = DIMENSION_LENGTH,
        AT(machine.height),
        .help = "of the ring, along the shaft"},
    {.name = "load-torque",
        .value = "T",
        .type = OPTION_QUANTITY,
        .dimension = DIMENSION_TORQUE,
        AT(machine.load_torque),
        .help = "N m, the same at every speed: is it synchronized, and at which load angle"},
    {.name = "inertia",
        .value = "J",
        .type = OPTION_QUANTITY,
        .dimension = DIMENSION_INERTIA,
        AT(machine.inertia),
        .help = "kg m², or '150 g cm2', of rotor and load: how long the run-up takes"},
    {.name = "", .help = "The amplitude in the ring, one of (default: the largest measured)"},
    {.name = "field",
        .value = "H",
        .type = OPTION_QUANTITY,
        .dimension = DIMENSION_FIELD_STRENGTH,
        AT(drive.field),
        .help = "peak field strength, A/m, or '20 kA/m'"},
    {.name = "flux-density",
        .value = "B",
        .type = OPTION_QUANTITY,
        .dimension = DIMENSION_FLUX_DENSITY,
        AT(drive.flux_density),
        .help = "peak flux density, T"},
    {.name = "air-gap-flux",
        .value = "PHI",
        .type = OPTION_QUANTITY,
        .dimension = DIMENSION_FLUX,
        AT(drive.air_gap_flux),
        .help = "peak flux of one pole, Wb; half of it goes round the ring either way. With"},
    {.name = "ring-section",
        .value = "A",
        .type = OPTION_QUANTITY,
        .dimension = DIMENSION_AREA,
        AT(drive.ring_section),
        .help = "section of the ring across that flux, m², or '24 mm2'"},
    {.name = "ampere-turns",
        .value = "F",
        .type = OPTION_QUANTITY,
        .dimension = DIMENSION_CURRENT,
        AT(drive.ampere_turns),
        .help = "amplitude of the fundamental of the air gap's magnetomotive force, A; needs the "
                "dimensions, and"},
    {.name = "air-gap",
        .value = "G",
        .type = OPTION_QUANTITY,
        .most = 1,
        .dimension = DIMENSION_LENGTH,
        AT(machine.air_gap),
        .help = "air gap, Carter's factor included, m (default: 0)"},
    {.name = "", .help = "More than one motor"},
    {.name = "sweep",
        .value = "WHAT",
        .type = OPTION_TEXT,
        AT(sweep),
        .help = "'field' or 'thickness', with a range if wanted: 'thickness=1 mm:5 mm'. The "
                "thickness of the ring, inside its outer diameter, is swept at fixed ampere-turns"},
    {.name = "compare",
        .value = "STEEL",
        .type = OPTION_TEXTS,
        AT(compare),
        .help = "another steel, side by side with the first in the same motor; again for more"},
    {.name = "", .help = "Captures"},
    {.table = setup_options, AT(setup)},
    {.name = "", .help = "Where the result goes"},
    {.table = json_any_options, AT(json)},
    {.name = "plot",
        .value = "FILE",
        .type = OPTION_TEXT,
        AT(plot),
        .help = "draw torque over slip, or the sweep, or the torque of the steels over the field: "
                "FILE ends in .svg, .png or .pdf"},
    {0},
};

static const struct example motor_examples[] = {
    {"lodecard motor r36.card.json --pole-pairs 2 --volume '20 cm3' --supply 50 --field '30 kA/m'",
        "torque, loss, lag and pull-out power"},
    {"lodecard motor loop.json -p 2 --volume '20 cm3 ± 0.1 cm3' --supply 50 --load-torque '0.2 N "
     "m' --inertia '4 kg cm2'",
        "from one loop; does it synchronize this load, and how soon"},
    {"lodecard motor series.json -p 2 --outer-diameter '40 mm' --inner-diameter '32 mm' --height "
     "'6 mm' --supply 50 --ampere-turns 300 --sweep thickness --plot ring.svg",
        "how thick the ring should be"},
    {"lodecard motor a.json --compare b.json -p 2 --volume 2e-5 --supply 50 --field 2e4",
        "two steels in the same motor"},
    {0},
};

/* The command line's steels: the words, then those of --compare. */
static enum status list_steels(const struct motor_command *options, int count, char **words,
    const char *steels[STEELS_MOST], size_t *found, struct error *err)
{
    if (count == 0)
        return fail(err, STATUS_USAGE, "a card, a series or a loop (JSON), or a capture",
            "'motor' needs a steel");
    if ((size_t)count > OPTION_TEXTS_MOST)
        return fail(err, STATUS_USAGE, "compare fewer", "%d steels are too many", count);
    for (int i = 0; i < count; i++)
        steels[(*found)++] = words[i];
    for (size_t i = 0; i < options->compare.count; i++)
        steels[(*found)++] = options->compare.list[i];
    return input_check_stdin(steels, *found, err);
}

static enum status check_places(
    const struct motor_command *options, const char *const *steels, size_t count, struct error *err)
{
    const char *paths[] = {options->json, options->plot};
    char *inputs[STEELS_MOST];
    for (size_t i = 0; i < count; i++)
        inputs[i] = (char *)steels[i];
    if (options->plot && chart_check_path(options->plot, err))
        return STATUS_USAGE;
    if (options->plot && options->sweep && count > 1)
        return fail(err, STATUS_USAGE, "draw them one after the other",
            "--plot has room for the sweep or the comparison, not for both");
    return output_check(paths, sizeof paths / sizeof *paths, inputs, count, err);
}

static enum status write_json(const struct motor_job *job, struct error *err)
{
    struct text out = {0};
    struct json json;
    json_init(&json, &out, JSON_INDENT);
    json_begin_object(&json, NULL);
    motor_write_members(&json, &job->steels[0], &job->machine, &job->motor);
    if (job->sweep.count > 0)
        sweep_write_json(&json, "sweep", &job->sweep);
    if (job->rows)
        comparison_write_json(&json, "comparison", job->rows, job->count);
    notes_write_json(&json, "notes", &job->motor.notes);
    json_end_object(&json);
    json_finish(&json);
    const enum status status = output_write(job->options->json, &out, err);
    text_clear(&out);
    return status;
}

static enum status write_text(const struct motor_job *job, struct error *err)
{
    struct text out = {0};
    motor_text_add(&out, job);
    const enum status status = output_print(&out, err);
    text_clear(&out);
    return status;
}

static enum status write_plot(const struct motor_job *job, struct error *err)
{
    const char *path = job->options->plot;
    if (job->rows)
        return motor_plot_write_comparison(job->rows, job->count, &job->machine, path, err);
    if (job->sweep.count > 0)
        return motor_plot_write_sweep(&job->steels[0], &job->machine, &job->sweep, path, err);
    return motor_plot_write(&job->steels[0], &job->machine, &job->motor, path, err);
}

static int run_motor(const struct command *command, int count, char **words, struct error *err)
{
    struct motor_command options = {0};
    const char *steels[STEELS_MOST];
    size_t found = 0;
    struct motor_job job = {.options = &options};
    enum status status =
        options_read(command->name, command->options, &options, &count, words, err);
    if (!status)
        status = list_steels(&options, count, words, steels, &found, err);
    if (!status)
        status = check_places(&options, steels, found, err);
    if (!status)
        status = motor_job_run(&job, steels, found, err);
    if (!status && options.plot)
        status = write_plot(&job, err);
    if (!status && options.json)
        status = write_json(&job, err);
    if (!status && (!options.json || strcmp(options.json, "-")))
        status = write_text(&job, err);
    motor_job_clear(&job);
    return (int)status;
}

const struct command command_motor = {
    .name = "motor",
    .group = "From loops to decisions",
    .purpose = "torque, loss and lag of a hysteresis motor with this ring",
    .synopsis = "STEEL... -p P --volume V --supply F [OPTION]...",
    .description =
        "What a ring of this steel does in a hysteresis motor: torque from standstill to "
        "synchronism, its hysteresis, eddy and excess parts, losses in the ring, lag angle, "
        "pull-out power, and whether and how soon it synchronizes a load. STEEL is a card, a "
        "series or a loop as this program writes them (JSON), or a capture.\n\n"
        "T(s) = (p V / 2 pi) (Wh + kc s f + kx sqrt(s f)): the hysteresis torque is the same at "
        "every slip, the eddy torque goes with the slip. One loop cannot tell them apart: its "
        "torque is an upper bound of the hysteresis torque, and a note says so. docs/motor.md has "
        "the equations, their sources and what they leave out.\n\n"
        "Numbers are in SI units; with a unit, and with an uncertainty, they go in quotes: "
        "'20 cm3 ± 0.1 cm3'. Several steels are compared in the same motor.",
    .options = motor_table,
    .examples = motor_examples,
    .run = run_motor,
};
