// SPDX-License-Identifier: GPL-3.0-or-later
#include "model/material.h"

#include <stdio.h>
#include <string.h>

#include "base/memory.h"

void material_clear(struct material *material)
{
    for (size_t i = 0; i < MODEL_CURVES; i++)
        memory_destroy(material->curves[i]);
    *material = (struct material){0};
}

enum status material_check(const struct material *material, struct error *err)
{
    enum status status = model_check(material->model, material->parameters, err);
    if (!status && material->model->check_curves)
        status = material->model->check_curves(material, err);
    return status;
}

#define KEY_SIZE 64

/* The key of a parameter or curve in results: "pinning_A_per_m", "reversibility". */
static const char *write_key(
    char key[KEY_SIZE], const char *prefix, const char *word, enum dimension dimension)
{
    static const char *const units[DIMENSION_COUNT] = {
        [DIMENSION_FIELD_STRENGTH] = "_A_per_m",
        [DIMENSION_FLUX_DENSITY] = "_T",
        [DIMENSION_ANGLE] = "_rad",
    };
    const char *unit = units[dimension];
    snprintf(key, KEY_SIZE, "%s%s%s", prefix, word, unit ? unit : "");
    return key;
}

void material_write_json(struct json *json, const struct material *material, const double *u)
{
    const struct model *model = material->model;
    char key[KEY_SIZE];
    json_add_text(json, "name", model->name);
    json_add_text(json, "form", model->form);
    json_begin_object(json, "parameters");
    for (size_t i = 0; i < model->parameter_count; i++) {
        const struct model_parameter *p = &model->parameters[i];
        write_key(key, "", p->key, p->dimension);
        json_add_number(json, key, material->parameters[i]);
        if (!u)
            continue;
        write_key(key, "u_", p->key, p->dimension);
        json_add_number(json, key, u[i]);
    }
    for (size_t i = 0; i < model->curve_count; i++) {
        write_key(key, "", model->curves[i].key, model->curves[i].dimension);
        json_add_numbers(json, key, material->curves[i], material->counts[i]);
    }
    json_end_object(json);
}

static enum status read_numbers(const struct tree *tree, const struct tree_value *parameters,
    struct material *material, struct error *err)
{
    const struct model *model = material->model;
    char key[KEY_SIZE];
    enum status status = STATUS_OK;
    for (size_t i = 0; !status && i < model->parameter_count; i++) {
        const struct model_parameter *p = &model->parameters[i];
        write_key(key, "", p->key, p->dimension);
        status = tree_need_number(tree, parameters, key, &material->parameters[i], err);
    }
    for (size_t i = 0; !status && i < model->curve_count; i++) {
        write_key(key, "", model->curves[i].key, model->curves[i].dimension);
        status = tree_need_numbers(
            tree, parameters, key, &material->curves[i], &material->counts[i], err);
    }
    return status;
}

enum status material_read(const struct tree *tree, const struct tree_value *element,
    struct material *material, struct error *err)
{
    struct material made = {0};
    const char *name, *form;
    enum status status = tree_need_text(tree, element, "name", &name, err);
    if (!status)
        status = tree_need_text(tree, element, "form", &form, err);
    if (!status && !(made.model = model_find(name, err)))
        status = STATUS_INPUT;
    if (!status && strcmp(form, made.model->form) != 0)
        status = fail(err, STATUS_INPUT, made.model->form,
            "the form of model '%s' is '%.100s', and here it is another", name, form);
    if (!status)
        status = read_numbers(tree, tree_get(element, "parameters"), &made, err);
    if (!status)
        status = material_check(&made, err);
    if (status)
        material_clear(&made);
    else
        *material = made;
    return status;
}
