// SPDX-License-Identifier: GPL-3.0-or-later
/* Specimens: reading, and what one key says about another. */
#include "base/memory.h"
#include "setup/setup.h"
#include "setup/tables.h"

#define MM 1e3             /* millimetres in a metre */
#define RATIO_LIMIT 10     /* D/d of what nobody would call a ring */
#define AREA_RATIO_LIMIT 3 /* mass and dimensions that cannot belong to one ring */

static void check_diameters(struct schema_reading *reading, const struct specimen *specimen)
{
    double outer = specimen->outer_diameter.value;
    double inner = specimen->inner_diameter.value;
    if (!specimen->outer_diameter.is_present || !specimen->inner_diameter.is_present) {
        return;
    }
    if (inner >= outer) {
        schema_add_fault(reading, "ring.inner_diameter",
            "%g mm is not below the outer diameter of %g mm; are the two swapped?", inner * MM,
            outer * MM);
    } else if (outer > RATIO_LIMIT * inner) {
        schema_add_fault(reading, "ring.inner_diameter",
            "%g mm is below a tenth of the outer diameter of %g mm; is one of them in another "
            "unit?",
            inner * MM, outer * MM);
    }
}

/* A ring without height or mass has no area: the loop module says so where one is needed. */
static void check_path(struct schema_reading *reading, const struct specimen *specimen)
{
    if (specimen->path == PATH_EFFECTIVE && !schema_has_key(reading, "ring.height")) {
        schema_add_fault(
            reading, "ring.path", "'effective' needs the height of the ring: 'height: 6 mm'");
    }
}

/* The factor between what mass and density say and what the dimensions say. */
static void check_agreement(struct schema_reading *reading, const struct specimen *specimen)
{
    double mass = specimen->area_from_mass_m2;
    double dimensions = specimen->area_from_dimensions_m2;
    if (mass == 0 || dimensions == 0) {
        return;
    }
    double factor = mass > dimensions ? mass / dimensions : dimensions / mass;
    if (factor > AREA_RATIO_LIMIT) {
        schema_add_fault(reading, "ring.mass",
            "mass and density give an area of %.4g mm², the dimensions %.4g mm²; is one of them "
            "in another unit?",
            mass * MM * MM, dimensions * MM * MM);
    }
}

void specimen_check(struct schema_reading *reading, void *target)
{
    struct specimen *specimen = target;
    struct error err = {0};
    check_diameters(reading, specimen);
    check_path(reading, specimen);
    schema_check_within(reading, "winding", winding_check, &specimen->winding);
    if (!specimen->stacking_factor.is_present) {
        specimen->stacking_factor.value = 1;
    }
    if (schema_has_key(reading, "ring.expansion") && !schema_has_key(reading, "temperature")) {
        schema_add_fault(reading, "ring.expansion",
            "the ring's temperature while it is measured is missing: 'temperature: 35 degC'");
    }
    if (schema_has_fault(reading, "ring")) {
        return;
    }
    if (specimen_compute_geometry(specimen, &err) != STATUS_OK) {
        schema_add_fault(reading, "ring", "%s; %s", err.message, err.hint);
    } else {
        check_agreement(reading, specimen);
    }
}

enum status specimen_read(const char *path, struct specimen *specimen, struct error *err)
{
    struct specimen made = {0};
    enum status status = schema_read(path, specimen_schema, specimen_check, &made, err);
    if (status == STATUS_OK) {
        made.file = memory_copy_text(path);
        status = made.file != NULL ? STATUS_OK : fail_memory(err);
    }
    if (status != STATUS_OK) {
        specimen_clear(&made);
        return status;
    }
    *specimen = made;
    return STATUS_OK;
}

void specimen_clear(struct specimen *specimen)
{
    schema_clear(specimen_schema, specimen);
    memory_destroy(specimen->file);
    *specimen = (struct specimen){0};
}
