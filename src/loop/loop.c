// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop/loop.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "loop/convert.h"
#include "loop/direction.h"
#include "loop/evidence.h"
#include "loop/reading.h"
#include "loop/trace.h"

/* The strongest harmonic of the excitation, if even or odd, over what was taken for its
 * fundamental.
 */
static const double EVEN_LIMIT = 1.0, ODD_LIMIT = 1.5;

void loop_clear(struct loop *loop)
{
    memory_destroy(loop->file);
    fourier_loop_clear(&loop->series);
    fourier_loop_clear(&loop->basis.recorded);
    memory_destroy(loop->trace_field);
    memory_destroy(loop->trace_flux_density);
    memory_destroy(loop->blocks);
    notes_clear(&loop->notes);
    *loop = (struct loop){0};
}

static double get_density(const struct specimen *specimen)
{
    return specimen->density.is_present ? specimen->density.value : 0.0;
}

/* Type A: the standard deviation of the blocks' mean (JCGM 100, 4.2.3). */
static void set_scatter(struct loop *loop)
{
    const double n = (double)loop->block_count;
    for (size_t i = 0; i < FIGURE_COUNT && loop->block_count >= 3; i++) {
        if (!loop->figures.list[i].is_present || i == FIGURE_FREQUENCY || i == FIGURE_CYCLES ||
            i == FIGURE_HARMONICS) {
            continue;
        }
        double sum = 0.0, squares = 0.0;
        bool complete = true;
        for (size_t b = 0; b < loop->block_count; b++) {
            complete = complete && loop->blocks[b].list[i].is_present;
            sum += loop->blocks[b].list[i].value - loop->figures.list[i].value;
        }
        for (size_t b = 0; b < loop->block_count; b++) {
            const double d = loop->blocks[b].list[i].value - loop->figures.list[i].value - sum / n;
            squares += d * d;
        }
        if (complete) {
            figures_set_u(&loop->figures, (enum figure)i, sqrt(squares / (n - 1.0) / n));
        }
    }
}

/* The figures of each block alone. */
static enum status compute_blocks(struct loop *loop, const struct conversion *conversion,
    const struct periodic_fit *fit, double density, struct error *err)
{
    memory_destroy(loop->blocks);
    loop->block_count = 0;
    loop->blocks = memory_create(fit->block_count + 1, sizeof *loop->blocks);
    struct fourier_loop series = {0};
    enum status status = fourier_loop_create(&series, fit->harmonics, err);
    if (status == STATUS_OK && loop->blocks == NULL) {
        status = fail_memory(err);
    }
    for (size_t b = 0; status == STATUS_OK && b < fit->block_count; b++) {
        conversion_apply(conversion, fit->frequency_Hz, fit->blocks[b].coefficient[0],
            fit->blocks[b].coefficient[1], &series);
        status = fourier_loop_compute_figures(
            &series, fit->frequency_Hz, density, &loop->blocks[b], err);
        loop->block_count += status == STATUS_OK;
    }
    fourier_loop_clear(&series);
    return status;
}

/* Series, figures, those of the blocks and their scatter. */
static enum status compute_all(struct loop *loop, const struct conversion *conversion,
    const struct periodic_fit *fit, double density, struct error *err)
{
    conversion_apply(
        conversion, fit->frequency_Hz, fit->coefficient[0], fit->coefficient[1], &loop->series);
    enum status status = fourier_loop_compute_figures(
        &loop->series, fit->frequency_Hz, density, &loop->figures, err);
    if (status == STATUS_OK) {
        status = compute_blocks(loop, conversion, fit, density, err);
    }
    set_scatter(loop);
    return status;
}

static enum status keep_basis(struct loop *loop, const struct periodic_fit *fit, struct error *err)
{
    struct loop_basis *basis = &loop->basis;
    const enum status status = fourier_loop_create(&basis->recorded, fit->harmonics, err);
    if (status != STATUS_OK) {
        return status;
    }
    for (size_t k = 0; k <= fit->harmonics; k++) {
        basis->recorded.field[k] = fit->coefficient[0][k];
        basis->recorded.flux_density[k] =
            loop->is_reversed ? -fit->coefficient[1][k] : fit->coefficient[1][k];
    }
    memcpy(basis->noise_rms, fit->noise_rms, sizeof basis->noise_rms);
    basis->frames = fit->frames;
    for (size_t b = 0; b < fit->block_count && fit->frames > 0.0; b++) {
        basis->block_share += fit->blocks[b].frames / fit->frames;
    }
    return STATUS_OK;
}

