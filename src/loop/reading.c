// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop/reading.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"

enum {
    CHUNK = 1 << 14,
    JUDGE_ROWS = 1 << 19, /* rows whose times are looked at together */
    TRACE_ROWS = 1 << 22,
    FILL_LIMIT = 1 << 16, /* missing rows that are filled in between two that are there */
};

/* Power of the part that repeats over that of the rest. */
static const double POWER_FATAL = 0.1, POWER_WARNING = 1.0;

void reading_clear(struct reading *reading)
{
    capture_close(reading->capture);
    periodic_fit_clear(&reading->fit);
    excerpt_clear(&reading->excerpt);
    memory_destroy(reading->column[0]);
    memory_destroy(reading->column[1]);
    *reading = (struct reading){0};
}

static enum status find_channels(struct reading *reading, const struct rig *rig, struct error *err)
{
    const char *names[2] = {rig->excitation.channel, rig->pickup.channel};
    for (int m = 0; m < 2; m++) {
        const enum status status =
            capture_find_channel(reading->capture, names[m], &reading->channel[m], err);
        if (status != STATUS_OK) {
            return status;
        }
    }
    if (reading->channel[0] == reading->channel[1]) {
        const enum status status =
            fail(err, STATUS_INPUT, "give each input its own channel in the rig",
                "inputs.excitation and inputs.pickup both name channel '%s' of '%s'", names[0],
                reading->info->file);
        return setup_name_fault(rig->file, status, err);
    }
    return capture_select(reading->capture, reading->channel, 2, err);
}

enum status reading_open(struct reading *reading, const char *path, const struct rig *rig,
    const struct loop_options *options, struct error *err)
{
    struct capture_options how = options->capture;
    how.is_trace = rig->is_trace;
    how.time_column = how.time_column != NULL ? how.time_column : rig->time_column;
    if (!(how.sample_rate_Hz > 0.0) && rig->sample_rate.is_present) {
        how.sample_rate_Hz = rig->sample_rate.value;
    }
    enum status status = capture_open(path, &how, &reading->capture, err);
    if (status != STATUS_OK) {
        return status;
    }
    reading->info = capture_get_info(reading->capture);
    reading->start_s = how.start_s;
    status = find_channels(reading, rig, err);
    if (status == STATUS_OK && !rig->is_trace && reading->info->timing == CAPTURE_TIMING_NONE) {
        status = fail(err, STATUS_INPUT,
            "give timing.time (the column's name) or timing.sample_rate in the rig, or "
            "timing.trace: "
            "yes for one slow traverse",
            "'%s' has no time column", reading->info->file);
    }
    if (status == STATUS_OK && rig->is_trace && reading->info->kind == CAPTURE_AUDIO) {
        status = setup_name_fault(rig->file,
            fail(err, STATUS_INPUT, "leave timing.trace out of the rig for audio files",
                "'%s' is an audio file, not a trace", reading->info->file),
            err);
    }
    return status;
}

/* ---- traces ---- */

static enum status take_trace(struct reading *reading, struct error *err)
{
    double *values = memory_create(2 * CHUNK, sizeof *values);
    enum status status = values == NULL ? fail_memory(err) : STATUS_OK;
    for (size_t got = 1; status == STATUS_OK && got > 0;) {
        status = capture_read(reading->capture, CHUNK, values, NULL, &got, err);
        for (size_t n = 0; status == STATUS_OK && n < got; n++) {
            if (!isfinite(values[2 * n]) || !isfinite(values[2 * n + 1])) {
                continue;
            }
            if (reading->rows == reading->row_capacity) {
                const size_t more = reading->row_capacity == 0 ? 4096 : 2 * reading->row_capacity;
                double *h = memory_resize(reading->column[0], more, sizeof *h);
                reading->column[0] = h != NULL ? h : reading->column[0];
                double *b = memory_resize(reading->column[1], more, sizeof *b);
                reading->column[1] = b != NULL ? b : reading->column[1];
                if (h == NULL || b == NULL) {
                    status = fail_memory(err);
                    break;
                }
                reading->row_capacity = more;
            }
            if (reading->rows == TRACE_ROWS) {
                status =
                    fail(err, STATUS_INPUT, "thin the table: a trace needs a few thousand rows",
                        "'%s' has more than %d rows", reading->info->file, TRACE_ROWS);
                break;
            }
            reading->column[0][reading->rows] = values[2 * n];
            reading->column[1][reading->rows++] = values[2 * n + 1];
        }
    }
    memory_destroy(values);
    return status;
}

