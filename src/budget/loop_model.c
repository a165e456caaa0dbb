// SPDX-License-Identifier: GPL-3.0-or-later
#include "budget/loop_model.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "loop/convert.h"
#include "loop/trace.h"
#include "num/random.h"
#include "quantity/constant.h"

static const double MU0 = MAGNETIC_CONSTANT;

enum { NOISE_SEED = 20080 };

/* What one thread works with. */
struct bench {
    struct loop_setting setting;
    struct track track;
    struct fourier_loop series;             /* periodic captures */
    struct fourier_loop recorded;           /* the same, with noise of its own */
    double *field, *flux_density, *scratch; /* traces */
    struct conversion nominal;
};

static bool is_trace(const struct loop_model *model)
{
    return model->loop->is_trace;
}

static void bench_destroy(void *work)
{
    struct bench *bench = work;
    if (bench == NULL) {
        return;
    }
    track_clear(&bench->track);
    fourier_loop_clear(&bench->series);
    fourier_loop_clear(&bench->recorded);
    memory_destroy(bench->field);
    memory_destroy(bench->flux_density);
    memory_destroy(bench->scratch);
    memory_destroy(bench);
}

static enum status bench_init(struct bench *bench, const struct loop_model *model)
{
    const struct loop *loop = model->loop;
    loop_setting_init(&bench->setting, loop, model->rig, model->specimen);
    enum status status =
        conversion_set(&bench->nominal, model->rig, model->specimen, loop->basis.is_audio, NULL);
    if (status == STATUS_OK && is_trace(model)) {
        bench->field = memory_create(loop->trace_count + 1, sizeof *bench->field);
        bench->flux_density = memory_create(loop->trace_count + 1, sizeof *bench->flux_density);
        bench->scratch = memory_create(loop->trace_count + 1, sizeof *bench->scratch);
        return bench->field == NULL || bench->flux_density == NULL || bench->scratch == NULL
                   ? STATUS_FAULT
                   : STATUS_OK;
    }
    if (status == STATUS_OK) {
        status = track_copy(&bench->track, &model->track, NULL);
    }
    if (status == STATUS_OK) {
        status = fourier_loop_create(&bench->series, loop->series.harmonics, NULL);
    }
    return status == STATUS_OK ? fourier_loop_create(&bench->recorded, loop->series.harmonics, NULL)
                               : status;
}

static void *bench_create(const void *subject)
{
    struct bench *bench = memory_create(1, sizeof *bench);
    if (bench != NULL && bench_init(bench, subject) != STATUS_OK) {
        bench_destroy(bench);
        bench = NULL;
    }
    return bench;
}

static double get_density(const struct specimen *specimen)
{
    return specimen->density.is_present ? specimen->density.value : 0.0;
}

static double get_factor(const struct quantity *quantity)
{
    return quantity->is_present ? quantity->value : 1.0;
}

/* The true frequency: the clock's factor has been put into the nominal one already. */
static double get_frequency(const struct loop_model *model, const struct loop_setting *setting)
{
    double frequency = setting->frequency_Hz;
    if (model->rig->clock.is_present) {
        frequency *= setting->rig.clock.value / model->rig->clock.value;
    }
    if (model->rig->sample_rate.is_present && !model->loop->basis.is_audio) {
        frequency *= setting->rig.sample_rate.value / model->rig->sample_rate.value;
    }
    return frequency;
}

/* Geometry and conversion of the setting; false when there is no such ring. */
static bool convert(const struct loop_model *model, struct bench *bench, struct conversion *found)
{
    struct specimen *specimen = &bench->setting.specimen;
    const bool has_geometry = specimen->path_length_m > 0.0;
    if (has_geometry && specimen->area_m2 > 0.0 &&
        specimen_compute_geometry(specimen, NULL) != STATUS_OK) {
        return false;
    }
    return conversion_set(found, &bench->setting.rig, specimen, model->loop->basis.is_audio,
               NULL) == STATUS_OK;
}