static enum status build_series(struct loop *loop, const struct conversion *conversion,
    const struct periodic_fit *fit, const struct specimen *specimen, struct error *err)
{
    const double density = get_density(specimen);
    enum status status = fourier_loop_create(&loop->series, fit->harmonics, err);
    if (status != STATUS_OK) {
        return status;
    }
    status = compute_all(loop, conversion, fit, density, err);
    if (status == STATUS_OK) {
        direction_judge(loop, fit);
    }
    if (status == STATUS_OK && loop->is_reversed) {
        /* not B as a whole is turned: its part from the field itself (air flux, mu0 H) keeps its
         * sign */
        struct conversion turned = *conversion;
        turned.pickup_gain = -turned.pickup_gain;
        status = compute_all(loop, &turned, fit, density, err);
    }
    if (status == STATUS_OK) {
        status = keep_basis(loop, fit, err);
    }
    if (status != STATUS_OK) {
        return status;
    }
    figures_set(&loop->figures, FIGURE_CYCLES, fit->cycles);
    figures_set_u(&loop->figures, FIGURE_FREQUENCY, fit->u_frequency_Hz);
    if (conversion->keeps_bias) {
        figures_set(&loop->figures, FIGURE_FIELD_BIAS, creal(loop->series.field[0]));
    }
    return status;
}

/* A capture that cannot support a result: the reason is a fatal note too, so that JSON tells it. */
static enum status fail_by_note(struct loop *loop, struct error *err)
{
    const struct note *fatal = notes_find_fatal(&loop->notes);
    return fatal == NULL
               ? STATUS_OK
               : fail(err, STATUS_CAPTURE, fatal->hint, "%s: %s", fatal->code, fatal->message);
}

/* From times as the sample clock tells them to true ones. */
static void set_clock(struct reading *reading, const struct rig *rig)
{
    if (rig->clock.is_present) {
        reading->fit.frequency_Hz *= rig->clock.value;
        reading->fit.u_frequency_Hz *= rig->clock.value;
        reading->fit.duration_s /= rig->clock.value;
        for (size_t i = 0; i < reading->stray_count; i++) {
            reading->strays[i].frequency_Hz *= rig->clock.value;
            reading->strays[i].width_Hz *= rig->clock.value;
        }
    }
}

/* A tone near half the drive's frequency, or samples too few in a cycle, can pass for the
 * fundamental: then the drive shows as a harmonic of it. The current even of a ring in saturation
 * has no harmonic that is stronger than its fundamental. */
static enum status check_fundamental(
    struct loop *loop, const struct periodic_fit *fit, struct error *err)
{
    size_t strongest = 1;
    for (size_t k = 2; k <= fit->harmonics; k++) {
        strongest =
            cabs(fit->coefficient[0][k]) > cabs(fit->coefficient[0][strongest]) ? k : strongest;
    }
    const double ratio = cabs(fit->coefficient[0][strongest]) / cabs(fit->coefficient[0][1]);
    const double limit = strongest % 2 == 0 ? EVEN_LIMIT : ODD_LIMIT;
    if (!(ratio > limit)) {
        return STATUS_OK;
    }
    notes_add(&loop->notes, "not-periodic", NOTE_FATAL,
        "say what it is with --fundamental, remove the tone, or record longer",
        "%.6g Hz, in which both inputs repeat, is not the drive's frequency: the excitation is "
        "%.3g "
        "times as strong at %zu times that (limit %.2g); a foreign tone stands near a part of it",
        fit->frequency_Hz, ratio, strongest, limit);
    notes_set_subject(&loop->notes, "excitation");
    notes_add_measure(&loop->notes, "strongest_over_fundamental", ratio, limit);
    notes_add_number(&loop->notes, "strongest_harmonic", (double)strongest);
    return fail_by_note(loop, err);
}

static enum status build_periodic(struct loop *loop, struct reading *reading,
    const struct conversion *conversion, const struct rig *rig, const struct specimen *specimen,
    const struct loop_options *options, struct error *err)
{
    set_clock(reading, rig);
    enum status status =
        options->frequency_Hz > 0.0 ? STATUS_OK : check_fundamental(loop, &reading->fit, err);
    if (status == STATUS_OK) {
        status = build_series(loop, conversion, &reading->fit, specimen, err);
    }
    if (status != STATUS_OK) {
        return status;
    }
    struct conversion applied = *conversion;
    applied.pickup_gain *= loop->is_reversed ? -1.0 : 1.0;
    const struct evidence evidence = {.info = reading->info,
        .rig = rig,
        .conversion = &applied,
        .excerpt = &reading->excerpt,
        .strays = reading->strays,
        .stray_count = reading->stray_count,
        .specimen = specimen,
        .survey = &reading->survey,
        .fit = &reading->fit,
        .sampling = reading->has_sampling ? &reading->sampling : NULL,
        .loop = loop,
        .today = options->today};
    evidence_add_notes(&evidence, &loop->notes);
    return fail_by_note(loop, err);
}

