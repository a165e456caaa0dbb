// SPDX-License-Identifier: GPL-3.0-or-later
#include "qualify/sides.h"

#include <string.h>

#include "base/memory.h"
#include "num/statistics.h"

static const char *get_name(const struct lot_item *item, bool is_by_heat)
{
    return is_by_heat ? item->heat : item->supplier;
}

/* How many different names there are; the first two of them. */
static size_t count_names(
    const struct lot_item *items, size_t item_count, bool is_by_heat, const char *names[2])
{
    size_t count = 0;
    for (size_t i = 0; i < item_count; i++) {
        const char *name = get_name(&items[i], is_by_heat);
        bool is_new = true;
        for (size_t k = 0; k < i && is_new; k++) {
            is_new = strcmp(get_name(&items[k], is_by_heat), name) != 0;
        }
        if (is_new && count < 2) {
            names[count] = name;
        }
        count += is_new;
    }
    return count;
}

static enum status find_names(const struct lot_item *items, size_t count, enum sides_by by,
    struct sides *sides, struct error *err)
{
    const char *suppliers[2] = {0}, *heats[2] = {0};
    const size_t supplier_count = count_names(items, count, false, suppliers);
    const size_t heat_count = count_names(items, count, true, heats);
    sides->is_by_heat = by == SIDES_BY_ANY ? supplier_count != 2 : by == SIDES_BY_HEAT;
    memcpy(sides->names, sides->is_by_heat ? heats : suppliers, sizeof sides->names);
    if ((sides->is_by_heat ? heat_count : supplier_count) != 2) {
        return fail(err, STATUS_INPUT, "give the loops of two suppliers, or of two heats",
            "a comparison takes two sides; there are %zu suppliers and %zu heats", supplier_count,
            heat_count);
    }
    return STATUS_OK;
}

/* Adds the value to its ring's running mean; `loops` counts for each. */
static void add_value(
    struct sides *sides, int side, const struct lot_item *item, double value, double *loops)
{
    size_t at = 0;
    while (at < sides->counts[side] && (strcmp(sides->specimens[side][at], item->specimen) != 0 ||
                                           strcmp(sides->heats[side][at], item->heat) != 0)) {
        at++;
    }
    if (at == sides->counts[side]) {
        sides->counts[side]++;
        sides->specimens[side][at] = item->specimen;
        sides->heats[side][at] = item->heat;
        sides->values[side][at] = 0;
        loops[at] = 0;
    }
    loops[at] += 1;
    sides->values[side][at] += (value - sides->values[side][at]) / loops[at];
}

static enum status fill(
    const struct lot_item *items, size_t count, struct sides *sides, struct error *err)
{
    double *loops = memory_create(count, sizeof *loops);
    bool is_made = loops != NULL;
    for (int side = 0; side < 2; side++) {
        sides->values[side] = memory_create(count, sizeof(double));
        sides->specimens[side] = memory_create(count, sizeof(char *));
        sides->heats[side] = memory_create(count, sizeof(char *));
        is_made = is_made && sides->values[side] != NULL && sides->specimens[side] != NULL &&
                  sides->heats[side] != NULL;
        for (size_t i = 0; is_made && i < count; i++) {
            const struct figure_value *value = &items[i].figures->list[sides->figure];
            if (value->is_present &&
                strcmp(get_name(&items[i], sides->is_by_heat), sides->names[side]) == 0) {
                add_value(sides, side, &items[i], value->value, loops);
            }
        }
    }
    memory_destroy(loops);
    return is_made ? STATUS_OK : fail_memory(err);
}

enum status sides_create(const struct lot_item *items, size_t count, enum sides_by by,
    enum figure figure, struct sides *sides, struct error *err)
{
    struct sides made = {.figure = figure};
    enum status status = find_names(items, count, by, &made, err);
    if (status == STATUS_OK) {
        status = fill(items, count, &made, err);
    }
    if (status != STATUS_OK) {
        sides_clear(&made);
        return status;
    }
    *sides = made;
    return STATUS_OK;
}

void sides_clear(struct sides *sides)
{
    for (int side = 0; side < 2; side++) {
        memory_destroy(sides->values[side]);
        memory_destroy(sides->specimens[side]);
        memory_destroy(sides->heats[side]);
    }
    *sides = (struct sides){0};
}

void sides_write_json(struct json *json, const struct sides *sides,
    const struct comparison *comparison, double confidence)
{
    json_add_text(json, "figure", figure_table[sides->figure].key);
    json_begin_array(json, "sides");
    for (int side = 0; side < 2; side++) {
        const struct summary summary = summary_compute(sides->values[side], sides->counts[side]);
        json_begin_object(json, NULL);
        json_add_text(json, sides->is_by_heat ? "heat" : "supplier", sides->names[side]);
        json_add_integer(json, "specimens", (long long)summary.count);
        json_add_number(json, "mean", summary.mean);
        json_add_number(json, "deviation", summary.deviation);
        json_end_object(json);
    }
    json_end_array(json);
    json_add_number(json, "difference", comparison->difference);
    json_add_number(json, "u_difference", comparison->u);
    json_add_number(json, "degrees_of_freedom", comparison->freedom);
    json_add_number(json, "confidence", confidence);
    json_add_number(json, "lower", comparison->lower);
    json_add_number(json, "upper", comparison->upper);
    json_add_number(json, "significance", comparison->significance);
    if (comparison->margin > 0) {
        json_add_number(json, "margin", comparison->margin);
        json_add_number(json, "significance_equivalence", comparison->significance_equivalence);
    }
    json_add_number(json, "spread_ratio", comparison->spread_ratio);
    json_add_number(json, "significance_spread", comparison->significance_spread);
    json_add_text(json, "verdict", equivalence_get_name(comparison->verdict));
}