/* ---- periodic captures ---- */

static enum status take_even(struct reading *reading, struct periodic *periodic, struct error *err)
{
    const double *values;
    size_t got = 1;
    enum status status = STATUS_OK;
    while (status == STATUS_OK && got > 0) {
        status = capture_take(reading->capture, &values, &got, err);
        if (status == STATUS_OK) {
            survey_add(&reading->survey, values, got);
            status = excerpt_add(&reading->excerpt, values, got, err);
        }
        if (status == STATUS_OK) {
            status = periodic_add(periodic, values, NULL, got, err);
        }
    }
    return status;
}

/* Rows with times: the first of them are judged together. */
struct timed {
    double *values; /* two to a row */
    double *times;
    size_t count;
    double next; /* on a grid: the index due */
    size_t row;  /* of the first of them in the table, from 0 */
};

static enum status timed_init(struct timed *timed, struct error *err)
{
    *timed = (struct timed){.values = memory_create(2 * JUDGE_ROWS, sizeof *timed->values),
        .times = memory_create(JUDGE_ROWS, sizeof *timed->times)};
    return timed->values == NULL || timed->times == NULL ? fail_memory(err) : STATUS_OK;
}

static void timed_clear(struct timed *timed)
{
    memory_destroy(timed->values);
    memory_destroy(timed->times);
}

static enum status timed_fill(struct timed *timed, struct reading *reading, struct error *err)
{
    timed->row += timed->count;
    timed->count = 0;
    for (size_t got = 1; got > 0 && timed->count < JUDGE_ROWS; timed->count += got) {
        const enum status status = capture_read(reading->capture, JUDGE_ROWS - timed->count,
            timed->values + 2 * timed->count, timed->times + timed->count, &got, err);
        if (status != STATUS_OK) {
            return status;
        }
    }
    return STATUS_OK;
}

/* Rows that lie on the grid go to their places; places without a row are missing samples. */
static enum status add_on_grid(
    struct timed *timed, struct reading *reading, struct periodic *periodic, struct error *err)
{
    const double start = reading->sampling.start_s, interval = reading->sampling.interval_s;
    const double slack = 0.5 * reading->info->time_quantum_s + 1e-3 * interval;
    const double hole[2] = {NAN, NAN};
    for (size_t n = 0; n < timed->count;) {
        size_t run = 0; /* rows that follow one another without a hole: the usual case */
        while (n + run < timed->count) {
            const double time = timed->times[n + run];
            const double place =
                isfinite(time) ? round((time - start) / interval) : timed->next + (double)run;
            if (isfinite(time) && fabs(start + place * interval - time) > slack) {
                return fail(err, STATUS_INPUT, "cut the stretch out with --start and --length",
                    "row %zu of '%s' leaves the even clock of %.9g s that the rows before keep",
                    timed->row + n + run + 1, reading->info->file, interval);
            }
            if (place != timed->next + (double)run) {
                break;
            }
            run++;
        }
        enum status status = STATUS_OK;
        if (run > 0) {
            status = excerpt_add(&reading->excerpt, timed->values + 2 * n, run, err);
            if (status == STATUS_OK) {
                status = periodic_add(periodic, timed->values + 2 * n, NULL, run, err);
            }
            timed->next += (double)run;
            n += run;
        } else {
            const double lack = round((timed->times[n] - start) / interval) - timed->next;
            if (!(lack > 0.0 && lack <= FILL_LIMIT)) {
                return fail(err, STATUS_INPUT, "cut the table there with --start and --length",
                    "row %zu of '%s' jumps by %.9g s", timed->row + n + 1, reading->info->file,
                    lack * interval);
            }
            status = excerpt_add_missing(&reading->excerpt, (size_t)lack, err);
            for (size_t i = 0; status == STATUS_OK && i < (size_t)lack; i++) {
                status = periodic_add(periodic, hole, NULL, 1, err);
            }
            timed->next += lack;
        }
        if (status != STATUS_OK) {
            return status;
        }
    }
    return STATUS_OK;
}