static enum status trace_init(struct trace *trace, size_t rows, struct error *err)
{
    *trace = (struct trace){.field = memory_create(rows + 1, sizeof *trace->field),
        .flux_density = memory_create(rows + 1, sizeof *trace->flux_density),
        .count = rows};
    return trace->field == NULL || trace->flux_density == NULL ? fail_memory(err) : STATUS_OK;
}

static void convert_rows(const struct reading *reading, const struct conversion *conversion,
    double sign, struct trace *trace)
{
    struct conversion signed_one = *conversion;
    signed_one.pickup_gain *= sign;
    for (size_t i = 0; i < trace->count; i++) {
        conversion_apply_row(&signed_one, reading->column[0][i], reading->column[1][i],
            &trace->field[i], &trace->flux_density[i]);
    }
}

/* The reason why a trace is no loop is a note too. */
static void note_open_trace(struct loop *loop, const struct trace *trace, const struct error *err)
{
    const bool is_short = trace->count < TRACE_ROWS_LEAST;
    notes_add(&loop->notes, is_short ? "short" : "no-loop", NOTE_FATAL,
        err != NULL ? err->hint : "", "%s",
        err != NULL ? err->message : "the rows do not make a loop");
    if (is_short) {
        notes_add_measure(&loop->notes, "rows", (double)trace->count, TRACE_ROWS_LEAST);
    }
}

static enum status build_trace(struct loop *loop, struct reading *reading,
    const struct conversion *conversion, const struct rig *rig, const struct specimen *specimen,
    const struct loop_options *options, struct error *err)
{
    struct trace trace;
    enum status status = trace_init(&trace, reading->rows, err);
    if (status != STATUS_OK) {
        trace_clear(&trace);
        return status;
    }
    convert_rows(reading, conversion, 1.0, &trace);
    struct evidence evidence = {.info = reading->info,
        .rig = rig,
        .specimen = specimen,
        .loop = loop,
        .today = options->today};
    evidence.trace_dropped = trace_cut_overrun(&trace);
    direction_judge_trace(loop, &trace);
    if (loop->is_reversed) {
        convert_rows(reading, conversion, -1.0, &trace);
    }
    status = trace_compute_figures(&trace, rig->drift, &loop->figures, err);
    if (status == STATUS_CAPTURE) {
        note_open_trace(loop, &trace, err);
    }
    loop->is_trace = true;
    loop->trace_field = trace.field;
    loop->trace_flux_density = trace.flux_density;
    loop->trace_count = trace.count;
    if (status != STATUS_OK) {
        return status;
    }
    evidence_add_notes(&evidence, &loop->notes);
    return fail_by_note(loop, err);
}

static void set_capture(struct loop *loop, const struct reading *reading)
{
    const struct capture_info *info = reading->info;
    memcpy(loop->sha256, info->sha256, sizeof loop->sha256);
    loop->channels = info->channel_count;
    loop->frames = info->frames;
    loop->basis.is_audio = info->kind == CAPTURE_AUDIO;
    loop->sample_rate_Hz = reading->sample_rate_Hz;
    loop->start_s = reading->start_s;
    loop->length_s = reading->length_s;
}

enum status loop_read(const char *path, const struct rig *rig, const struct specimen *specimen,
    const struct loop_options *options, struct loop *loop, struct error *err)
{
    struct reading reading = {0};
    struct conversion conversion;
    *loop = (struct loop){.file = memory_copy_text(text_base_name(path))};
    enum status status =
        loop->file == NULL ? fail_memory(err) : reading_open(&reading, path, rig, options, err);
    if (status == STATUS_OK) {
        status = conversion_init(
            &conversion, rig, specimen, reading.info, reading.channel[0], reading.channel[1], err);
    }
    if (status == STATUS_OK) {
        status = reading_take(&reading, rig, options, &loop->notes, err);
        set_capture(loop, &reading);
    }
    if (status == STATUS_OK) {
        status = rig->is_trace
                     ? build_trace(loop, &reading, &conversion, rig, specimen, options, err)
                     : build_periodic(loop, &reading, &conversion, rig, specimen, options, err);
    }
    reading_clear(&reading);
    if (status == STATUS_OK && loop->notes.failed) {
        status = fail_memory(err);
    }
    if (status != STATUS_OK && status != STATUS_CAPTURE) {
        loop_clear(loop);
    }
    return status;
}
