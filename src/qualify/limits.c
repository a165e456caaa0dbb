// SPDX-License-Identifier: GPL-3.0-or-later
/* The table of limits.yaml is made from the table of figures, so that a new figure can be limited
 * at once. */
#include "qualify/limits.h"

#include <math.h>
#include <stddef.h>
#include <stdio.h>

#include "base/memory.h"
#include "base/text.h"
#include "quantity/quantity.h"
#include "setup/schema.h"
#include "setup/yaml.h"

#define DEGREE 57.295779513082320876798 /* of a radian */

/* The file as it is written. */
struct limits_pair {
    struct quantity lower, upper;
};
struct limits_file {
    char *name;
    enum decision_rule rule;
    struct limits_pair figures[FIGURE_COUNT];
    struct limits_pair conditions[FIGURE_COUNT];
    bool has_lot;
    struct quantity share, confidence;
};

static const struct schema_word rule_words[] = {
    {"guarded", RULE_GUARDED}, {"simple", RULE_SIMPLE}, {NULL, 0}};
static const struct schema_range share_range = {.lowest = 0.5,
    .highest = 0.999999,
    .is_lowest_allowed = true,
    .said = "0.5 to 0.999999",
    .slip = "95 % of the lot is 0.95 or 95 %"};

#define AT(member) .offset = offsetof(struct limits_file, member)

static const struct schema_entry lot_schema[] = {
    {"share", SCHEMA_QUANTITY, .is_required = true, AT(share), .dimension = DIMENSION_NUMBER,
        .range = &share_range},
    {"confidence", SCHEMA_QUANTITY, .is_required = true, AT(confidence),
        .dimension = DIMENSION_NUMBER, .range = &share_range},
    {.key = NULL},
};

struct limits_schema {
    struct schema_entry top[8];
    struct schema_entry figures[FIGURE_COUNT + 1];
    struct schema_entry conditions[FIGURE_COUNT + 1];
    struct schema_entry pairs[2][FIGURE_COUNT][3];
};

static enum dimension get_dimension(enum figure figure)
{
    enum dimension dimension = DIMENSION_NUMBER;
    double factor, offset;
    const char *unit = figure_table[figure].unit;
    if (unit[0] != '\0' && unit_read(unit, &dimension, &factor, &offset, NULL) != STATUS_OK) {
        return DIMENSION_NUMBER;
    }
    return dimension;
}

static void fill_group(struct schema_entry *group, struct schema_entry (*pairs)[3], size_t offset,
    const enum dimension *dimensions)
{
    for (size_t f = 0; f < FIGURE_COUNT; f++) {
        const size_t here = offset + f * sizeof(struct limits_pair);
        const struct schema_entry end = {.kind = SCHEMA_QUANTITY, .dimension = dimensions[f]};
        pairs[f][0] = pairs[f][1] = end;
        pairs[f][0].key = "lower";
        pairs[f][0].offset = here + offsetof(struct limits_pair, lower);
        pairs[f][1].key = "upper";
        pairs[f][1].offset = here + offsetof(struct limits_pair, upper);
        pairs[f][2] = (struct schema_entry){.key = NULL};
        group[f] =
            (struct schema_entry){.key = figure_table[f].word, .kind = SCHEMA_MAP, .map = pairs[f]};
    }
    group[FIGURE_COUNT] = (struct schema_entry){.key = NULL};
}

static void limits_schema_init(struct limits_schema *schema)
{
    enum dimension dimensions[FIGURE_COUNT];
    for (size_t f = 0; f < FIGURE_COUNT; f++) {
        dimensions[f] = get_dimension((enum figure)f);
    }
    fill_group(
        schema->figures, schema->pairs[0], offsetof(struct limits_file, figures), dimensions);
    fill_group(
        schema->conditions, schema->pairs[1], offsetof(struct limits_file, conditions), dimensions);
    const struct schema_entry top[] = {
        {"name", SCHEMA_TEXT, AT(name)},
        {"rule", SCHEMA_WORD, AT(rule), .words = rule_words},
        {"figures", SCHEMA_MAP, .is_required = true, .map = schema->figures},
        {"conditions", SCHEMA_MAP, .map = schema->conditions},
        {"lot", SCHEMA_MAP, .map = lot_schema, .has_presence = true,
            .presence = offsetof(struct limits_file, has_lot)},
        {.key = NULL},
    };
    for (size_t i = 0; i < sizeof top / sizeof *top; i++) {
        schema->top[i] = top[i];
    }
}

