// SPDX-License-Identifier: GPL-3.0-or-later
/* What stands in a ring.yaml. docs/virtual.md explains every key. */
#include "virtual/ring_schema.h"

#include <stddef.h>

#include "setup/tables.h"

static const struct schema_range frequency_range = {.lowest = 0,
    .highest = 1e6,
    .said = "more than 0, at most 1 MHz",
    .slip = "did you mean Hz or kHz?"};
static const struct schema_range field_range = {.lowest = 0,
    .highest = 1e7,
    .said = "more than 0, at most 10 MA/m",
    .slip = "did you mean A/m or kA/m?"};
static const struct schema_range flux_range = {.lowest = 0,
    .highest = 20,
    .said = "more than 0, at most 20 T",
    .slip = "did you mean mT or T?"};
static const struct schema_range harmonics_range = {.lowest = 1,
    .highest = 2000,
    .is_lowest_allowed = true,
    .said = "1 to 2000",
    .slip = "99 suits most loops"};
static const struct schema_range rate_range = {.lowest = 0,
    .highest = 1e8,
    .said = "more than 0, at most 100 MHz",
    .slip = "did you mean Hz or kHz?"};
static const struct schema_range time_range = {.lowest = 0,
    .highest = 1e5,
    .said = "more than 0, at most 100000 s",
    .slip = "did you mean s or ms?"};
static const struct schema_range cycles_range = {
    .lowest = 0, .highest = 1e8, .said = "more than 0, at most 1e8", .slip = "they may be broken"};
static const struct schema_range rows_range = {.lowest = 8,
    .highest = 1e10,
    .is_lowest_allowed = true,
    .said = "8 to 1e10",
    .slip = "rows of a table are counted without its header"};
static const struct schema_range channels_range = {.lowest = 1,
    .highest = 64,
    .is_lowest_allowed = true,
    .said = "1 to 64",
    .slip = "the rig says which two carry the signals"};
static const struct schema_range overrun_range = {.lowest = 0,
    .highest = 0.5,
    .is_lowest_allowed = true,
    .said = "0 to 0.5",
    .slip = "it is the part of a cycle that is passed twice"};
static const struct schema_range digits_range = {.lowest = 1,
    .highest = 17,
    .is_lowest_allowed = true,
    .said = "1 to 17",
    .slip = "leave it out for as many as are needed"};
static const struct schema_range small_range = {.lowest = -0.5,
    .highest = 0.5,
    .is_lowest_allowed = true,
    .said = "-50 % to 50 %",
    .slip = "did you mean % or ppm?"};
static const struct schema_range skew_range = {.lowest = -1,
    .highest = 1,
    .is_lowest_allowed = true,
    .said = "-1 s to 1 s",
    .slip = "did you mean us or ms?"};
static const struct schema_range excess_range = {.lowest = 0,
    .highest = 1e6,
    .is_lowest_allowed = true,
    .said = "0 to 1e6",
    .slip = "it is in J/m3 and root hertz at 1 T"};
static const struct schema_range count_range = {.lowest = 1,
    .highest = 1e9,
    .is_lowest_allowed = true,
    .said = "1 to 1e9",
    .slip = "it counts rows or gaps"};

static const struct schema_range share_range = {.lowest = -0.1,
    .highest = 0.1,
    .is_lowest_allowed = true,
    .said = "-10 % to 10 %",
    .slip = "did you mean % or ppm?"};
static const struct schema_range resistance_range = {.lowest = 0,
    .highest = 1e6,
    .said = "more than 0, at most 1 Mohm",
    .slip = "did you mean mohm or ohm?"};
static const struct schema_range inductance_range = {.lowest = 0,
    .highest = 1,
    .is_lowest_allowed = true,
    .said = "0 to 1 H",
    .slip = "did you mean nH or uH?"};

const struct schema_word ring_kind_words[] = {{"loop", RING_KIND_LOOP},
    {"loopback", RING_KIND_LOOPBACK}, {"tone", RING_KIND_TONE}, {"empty coil", RING_KIND_COIL},
    {"shunt comparison", RING_KIND_SHUNT}, {NULL, 0}};
static const struct schema_word input_words[] = {
    {"excitation", RING_EXCITATION}, {"pickup", RING_PICKUP}, {NULL, 0}};
const struct schema_word ring_format_words[] = {{"wav", RING_WAV}, {"w64", RING_W64},
    {"rf64", RING_RF64}, {"aiff", RING_AIFF}, {"caf", RING_CAF}, {"flac", RING_FLAC},
    {"au", RING_AU}, {"csv", RING_CSV}, {"tsv", RING_TSV}, {"txt", RING_TXT}, {NULL, 0}};
const struct schema_word ring_encoding_words[] = {{"pcm16", AUDIO_PCM16}, {"pcm24", AUDIO_PCM24},
    {"pcm32", AUDIO_PCM32}, {"float", AUDIO_FLOAT}, {"double", AUDIO_DOUBLE}, {NULL, 0}};