static enum status create_periodic(const struct capture_info *info,
    const struct loop_options *options, double rate, struct periodic **periodic, struct error *err)
{
    const struct periodic_options how = {.channels = 2,
        .sample_rate_Hz = rate,
        .is_complete = info->kind == CAPTURE_AUDIO && !info->is_float,
        .harmonics = options->harmonics,
        .frequency_Hz = options->frequency_Hz};
    *periodic = periodic_create(&how, err);
    return *periodic == NULL ? STATUS_FAULT : STATUS_OK;
}

static enum status take_timed(struct reading *reading, const struct loop_options *options,
    struct periodic **periodic, struct error *err)
{
    struct timed timed;
    enum status status = timed_init(&timed, err);
    if (status == STATUS_OK) {
        status = timed_fill(&timed, reading, err);
    }
    if (status == STATUS_OK) {
        status = sampling_judge(
            timed.times, timed.count, reading->info->time_quantum_s, 0, &reading->sampling, err);
    }
    if (status == STATUS_OK) {
        reading->has_sampling = true;
        reading->sample_rate_Hz =
            reading->sampling.is_grid ? 1.0 / reading->sampling.interval_s : 0.0;
        status = create_periodic(reading->info, options, reading->sample_rate_Hz, periodic, err);
    }
    while (status == STATUS_OK && timed.count > 0) {
        survey_add(&reading->survey, timed.values, timed.count);
        status = reading->sampling.is_grid
                     ? add_on_grid(&timed, reading, *periodic, err)
                     : periodic_add(*periodic, timed.values, timed.times, timed.count, err);
        if (status == STATUS_OK) {
            status = timed_fill(&timed, reading, err);
        }
    }
    timed_clear(&timed);
    return status;
}

static const char *const failure_code[] = {
    [PERIODIC_FINE] = "not-periodic",
    [PERIODIC_SHORT] = "short",
    [PERIODIC_ABSENT] = "not-periodic",
    [PERIODIC_UNFIT] = "undersampled",
};

/* The reason why there is no fit is a note too. */
static void note_failure(
    const struct periodic *periodic, struct notes *notes, const struct error *err)
{
    notes_add(notes, failure_code[periodic_get_failure(periodic)], NOTE_FATAL,
        err != NULL ? err->hint : "", "%s", err != NULL ? err->message : "no periodic fit");
    double value, limit;
    const char *key = periodic_get_failure_count(periodic, &value, &limit);
    if (key != NULL) {
        notes_add_measure(notes, key, value, limit);
    }
}

static enum status read_in_vain(struct reading *reading, struct error *err)
{
    double *values = memory_create(2 * CHUNK, sizeof *values);
    double *times = memory_create(CHUNK, sizeof *times);
    enum status status = values == NULL || times == NULL ? fail_memory(err) : STATUS_OK;
    for (size_t got = 1; status == STATUS_OK && got > 0;) {
        status = capture_read(reading->capture, CHUNK, values, times, &got, err);
    }
    memory_destroy(values);
    memory_destroy(times);
    return status;
}

static enum status take_in_vain(struct reading *reading, struct error *err)
{
    const double *values;
    size_t got = 1;
    enum status status = STATUS_OK;
    while (status == STATUS_OK && got > 0) {
        status = capture_take(reading->capture, &values, &got, err);
    }
    return status;
}

/* Reads on to the end after a failure, so that the capture is told all the same. */
static void finish_in_vain(struct reading *reading)
{
    struct error ignored;
    enum status status = reading->info->timing == CAPTURE_TIMING_ROWS
                             ? read_in_vain(reading, &ignored)
                             : take_in_vain(reading, &ignored);
    if (status == STATUS_OK) {
        const enum status end = capture_finish(reading->capture, &ignored);
        (void)end; /* the first failure is told */
    }
}

