// SPDX-License-Identifier: GPL-3.0-or-later
/* The initial magnetization curve, from a table of its points, and Rayleigh's law at its foot:
 * B = µ0 µi H + v H² (Lord Rayleigh, Phil. Mag. 23 (1887) 225), fitted to as many of the first
 * points as it holds for within 1 %. */
#include <math.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "num/least_squares.h"
#include "quantity/constant.h"
#include "series/series_part.h"
#include "series/table.h"

#define SIZE_LIMIT ((size_t)1 << 26)
#define RAYLEIGH_POINTS 4 /* at least */

static const double RAYLEIGH_LIMIT = 0.01;

struct point {
    double field, flux_density, polarization;
};

static enum status take(const struct table_role_column *column, const char *words, double value,
    void *user, struct error *err)
{
    struct point *point = user;
    (void)words;
    (void)err;
    if (column->role == TABLE_ROLE_FIELD)
        point->field = value;
    if (column->role == TABLE_ROLE_FLUX_DENSITY)
        point->flux_density = value;
    if (column->role == TABLE_ROLE_POLARIZATION)
        point->polarization = value;
    return STATUS_OK;
}

static enum status add_point(struct series_initial *initial, size_t *capacity,
    const struct loop_table *table, const struct point *point, struct error *err)
{
    const double flux_density = !isnan(point->flux_density)
                                    ? point->flux_density
                                    : point->polarization + MAGNETIC_CONSTANT * point->field;
    size_t room = *capacity;
    if (isnan(point->field) || isnan(flux_density))
        return fail(err, STATUS_INPUT, "fill it in, or leave the row out",
            "%s:%zu: a point lacks its field or flux density", table->path, table->line);
    if (initial->count && !(point->field >= initial->field[initial->count - 1]))
        return fail(err, STATUS_INPUT, "an initial curve rises from the demagnetized state",
            "%s:%zu: the field falls from %g A/m to %g A/m", table->path, table->line,
            initial->field[initial->count - 1], point->field);
    double *field = memory_reserve(initial->field, &room, initial->count + 1, sizeof *field);
    if (!field)
        return fail_memory(err);
    initial->field = field;
    double *flux =
        memory_reserve(initial->flux_density, capacity, initial->count + 1, sizeof *flux);
    if (!flux)
        return fail_memory(err);
    initial->flux_density = flux;
    field[initial->count] = point->field;
    flux[initial->count++] = flux_density;
    return STATUS_OK;
}

static enum status read_points(
    struct series_initial *initial, struct loop_table *table, struct error *err)
{
    enum status status = STATUS_OK;
    size_t capacity = 0;
    if (!loop_table_has(table, TABLE_ROLE_FIELD, FIGURE_COUNT) ||
        (!loop_table_has(table, TABLE_ROLE_FLUX_DENSITY, FIGURE_COUNT) &&
            !loop_table_has(table, TABLE_ROLE_POLARIZATION, FIGURE_COUNT)))
        return fail(err, STATUS_INPUT,
            "head its columns 'field strength (A/m)' and 'flux density (T)' or 'polarization (T)'",
            "%s: no initial curve: a column is missing", table->path);
    while (!status && loop_table_next(table)) {
        struct point point = {NAN, NAN, NAN};
        status = loop_table_read_row(table, take, &point, err);
        if (!status)
            status = add_point(initial, &capacity, table, &point, err);
    }
    if (!status && initial->count < 3)
        status = fail(err, STATUS_INPUT, "give more points", "%s: an initial curve of %zu points",
            table->path, initial->count);
    if (!status &&
        fabs(initial->flux_density[0]) > 0.05 * initial->flux_density[initial->count - 1])
        status = fail(err, STATUS_INPUT, "demagnetize the ring first",
            "%s: the curve begins at %.3g T: that is not the demagnetized state", table->path,
            initial->flux_density[0]);
    return status;
}

/* Fits the first `count` points; false when the law does not hold for them. */
static bool try_rayleigh(struct series_initial *initial, const double *field,
    const double *flux_density, size_t count, double *matrix)
{
    double *values = matrix + 2 * count, solution[2], sum;
    struct error err;
    for (size_t i = 0; i < count; i++) { /* relative residuals */
        matrix[2 * i] = MAGNETIC_CONSTANT * field[i] / flux_density[i];
        matrix[2 * i + 1] = field[i] * field[i] / flux_density[i];
        values[i] = 1;
    }
    const struct linear_problem problem = {matrix, values, NULL, count, 2};
    if (linear_problem_solve(&problem, solution, NULL, &sum, &err) || !(solution[0] > 0) ||
        !(solution[1] > 0) || sqrt(sum / (double)count) > RAYLEIGH_LIMIT)
        return false;
    initial->permeability = solution[0];
    initial->rayleigh = solution[1];
    return true;
}

static enum status set_rayleigh(struct series_initial *initial, struct error *err)
{
    size_t first = 0;
    initial->permeability = initial->rayleigh = NAN;
    while (first < initial->count && !(initial->flux_density[first] > 0))
        first++;
    const size_t most = initial->count - first;
    double *matrix = memory_create(3 * most + 1, sizeof *matrix);
    if (!matrix)
        return fail_memory(err);
    for (size_t count = RAYLEIGH_POINTS; count <= most; count++)
        if (!try_rayleigh(
                initial, initial->field + first, initial->flux_density + first, count, matrix))
            break;
    memory_destroy(matrix);
    return STATUS_OK;
}

enum status series_read_initial(struct series *series, const char *path, struct error *err)
{
    struct series_initial *initial = &series->initial;
    struct loop_table table;
    char *bytes = NULL;
    size_t length = 0;
    enum status status = file_read(path, SIZE_LIMIT, &bytes, &length, err);
    if (status)
        return status;
    bytes[length++] = '\n';
    status = loop_table_init(&table, path, bytes, length, err);
    if (!status) {
        status = read_points(initial, &table, err);
        loop_table_clear(&table);
    }
    memory_destroy(bytes);
    if (!status)
        status = set_rayleigh(initial, err);
    if (status)
        return status;
    initial->file = memory_copy_text(text_base_name(path));
    return initial->file ? STATUS_OK : fail_memory(err);
}
