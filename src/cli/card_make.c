// SPDX-License-Identifier: GPL-3.0-or-later
#include "card/make.h"
#include "cli/card.h"
#include "cli/output.h"
#include "cli/series_models.h"
#include "setup/date.h"

#define POINTS 4096 /* of each captured loop, ahead of thinning */

static enum status check(
    const struct card_command *options, int count, char **words, struct error *err)
{
    long day;
    if (count == 0)
        return fail(err, STATUS_USAGE, "'lodecard card make ring.flac -o card.json'",
            "'card make' needs a capture, a loop's JSON or a table of measured loops");
    if (!options->output)
        return fail(err, STATUS_USAGE, "add -o FILE, or -o - for standard output",
            "'card make' needs a file to write");
    if (options->date && date_read(options->date, &day, err))
        return err->status = STATUS_USAGE;
    return output_check(&options->output, 1, words, (size_t)count, err);
}

/* The models of --model, in the card's own form. */
static enum status add_models(const struct card_command *options, const struct series *series,
    struct card *card, struct error *err)
{
    struct series_models models = {0};
    enum status status =
        series_models_create(series, options->models.list, options->models.count, &models, err);
    if (status)
        return status;
    card->models = card_create_array(card, models.count, sizeof *card->models);
    for (size_t i = 0; card->models && i < models.count; i++) {
        const struct model_fit *fit = &models.fits[i];
        struct text words = {0};
        struct json json;
        json_init(&json, &words, 0);
        model_fit_write_json(&json, fit);
        card->failed |= words.failed;
        card->models[card->model_count++] =
            (struct card_model){.name = card_copy_text(card, fit->material.model->name),
                .form = card_copy_text(card, fit->material.model->form),
                .residual_relative = fit->residual_relative,
                .json = card_copy_text(card, words.bytes)};
        text_clear(&words);
    }
    card_add_model_source(card, models.places, models.loop_count);
    series_models_clear(&models);
    return card->failed ? fail_memory(err) : STATUS_OK;
}

static int run_make(const struct card_command *options, int count, char **words, struct error *err)
{
    struct series series = {0};
    struct card card = {0};
    struct series_options reading = options->series;
    const struct card_options making = {.name = options->name,
        .date = options->date,
        .bound_relative = options->bound_relative,
        .is_smoothed = options->is_smoothed};
    reading.points = POINTS;
    enum status status = check(options, count, words, err);
    if (!status)
        status = series_read((const char *const *)words, (size_t)count, &reading, &series, err);
    if (!status)
        status = card_make(&series, &making, &card, err);
    if (!status && options->models.count)
        status = add_models(options, &series, &card, err);
    if (!status)
        status = card_write_output(options, &card, err);
    card_clear(&card);
    series_clear(&series);
    return (int)status;
}

static const char *const own_options[] = {"output", "name", "date", "bound", "smooth", "model",
    "rig", "specimen", "together", "polarization", "resistivity", "density", "thickness", "jobs",
    NULL};
const struct card_verb card_make_verb = {.name = "make", .options = own_options, .run = run_make};