/* The recording as it is, converted otherwise. */
static bool expand(const struct loop_model *model, const struct bench *bench,
    const struct conversion *conversion, struct figures *figures)
{
    const struct expansion_trial trial = {.conversion = conversion,
        .frequency_Hz = get_frequency(model, &bench->setting),
        .field_factor = get_factor(&bench->setting.rig.field_repeat),
        .flux_density_factor = get_factor(&bench->setting.rig.flux_density_repeat),
        .density_kg_per_m3 = get_density(&bench->setting.specimen)};
    return expansion_compute(&model->expansion, &trial, figures);
}

/* Any recording, harmonic by harmonic. */
static void follow(const struct loop_model *model, struct bench *bench,
    const struct conversion *conversion, const struct fourier_loop *recorded,
    struct figures *figures)
{
    const double h = get_factor(&bench->setting.rig.field_repeat);
    const double b = get_factor(&bench->setting.rig.flux_density_repeat);
    const double frequency = get_frequency(model, &bench->setting);
    conversion_apply(
        conversion, frequency, recorded->field, recorded->flux_density, &bench->series);
    for (size_t k = 0; k <= bench->series.harmonics; k++) {
        bench->series.field[k] *= h;
        bench->series.flux_density[k] *= b;
    }
    track_compute(
        &bench->track, &bench->series, frequency, get_density(&bench->setting.specimen), figures);
}

static void set_bias(const struct bench *bench, const struct conversion *conversion,
    const struct fourier_loop *recorded, struct figures *figures)
{
    if (conversion->keeps_bias) {
        figures_set(figures, FIGURE_FIELD_BIAS,
            conversion->excitation_gain * creal(recorded->field[0]) *
                get_factor(&bench->setting.rig.field_repeat));
    }
}

static void find_periodic(const struct loop_model *model, struct bench *bench,
    const struct conversion *conversion, struct figures *figures)
{
    const struct fourier_loop *recorded = &model->loop->basis.recorded;
    if (!expand(model, bench, conversion, figures)) {
        follow(model, bench, conversion, recorded, figures);
    }
    set_bias(bench, conversion, recorded, figures);
}

/* The rows of a trace scale with the conversion: with q what the pickup recorded in tesla, B = q -
 * mu0 H air_share (+ mu0 H where J was recorded). A gap that was shared out is put back, so that it
 * is shared out anew. */
static bool find_trace(const struct loop_model *model, struct bench *bench,
    const struct conversion *conversion, struct figures *figures)
{
    const struct loop *loop = model->loop;
    const struct conversion *nominal = &bench->nominal;
    const bool is_polarization = nominal->pickup == PICKUP_LINKAGE_J || nominal->pickup == PICKUP_J;
    const double of_field = MU0 * ((is_polarization ? 1.0 : 0.0) - nominal->air_share);
    const double to_field = MU0 * ((is_polarization ? 1.0 : 0.0) - conversion->air_share);
    double h = conversion->excitation_gain / nominal->excitation_gain;
    double q = conversion->pickup_gain / nominal->pickup_gain;
    if (nominal->pickup <= PICKUP_LINKAGE_J) {
        q *= conversion->linkage_to_density / nominal->linkage_to_density;
    }
    const double gap = model->rig->drift == TRACE_DRIFT_LINEAR
                           ? loop->figures.list[FIGURE_CLOSURE_GAP].value
                           : 0.0;
    for (size_t i = 0; i < loop->trace_count; i++) {
        const double field = loop->trace_field[i];
        const double raw = loop->trace_flux_density[i] +
                           gap * (double)i / (double)(loop->trace_count - 1) - of_field * field;
        bench->field[i] = h * field * get_factor(&bench->setting.rig.field_repeat);
        bench->flux_density[i] =
            (q * raw + to_field * h * field) * get_factor(&bench->setting.rig.flux_density_repeat);
    }
    struct trace trace = {.field = bench->field,
        .flux_density = bench->flux_density,
        .count = loop->trace_count,
        .scratch = bench->scratch};
    if (trace_compute_figures(&trace, model->rig->drift, figures, NULL) != STATUS_OK) {
        return false;
    }
    const double peak = figures->list[FIGURE_FIELD_PEAK].value;
    double *area = &figures->list[FIGURE_LOOP_AREA].value;
    const double before = *area;
    *area += bench->setting.gap * fabs(figures->list[FIGURE_CLOSURE_GAP].value) * peak;
    if (before != 0.0) {
        figures->list[FIGURE_LOOP_FULLNESS].value *= *area / before;
    }
    return true;
}