const struct schema_word ring_missing_words[] = {{"dropped", RING_MISSING_DROPPED},
    {"blank", RING_MISSING_BLANK}, {"held", RING_MISSING_HELD}, {"repeated", RING_MISSING_REPEATED},
    {NULL, 0}};
static const struct schema_word separator_words[] = {
    {"comma", ','}, {"semicolon", ';'}, {"tab", '\t'}, {"blank", ' '}, {NULL, 0}};
static const struct schema_word decimal_words[] = {{"point", '.'}, {"comma", ','}, {NULL, 0}};
static const struct schema_word header_words[] = {{"yes", false}, {"no", true}, {NULL, 0}};

#define AT(member) .offset = offsetof(struct ring, member)
#define VALUE(member, kind, limits)                                                                \
    SCHEMA_QUANTITY, AT(member), .dimension = DIMENSION_##kind, .range = &(limits)

static const struct schema_entry drive_schema[] = {
    {"frequency", VALUE(drive.frequency, FREQUENCY, frequency_range)},
    {"field_peak", VALUE(drive.field_peak, FIELD_STRENGTH, field_range)},
    {"flux_density_peak", VALUE(drive.flux_density_peak, FLUX_DENSITY, flux_range)},
    {"harmonics", VALUE(drive.harmonics, NUMBER, harmonics_range)},
    {.key = NULL},
};

static const struct schema_entry losses_schema[] = {
    {"eddy_currents", SCHEMA_FLAG, AT(losses.has_eddy_currents), .words = schema_yes_no},
    {"excess", VALUE(losses.excess, NUMBER, excess_range)},
    {.key = NULL},
};

static const struct schema_entry series_schema[] = {
    {"field", SCHEMA_LINES, AT(field.words)},
    {"flux_density", SCHEMA_LINES, AT(flux_density.words)},
    {"voltage", SCHEMA_LINES, AT(voltage.words)},
    {.key = NULL},
};

static const struct schema_entry recording_schema[] = {
    {"name", SCHEMA_TEXT, AT(recording.name)},
    {"kind", SCHEMA_WORD, AT(recording.kind), .words = ring_kind_words},
    {"terminated", SCHEMA_WORD, AT(recording.terminated), .words = input_words},
    {"reference", VALUE(recording.reference, RESISTANCE, resistance_range)},
    {"inductance", VALUE(recording.inductance, INDUCTANCE, inductance_range)},
    {"format", SCHEMA_WORD, .is_required = true, AT(recording.format), .words = ring_format_words},
    {"encoding", SCHEMA_WORD, AT(recording.encoding), .words = ring_encoding_words},
    {"sample_rate", VALUE(recording.sample_rate, FREQUENCY, rate_range)},
    {"duration", VALUE(recording.duration, TIME, time_range)},
    {"cycles", VALUE(recording.cycles, NUMBER, cycles_range)},
    {"rows", VALUE(recording.rows, NUMBER, rows_range)},
    {"phase", SCHEMA_QUANTITY, AT(recording.phase), .dimension = DIMENSION_ANGLE},
    {"channels", VALUE(recording.channels, NUMBER, channels_range)},
    {"overrun", VALUE(recording.overrun, NUMBER, overrun_range)},
    {"jitter", VALUE(recording.jitter, TIME, time_range)},
    {"separator", SCHEMA_WORD, AT(recording.separator), .words = separator_words},
    {"decimal", SCHEMA_WORD, AT(recording.decimal), .words = decimal_words},
    {"digits", VALUE(recording.digits, NUMBER, digits_range)},
    {"time_decimals", VALUE(recording.time_decimals, NUMBER, digits_range)},
    {"header", SCHEMA_FLAG, AT(recording.has_no_header), .words = header_words},
    {"crlf", SCHEMA_FLAG, AT(recording.has_crlf), .words = schema_yes_no},
    {"bom", SCHEMA_FLAG, AT(recording.has_bom), .words = schema_yes_no},
    {.key = NULL},
};

/* The levels of a fault at both inputs, in units that only the rig tells: texts at first. */
#define LEVELS(fault)                                                                              \
    {"excitation", SCHEMA_TEXT, AT(faults.fault.words[RING_EXCITATION])},                          \
    {                                                                                              \
        "pickup", SCHEMA_TEXT, AT(faults.fault.words[RING_PICKUP])                                 \
    }