/* How much of what moves is explained by a cycle: with a tenth of the power of the rest a long
 * record still shows its mean cycle, and u tells how well; below, the rest is no noise any more. */
static enum status check_power(
    const struct periodic_fit *fit, int m, struct notes *notes, struct error *err)
{
    const char *input = m == 0 ? "excitation" : "pickup";
    const double rest = fit->noise_rms[m] * fit->noise_rms[m];
    double power = 0.0;
    for (size_t k = 1; k <= fit->harmonics; k++) {
        power += 0.5 * cabs(fit->coefficient[m][k]) * cabs(fit->coefficient[m][k]);
    }
    if (!(power < POWER_WARNING * rest)) {
        return STATUS_OK;
    }
    const bool is_fatal = power < POWER_FATAL * rest;
    notes_add(notes, "not-periodic", is_fatal ? NOTE_FATAL : NOTE_WARNING,
        "check that the excitation runs steadily and that both inputs are connected",
        "the %s input is %s periodic: the part that repeats has %.2g of the power of the rest "
        "(limit %.1g)",
        input, is_fatal ? "not" : "hardly", power / rest, is_fatal ? POWER_FATAL : POWER_WARNING);
    notes_set_subject(notes, input);
    notes_add_measure(
        notes, "periodic_over_rest_power", power / rest, is_fatal ? POWER_FATAL : POWER_WARNING);
    const struct note *note = notes_find_fatal(notes);
    return note == NULL ? STATUS_OK : fail(err, STATUS_CAPTURE, note->hint, "%s", note->message);
}

static enum status finish_fit(
    struct reading *reading, struct periodic *periodic, struct notes *notes, struct error *err)
{
    enum status status = periodic_finish(periodic, &reading->fit, err);
    if (status == STATUS_CAPTURE) {
        note_failure(periodic, notes, err);
        return status;
    }
    for (int m = 0; status == STATUS_OK && m < 2; m++) {
        status = check_power(&reading->fit, m, notes, err);
    }
    if (status == STATUS_OK && reading->sample_rate_Hz > 0.0) {
        status =
            stray_find(reading->excerpt.values, reading->excerpt.count, reading->sample_rate_Hz,
                &reading->fit, READING_STRAYS, reading->strays, &reading->stray_count, err);
    }
    return status;
}

static enum status take_periodic(struct reading *reading, const struct loop_options *options,
    struct notes *notes, struct error *err)
{
    struct periodic *periodic = NULL;
    enum status status;
    survey_init(&reading->survey);
    if (reading->info->timing == CAPTURE_TIMING_ROWS) {
        status = take_timed(reading, options, &periodic, err);
    } else {
        reading->sample_rate_Hz = reading->info->sample_rate_Hz;
        status = create_periodic(reading->info, options, reading->sample_rate_Hz, &periodic, err);
        if (status == STATUS_OK) {
            status = take_even(reading, periodic, err);
        }
    }
    if (status == STATUS_CAPTURE) {
        note_failure(periodic, notes, err);
        finish_in_vain(reading);
    }
    if (status == STATUS_OK) {
        status = capture_finish(reading->capture, err);
    }
    if (status == STATUS_OK) {
        status = finish_fit(reading, periodic, notes, err);
    }
    if (status == STATUS_OK) {
        reading->length_s = reading->fit.duration_s;
    } else if (reading->sample_rate_Hz > 0.0) {
        reading->length_s = (double)reading->info->frames / reading->sample_rate_Hz;
    }
    periodic_destroy(periodic);
    return status;
}

enum status reading_take(struct reading *reading, const struct rig *rig,
    const struct loop_options *options, struct notes *notes, struct error *err)
{
    if (!rig->is_trace) {
        return take_periodic(reading, options, notes, err);
    }
    const enum status status = take_trace(reading, err);
    return status != STATUS_OK ? status : capture_finish(reading->capture, err);
}