static void put_outputs(
    const struct loop_model *model, const struct figures *figures, double *outputs)
{
    for (size_t j = 0; j < model->output_count; j++) {
        const struct figure_value *value = &figures->list[model->output[j]];
        outputs[j] = value->is_present ? value->value : NAN;
    }
}

static void compute(const void *subject, void *work, const double *inputs, double *outputs)
{
    const struct loop_model *model = subject;
    struct bench *bench = work;
    struct conversion conversion;
    struct figures figures = {0};
    loop_setting_set(&bench->setting, model->inputs, inputs);
    if (convert(model, bench, &conversion)) {
        if (!is_trace(model)) {
            find_periodic(model, bench, &conversion, &figures);
        } else if (!find_trace(model, bench, &conversion, &figures)) {
            figures = (struct figures){0};
        }
    }
    put_outputs(model, &figures, outputs);
}

struct budget_model loop_model_get(const struct loop_model *model)
{
    return (struct budget_model){.outputs = model->output_count,
        .subject = model,
        .create_work = bench_create,
        .destroy_work = bench_destroy,
        .compute = compute};
}

static enum status init_periodic(struct loop_model *model, struct error *err)
{
    const struct loop *loop = model->loop;
    const double frequency = loop->figures.list[FIGURE_FREQUENCY].value;
    struct conversion nominal;
    enum status status =
        conversion_set(&nominal, model->rig, model->specimen, loop->basis.is_audio, err);
    if (status == STATUS_OK) {
        status = track_create(&model->track, &loop->series, &loop->figures, err);
    }
    return status != STATUS_OK ? status
                               : expansion_create(&model->expansion, &loop->basis.recorded,
                                     &nominal, frequency, &model->track, err);
}

enum status loop_model_create(struct loop_model *model, const struct loop *loop,
    const struct rig *rig, const struct specimen *specimen, const struct loop_inputs *inputs,
    struct error *err)
{
    *model = (struct loop_model){.loop = loop, .rig = rig, .specimen = specimen, .inputs = inputs};
    for (size_t i = 0; i < FIGURE_COUNT; i++) {
        if (loop->figures.list[i].is_present && i != FIGURE_CYCLES && i != FIGURE_HARMONICS) {
            model->output[model->output_count++] = (enum figure)i;
        }
    }
    return loop->is_trace ? STATUS_OK : init_periodic(model, err);
}

void loop_model_clear(struct loop_model *model)
{
    expansion_clear(&model->expansion);
    track_clear(&model->track);
    *model = (struct loop_model){0};
}

static void add_noise(double complex *to, const double complex *from, size_t harmonics, double size,
    struct random *random)
{
    to[0] = from[0] + size * sqrt(0.5) * random_get_normal(random);
    for (size_t k = 1; k <= harmonics; k++) {
        const double real = size * random_get_normal(random);
        to[k] = from[k] + real + I * size * random_get_normal(random);
    }
}

enum status loop_model_simulate(
    const struct loop_model *model, size_t repeats, double *values, struct error *err)
{
    const struct loop_basis *basis = &model->loop->basis;
    struct bench *bench = bench_create(model);
    struct conversion conversion;
    if (bench == NULL) {
        return fail_memory(err);
    }
    const bool is_ready = convert(model, bench, &conversion);
    for (size_t r = 0; is_ready && r < repeats; r++) {
        struct figures figures;
        struct random random;
        random_init(&random, NOISE_SEED, r);
        const double share = sqrt(2.0 / basis->frames);
        add_noise(bench->recorded.field, basis->recorded.field, basis->recorded.harmonics,
            share * basis->noise_rms[0], &random);
        add_noise(bench->recorded.flux_density, basis->recorded.flux_density,
            basis->recorded.harmonics, share * basis->noise_rms[1], &random);
        follow(model, bench, &conversion, &bench->recorded, &figures);
        set_bias(bench, &conversion, &bench->recorded, &figures);
        put_outputs(model, &figures, values + r * model->output_count);
    }
    bench_destroy(bench);
    return is_ready ? STATUS_OK : fail(err, STATUS_FAULT, "", "the loop's setup does not convert");
}
