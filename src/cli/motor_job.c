// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/motor_job.h"

#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "motor/drive.h"

#define SWEEP_WORDS 200

static enum status refuse_sweep(const char *words, struct error *err)
{
    return fail(err, STATUS_USAGE,
        "'--sweep field', '--sweep \"field=10 kA/m:60 kA/m\"' or '--sweep \"thickness=1 mm:5 mm\"'",
        "'--sweep %.80s' is not understood", words);
}

/* One end of the range. */
static bool read_end(const char *words, enum dimension dimension, double *value)
{
    struct quantity quantity;
    if (quantity_read(words, dimension, &quantity, NULL) || quantity.has_uncertainty)
        return false;
    *value = quantity.value;
    return true;
}

/* "field", "thickness", with "=LEAST:MOST" behind. */
static enum status read_sweep(const char *words, struct sweep_options *sweep, struct error *err)
{
    char copy[SWEEP_WORDS];
    snprintf(copy, sizeof copy, "%s", words);
    char *range = strchr(copy, '=');
    char *most = range ? strchr(range, ':') : NULL;
    if (range)
        *range++ = '\0';
    if (strlen(words) >= SWEEP_WORDS || (range && !most) ||
        (strcmp(copy, "field") && strcmp(copy, "thickness")))
        return refuse_sweep(words, err);
    bool is_field = !strcmp(copy, "field");
    enum dimension dimension = is_field ? DIMENSION_FIELD_STRENGTH : DIMENSION_LENGTH;
    sweep->kind = is_field ? SWEEP_FIELD : SWEEP_THICKNESS;
    if (!range)
        return STATUS_OK;
    *most++ = '\0';
    if (!read_end(range, dimension, &sweep->least) || !read_end(most, dimension, &sweep->most))
        return refuse_sweep(words, err);
    return STATUS_OK;
}

/* Ampere-turns that are not given are those that the motor takes as it stands. */
static enum status run_sweep(struct motor_job *job, struct error *err)
{
    const struct motor_drive *drive = &job->options->drive;
    struct sweep_options sweep = {0};
    if (!job->options->sweep)
        return STATUS_OK;
    enum status status = read_sweep(job->options->sweep, &sweep, err);
    if (status)
        return status;
    sweep.ampere_turns = drive->ampere_turns.is_present
                             ? drive->ampere_turns.value
                             : drive_compute_ampere_turns(&job->machine, &job->motor.state.point);
    return sweep_create(&job->steels[0], &job->machine, &sweep, &job->sweep, err);
}

static enum status compare(struct motor_job *job, struct error *err)
{
    if (job->count < 2)
        return STATUS_OK;
    job->rows = memory_create(job->count, sizeof *job->rows);
    if (!job->rows)
        return fail_memory(err);
    enum status status = STATUS_OK;
    for (size_t i = 0; !status && i < job->count; i++)
        status = comparison_set(&job->rows[i], &job->steels[i], &job->machine, &job->wanted, err);
    return status;
}

enum status motor_job_run(
    struct motor_job *job, const char *const *paths, size_t count, struct error *err)
{
    job->machine = job->options->machine;
    job->machine.pole_pairs = job->options->pole_pairs;
    enum status status = machine_compute_volume(&job->machine, err);
    if (status)
        return status;
    job->steels = memory_create(count, sizeof *job->steels);
    if (!job->steels)
        return fail_memory(err);
    for (; !status && job->count < count; job->count += !status)
        status = motor_steel_read(paths[job->count], job->options, &job->steels[job->count], err);
    if (!status)
        status = motor_drive_find(
            &job->options->drive, &job->steels[0], &job->machine, &job->wanted, err);
    if (!status)
        status = motor_create(&job->steels[0], &job->machine, &job->wanted, &job->motor, err);
    if (!status)
        status = run_sweep(job, err);
    return status ? status : compare(job, err);
}

void motor_job_clear(struct motor_job *job)
{
    for (size_t i = 0; i < job->count; i++)
        motor_steel_clear(&job->steels[i]);
    memory_destroy(job->steels);
    memory_destroy(job->rows);
    motor_clear(&job->motor);
    sweep_clear(&job->sweep);
    *job = (struct motor_job){0};
}
