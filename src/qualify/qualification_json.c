// SPDX-License-Identifier: GPL-3.0-or-later
#include <math.h>

#include "qualify/qualification.h"

/* Numbers that are not there are left out: an open limit, a risk of another verdict. */
static void add(struct json *json, const char *key, double value)
{
    if (isfinite(value)) {
        json_add_number(json, key, value);
    }
}

static void add_identity(
    struct json *json, const char *supplier, const char *heat, const char *specimen)
{
    const char *const keys[] = {"supplier", "heat", "specimen"};
    const char *const words[] = {supplier, heat, specimen};
    for (int i = 0; i < 3; i++) {
        if (words[i] != NULL && words[i][0] != '\0') {
            json_add_text(json, keys[i], words[i]);
        }
    }
}

static void write_check(
    struct json *json, const struct specimen_verdict *specimen, const struct check *check)
{
    const struct decision *decision = &check->decision;
    json_begin_object(json, NULL);
    add_identity(json, specimen->supplier, specimen->heat, specimen->specimen);
    json_add_text(json, "figure", figure_table[check->figure].key);
    json_add_integer(json, "loops", (long long)check->loops);
    add(json, "value", decision->value);
    add(json, "u", decision->u);
    add(json, "lower", decision->limit.lower);
    add(json, "upper", decision->limit.upper);
    if (check->loops > 0) {
        add(json, "accept_lower", decision->accept_lower);
        add(json, "accept_upper", decision->accept_upper);
    }
    add(json, "probability_conforming", decision->probability_conforming);
    add(json, "consumer_risk", decision->consumer_risk);
    add(json, "producer_risk", decision->producer_risk);
    json_add_text(json, "verdict", verdict_get_name(decision->verdict));
    json_end_object(json);
}

static void write_rings(struct json *json, const struct qualification *qualification)
{
    json_begin_array(json, "rings");
    for (size_t s = 0; s < qualification->specimen_count; s++) {
        const struct specimen_verdict *specimen = &qualification->specimens[s];
        json_begin_object(json, NULL);
        add_identity(json, specimen->supplier, specimen->heat, specimen->specimen);
        json_add_text(json, "verdict", verdict_get_name(specimen->verdict));
        add(json, "probability_conforming_all_least", specimen->all_least);
        add(json, "probability_conforming_all_most", specimen->all_most);
        json_end_object(json);
    }
    json_end_array(json);
}

static void write_capability(struct json *json, const struct capability *capability)
{
    json_begin_object(json, "capability");
    add(json, "cp", capability->cp);
    add(json, "cp_lower", capability->cp_lower);
    add(json, "cp_upper", capability->cp_upper);
    add(json, "cpk", capability->cpk);
    add(json, "cpk_lower", capability->cpk_lower);
    add(json, "cpk_upper", capability->cpk_upper);
    add(json, "cpk_least", capability->cpk_least);
    json_end_object(json);
}

static void write_lot_figure(struct json *json, const struct heat_figure *figure, bool has_lot)
{
    const struct lot_figure *lot = &figure->lot;
    json_begin_object(json, NULL);
    json_add_text(json, "figure", figure_table[figure->figure].key);
    if (figure->has_lot) {
        json_add_integer(json, "values", (long long)lot->values);
        json_add_integer(json, "specimens", (long long)lot->specimens);
        add(json, "mean", lot->summary.mean);
        add(json, "u", lot->u);
        add(json, "deviation", lot->summary.deviation);
        add(json, "repeat_deviation", lot->repeat_deviation);
        add(json, "steel_deviation", lot->steel_deviation);
        add(json, "normality_w", lot->has_normality ? lot->normality.w : NAN);
        add(json, "normality_significance", lot->has_normality ? lot->normality.significance : NAN);
        add(json, "tolerance_factor", lot->factor);
        add(json, "tolerance_lower", isnan(lot->factor) ? NAN : lot->tolerance_lower);
        add(json, "tolerance_upper", isnan(lot->factor) ? NAN : lot->tolerance_upper);
        add(json, "share_conforming", lot->share);
        add(json, "share_conforming_confident", lot->share_confident);
        if (has_lot) {
            json_add_integer(json, "specimens_wanted", (long long)lot->wanted);
        }
    }
    if (figure->has_capability) {
        write_capability(json, &figure->capability);
    }
    if (has_lot) {
        json_add_text(
            json, "verdict", verdict_get_name(figure->has_lot ? lot->verdict : VERDICT_UNDECIDED));
    }
    json_end_object(json);
}