static const struct schema_entry noise_schema[] = {LEVELS(noise), {.key = NULL}};
static const struct schema_entry offset_schema[] = {LEVELS(offset), {.key = NULL}};
static const struct schema_entry drift_schema[] = {LEVELS(drift), {.key = NULL}};
static const struct schema_entry clipping_schema[] = {LEVELS(clipping), {.key = NULL}};
static const struct schema_entry hum_schema[] = {
    LEVELS(hum),
    {"frequency", VALUE(faults.hum_frequency, FREQUENCY, frequency_range), .is_required = true},
    {"phase", SCHEMA_QUANTITY, AT(faults.hum_phase), .dimension = DIMENSION_ANGLE},
    {.key = NULL},
};
static const struct schema_entry gain_schema[] = {
    {"excitation", VALUE(faults.gain[RING_EXCITATION], NUMBER, small_range)},
    {"pickup", VALUE(faults.gain[RING_PICKUP], NUMBER, small_range)},
    {.key = NULL},
};
static const struct schema_entry coupling_schema[] = {
    {"excitation", VALUE(faults.coupling[RING_EXCITATION], FREQUENCY, frequency_range)},
    {"pickup", VALUE(faults.coupling[RING_PICKUP], FREQUENCY, frequency_range)},
    {.key = NULL},
};
static const struct schema_entry crosstalk_schema[] = {
    {"excitation", VALUE(faults.crosstalk[RING_EXCITATION], NUMBER, share_range)},
    {"pickup", VALUE(faults.crosstalk[RING_PICKUP], NUMBER, share_range)},
    {.key = NULL},
};
static const struct schema_entry reversed_schema[] = {
    {"excitation", SCHEMA_FLAG, AT(faults.is_reversed[RING_EXCITATION]), .words = schema_yes_no},
    {"pickup", SCHEMA_FLAG, AT(faults.is_reversed[RING_PICKUP]), .words = schema_yes_no},
    {.key = NULL},
};
static const struct schema_entry missing_schema[] = {
    {"kind", SCHEMA_WORD, .is_required = true, AT(faults.missing_kind),
        .words = ring_missing_words},
    {"runs", VALUE(faults.missing_runs, NUMBER, count_range), .is_required = true},
    {"length", VALUE(faults.missing_length, NUMBER, count_range), .is_required = true},
    {.key = NULL},
};

static const struct schema_entry faults_schema[] = {
    {"noise", SCHEMA_MAP, .map = noise_schema},
    {"offset", SCHEMA_MAP, .map = offset_schema},
    {"drift", SCHEMA_MAP, .map = drift_schema},
    {"clipping", SCHEMA_MAP, .map = clipping_schema},
    {"hum", SCHEMA_MAP, .map = hum_schema},
    {"gain", SCHEMA_MAP, .map = gain_schema},
    {"coupling", SCHEMA_MAP, .map = coupling_schema},
    {"crosstalk", SCHEMA_MAP, .map = crosstalk_schema},
    {"reversed", SCHEMA_MAP, .map = reversed_schema},
    {"swapped", SCHEMA_FLAG, AT(faults.is_swapped), .words = schema_yes_no},
    {"skew", VALUE(faults.skew, TIME, skew_range)},
    {"clock_error", VALUE(faults.clock_error, NUMBER, small_range)},
    {"amplitude_ramp", VALUE(faults.amplitude_ramp, NUMBER, small_range)},
    {"frequency_drift", VALUE(faults.frequency_drift, NUMBER, small_range)},
    {"missing", SCHEMA_MAP, .map = missing_schema},
    {"aliases", SCHEMA_FLAG, AT(faults.has_aliases), .words = schema_yes_no},
    {.key = NULL},
};

static void fill_parameters(struct schema_entry *table, const struct model *model)
{
    for (size_t i = 0; i < model->parameter_count; i++)
        table[i] = (struct schema_entry){
            .key = model->parameters[i].key,
            .kind = SCHEMA_QUANTITY,
            .is_required = true,
            .offset = offsetof(struct ring_parameters, list) + i * sizeof(struct quantity),
            .dimension = model->parameters[i].dimension,
        };
}

void ring_schema_init(struct ring_schema *schema)
{
    *schema = (struct ring_schema){
        .top = {
            {"model", SCHEMA_MAP, .map = schema->models},
            {"series", SCHEMA_MAP, .map = series_schema},
            {"drive", SCHEMA_MAP, .map = drive_schema},
            {"losses", SCHEMA_MAP, .map = losses_schema, .has_presence = true,
                .presence =
                    offsetof(struct ring, losses) + offsetof(struct ring_losses, is_present)},
            {"recording", SCHEMA_MAP, .is_required = true, .map = recording_schema},
            {"rig", SCHEMA_MAP, .is_required = true, AT(rig), .map = rig_schema},
            {"specimen", SCHEMA_MAP, .is_required = true, AT(specimen), .map = specimen_schema},
            {"faults", SCHEMA_MAP, .map = faults_schema},
            {.key = NULL},
        }};
    size_t count = 0;
    for (size_t i = 0; model_list[i]; i++) {
        if (!model_list[i]->compute_cycle)
            continue;
        fill_parameters(schema->parameters[i], model_list[i]);
        schema->models[count++] = (struct schema_entry){
            .key = model_list[i]->name,
            .kind = SCHEMA_MAP,
            .offset = offsetof(struct ring, models) + i * sizeof(struct ring_parameters),
            .map = schema->parameters[i],
            .has_presence = true,
            .presence = offsetof(struct ring, models) + i * sizeof(struct ring_parameters) +
                        offsetof(struct ring_parameters, is_present),
        };
    }
}