/* A limit is exact, and the lower one stands below the upper one. */
static void check_pair(struct schema_reading *reading, const char *group, size_t figure,
    const struct limits_pair *pair)
{
    char path[128];
    const struct quantity *ends[] = {&pair->lower, &pair->upper};
    for (int end = 0; end < 2; end++) {
        snprintf(path, sizeof path, "%s.%s.%s", group, figure_table[figure].word,
            end == 0 ? "lower" : "upper");
        if (ends[end]->has_uncertainty) {
            schema_add_fault(reading, path,
                "a limit is exact; leave out its '±': the uncertainty of the figures counts");
        }
    }
    if (pair->lower.is_present && pair->upper.is_present &&
        pair->lower.value >= pair->upper.value) {
        schema_add_fault(reading, path, "the upper limit must lie above the lower one");
    }
    snprintf(path, sizeof path, "%s.%s", group, figure_table[figure].word);
    if (schema_has_key(reading, path) && !schema_has_fault(reading, path) &&
        !pair->lower.is_present && !pair->upper.is_present) {
        schema_add_fault(reading, path, "give 'lower', 'upper' or both");
    }
}

static void limits_check(struct schema_reading *reading, void *target)
{
    const struct limits_file *file = target;
    bool has_any = false;
    for (size_t f = 0; f < FIGURE_COUNT; f++) {
        check_pair(reading, "figures", f, &file->figures[f]);
        check_pair(reading, "conditions", f, &file->conditions[f]);
        has_any = has_any || file->figures[f].lower.is_present || file->figures[f].upper.is_present;
    }
    if (!has_any && schema_has_key(reading, "figures") && !schema_has_fault(reading, "figures")) {
        schema_add_fault(
            reading, "figures", "no limit; write one, such as 'coercivity: {lower: 17.5 kA/m}'");
    }
}

static struct limit take(const struct limits_pair *pair, size_t figure)
{
    const double scale = get_dimension((enum figure)figure) == DIMENSION_ANGLE ? DEGREE : 1;
    return (struct limit){
        .has_lower = pair->lower.is_present,
        .has_upper = pair->upper.is_present,
        .lower = pair->lower.is_present ? pair->lower.value * scale : -INFINITY,
        .upper = pair->upper.is_present ? pair->upper.value * scale : INFINITY,
    };
}

static void take_all(struct limits *limits, const struct limits_file *file)
{
    *limits = (struct limits){
        .name = file->name,
        .rule = file->rule,
        .has_lot = file->has_lot,
        .share = file->share.value,
        .confidence = file->confidence.value,
    };
    for (size_t f = 0; f < FIGURE_COUNT; f++) {
        limits->figures[f] = take(&file->figures[f], f);
        limits->conditions[f] = take(&file->conditions[f], f);
    }
}

/* What a verdict is traced back to. */
static enum status keep_source(
    struct limits *limits, const char *bytes, size_t length, struct error *err)
{
    struct text source = {0};
    text_add(&source, "");
    text_add_bytes(&source, bytes, length);
    if (source.failed) {
        text_clear(&source);
        return fail_memory(err);
    }
    digest_bytes(bytes, length, limits->sha256);
    limits->source = source.bytes;
    return STATUS_OK;
}

static enum status read_into(const char *name, const char *bytes, size_t length,
    struct limits_schema *schema, struct limits_file *file, struct limits *limits,
    struct error *err)
{
    struct limits made;
    limits_schema_init(schema);
    enum status status =
        schema_read_bytes(name, bytes, length, schema->top, limits_check, file, err);
    if (status != STATUS_OK) {
        memory_destroy(file->name);
        return status;
    }
    take_all(&made, file);
    status = keep_source(&made, bytes, length, err);
    if (status != STATUS_OK) {
        limits_clear(&made);
        return status;
    }
    *limits = made;
    return STATUS_OK;
}

enum status limits_read_bytes(
    const char *name, const char *bytes, size_t length, struct limits *limits, struct error *err)
{
    struct limits_schema *schema = memory_create(1, sizeof *schema);
    struct limits_file *file = memory_create(1, sizeof *file);
    const enum status status = schema == NULL || file == NULL
                                   ? fail_memory(err)
                                   : read_into(name, bytes, length, schema, file, limits, err);
    memory_destroy(schema);
    memory_destroy(file);
    return status;
}

enum status limits_read(const char *path, struct limits *limits, struct error *err)
{
    char *bytes = NULL;
    size_t length = 0;
    enum status status = file_read(path, YAML_SIZE_LIMIT, &bytes, &length, err);
    if (status == STATUS_OK) {
        status = limits_read_bytes(path, bytes, length, limits, err);
    }
    memory_destroy(bytes);
    return status;
}

void limits_clear(struct limits *limits)
{
    memory_destroy(limits->name);
    memory_destroy(limits->source);
    *limits = (struct limits){0};
}

bool limit_is_present(const struct limit *limit)
{
    return limit->has_lower || limit->has_upper;
}

bool limit_holds(const struct limit *limit, double value)
{
    return (!limit->has_lower || value >= limit->lower) &&
           (!limit->has_upper || value <= limit->upper);
}

const char *decision_rule_get_name(enum decision_rule rule)
{
    return schema_find_word(rule_words, (int)rule);
}