static void write_heat(struct json *json, const char *key,
    const struct qualification *qualification, const struct heat_verdict *heat)
{
    const struct limits *limits = qualification->limits;
    json_begin_object(json, key);
    add_identity(json, heat->supplier, heat->heat, NULL);
    json_add_integer(json, "specimens", (long long)heat->count);
    json_add_text(json, "verdict", verdict_get_name(heat->verdict));
    json_add_text(json, "verdict_specimens", verdict_get_name(heat->specimens));
    if (limits->has_lot) {
        json_add_text(json, "verdict_lot", verdict_get_name(heat->lot));
        json_add_number(json, "share", limits->share);
        json_add_number(json, "confidence", limits->confidence);
    }
    json_begin_array(json, "figures");
    for (size_t f = 0; f < qualification->figure_count; f++) {
        write_lot_figure(json, &heat->figures[f], limits->has_lot);
    }
    json_end_array(json);
    json_end_object(json);
}

static void write_left_out(struct json *json, const struct qualification *qualification)
{
    json_begin_array(json, "left_out");
    for (size_t i = 0; i < qualification->item_count; i++) {
        const struct lot_item *item = &qualification->items[i];
        if (!qualification->counts[i]) {
            const enum figure unmet =
                qualification_find_unmet(qualification->limits, item->figures);
            json_begin_object(json, NULL);
            json_add_text(json, "file", item->file);
            json_add_text(json, "condition", figure_table[unmet].key);
            add(json, "value",
                item->figures->list[unmet].is_present ? item->figures->list[unmet].value : NAN);
            json_end_object(json);
        }
    }
    json_end_array(json);
}

static void write_captures(struct json *json, const struct qualification *qualification)
{
    json_begin_array(json, "captures");
    const bool is_items = qualification->loop_count == qualification->item_count;
    for (size_t i = 0; i < qualification->loop_count; i++) {
        const struct lot_item *item = &qualification->loops[is_items ? qualification->order[i] : i];
        json_begin_object(json, NULL);
        add_identity(json, item->supplier, item->heat, item->specimen);
        json_add_text(json, "file", item->file);
        if (item->sha256[0] != '\0') {
            json_add_text(json, "sha256", item->sha256);
        }
        json_end_object(json);
    }
    json_end_array(json);
}

void qualification_write_json(struct json *json, const struct qualification *qualification)
{
    const struct limits *limits = qualification->limits;
    json_add_text(json, "verdict", verdict_get_name(qualification->verdict));
    if (limits->name != NULL) {
        json_add_text(json, "limits", limits->name);
    }
    if (limits->sha256[0] != '\0') {
        json_add_text(json, "limits_sha256", limits->sha256);
    }
    json_add_text(json, "rule", decision_rule_get_name(limits->rule));
    json_begin_array(json, "checks");
    for (size_t s = 0; s < qualification->specimen_count; s++) {
        for (size_t f = 0; f < qualification->figure_count; f++) {
            write_check(json, &qualification->specimens[s], &qualification->specimens[s].checks[f]);
        }
    }
    json_end_array(json);
    write_rings(json, qualification);
    if (qualification->heat_count == 1) {
        write_heat(json, "lot", qualification, &qualification->heats[0]);
    } else {
        json_begin_array(json, "lots");
        for (size_t h = 0; h < qualification->heat_count; h++) {
            write_heat(json, NULL, qualification, &qualification->heats[h]);
        }
        json_end_array(json);
    }
    write_left_out(json, qualification);
    write_captures(json, qualification);
}
