// SPDX-License-Identifier: GPL-3.0-or-later
/* Everett's table from measured curves. Along each curve E(a_k, b) = J(a_k) - J(b), made never
 * falling towards smaller b, and monotone cubic between the points. Across the curves, at a fixed
 * b, E rises from 0 at a = b (b >= 0) or from 2 J(|b|), the normal curve's, at a = |b| through the
 * curves of a_k > |b|: the same monotone cubic. The nodes divide the way along the largest branch
 * evenly, counted in field and in polarization, so that they are close where it is steep.
 *
 * Then the repair: between two rows of the table the units that have switched, from the corner to
 * the diagonal, must not become more. The nearest sequence (least squares, pool adjacent violators;
 * R. E. Barlow, D. J. Bartholomew, J. M. Bremner, H. D. Brunk, 1972) that obeys takes their place,
 * row by row, and the table is summed up again. */
#include <math.h>

#include "base/memory.h"
#include "model/preisach.h"
#include "num/isotonic.h"
#include "num/monotone.h"

enum {
    NODES = PREISACH_NODES,
    SIDE = 2 * NODES + 1, /* values of b: -x_n ... 0 ... x_n */
    KNOTS_MOST = 256,
};

/* The curves as E(a_k, b), rising with -b. */
struct family {
    size_t count;
    double peaks[KNOTS_MOST];
    double tips[KNOTS_MOST]; /* E(a_k, -a_k) / 2 */
    struct monotone *rows[KNOTS_MOST];
    struct monotone *normal;
};

static void family_clear(struct family *family)
{
    for (size_t k = 0; k < family->count; k++)
        monotone_destroy(family->rows[k]);
    monotone_destroy(family->normal);
}

/* x = -b rises along a falling curve. */
static enum status add_row(struct family *family, const struct branch *curve, struct error *err)
{
    double x[BRANCH_POINTS + 2], y[BRANCH_POINTS + 2];
    for (size_t i = 0; i < curve->count; i++) {
        x[i] = -curve->field[i];
        y[i] = curve->polarization[0] - curve->polarization[i];
    }
    enum status status = isotonic_compute(y, curve->count, y, err);
    for (size_t i = 0; i < curve->count; i++)
        y[i] = fmax(y[i], 0.0);
    y[0] = 0.0;
    if (!status)
        status = monotone_create(x, y, curve->count, &family->rows[family->count], err);
    if (status)
        return status;
    family->peaks[family->count] = curve->peak;
    family->tips[family->count] =
        0.5 * monotone_get(family->rows[family->count], curve->peak, NULL);
    family->count++;
    return STATUS_OK;
}

static enum status family_create(
    const struct branch *curves, size_t count, struct family *family, struct error *err)
{
    *family = (struct family){0};
    enum status status = STATUS_OK;
    for (size_t k = 0; !status && k < count && family->count + 1 < KNOTS_MOST; k++) {
        if (family->count > 0 && curves[k].peak < 1.005 * family->peaks[family->count - 1])
            continue;
        if (curves[k].field[curves[k].count - 1] > -0.999 * curves[k].peak)
            status = fail(err, STATUS_INPUT, "measure it down to the mirror of its beginning",
                "a reversal curve from %g A/m ends at %g A/m", curves[k].peak,
                curves[k].field[curves[k].count - 1]);
        else
            status = add_row(family, &curves[k], err);
    }
    if (!status && family->count < PREISACH_LEAST)
        status = fail(err, STATUS_INPUT, "measure more amplitudes, or choose 'tellinen'",
            "model 'preisach' needs loops of at least %d amplitudes, and there are %zu",
            PREISACH_LEAST, family->count);
    double x[KNOTS_MOST + 1] = {0}, y[KNOTS_MOST + 1] = {0};
    for (size_t k = 0; k < family->count; k++) {
        x[k + 1] = family->peaks[k];
        y[k + 1] = family->tips[k];
    }
    if (!status)
        status = isotonic_compute(y, family->count + 1, y, err);
    if (!status)
        status = monotone_create(x, y, family->count + 1, &family->normal, err);
    if (status)
        family_clear(family);
    return status;
}

/* E at a fixed b for a from |b| up: the curve across the family. */
static enum status create_column(
    const struct family *family, double b, struct monotone **column, struct error *err)
{
    double x[KNOTS_MOST + 1], y[KNOTS_MOST + 1], distance = fabs(b);
    size_t count = 0;
    x[count] = distance;
    y[count++] = b >= 0.0 ? 0.0 : 2.0 * monotone_get(family->normal, distance, NULL);
    for (size_t k = 0; k < family->count; k++) {
        if (!(family->peaks[k] > distance * (1.0 + 1e-6)))
            continue;
        x[count] = family->peaks[k];
        y[count++] = monotone_get(family->rows[k], -b, NULL);
    }
    if (count == 1) { /* the corner of the largest loop */
        x[count] = distance * (1.0 + 1e-3) + 1.0;
        y[count] = y[0];
        count++;
    }
    enum status status = isotonic_compute(y, count, y, err);
    if (!status)
        status = monotone_create(x, y, count, column, err);
    return status;
}

static void set_nodes(const struct family *family, double *nodes)
{
    enum { STEPS = 2000 };
    double way[STEPS + 1] = {0};
    const struct monotone *row = family->rows[family->count - 1];
    double most = family->peaks[family->count - 1], total = 2.0 * family->tips[family->count - 1];
    for (int i = 1; i <= STEPS; i++) {
        double from = most * (i - 1) / STEPS, to = most * i / STEPS;
        double fall = monotone_get(row, to, NULL) - monotone_get(row, from, NULL) +
                      monotone_get(row, -from, NULL) - monotone_get(row, -to, NULL);
        way[i] = way[i - 1] + fall / total + 1.0 / STEPS;
    }
    for (int n = 1, i = 1; n <= NODES; n++) {
        double wanted = way[STEPS] * n / NODES;
        while (i < STEPS && way[i] < wanted)
            i++;
        double share = (wanted - way[i - 1]) / (way[i] - way[i - 1]);
        nodes[n - 1] = n == NODES ? most : most * (i - 1 + share) / STEPS;
    }
}

/* The table while it is made: value[i][j], E(x_i, y_(j - NODES)). */
struct grid {
    double nodes[NODES];
    double value[NODES + 1][SIDE];
};

static double get_side_field(const struct grid *grid, int j)
{
    return j == 0 ? 0.0 : j > 0 ? grid->nodes[j - 1] : -grid->nodes[-j - 1];
}

static enum status fill_grid(struct grid *grid, const struct family *family, struct error *err)
{
    enum status status = STATUS_OK;
    for (int j = -NODES; !status && j < NODES; j++) {
        struct monotone *column;
        status = create_column(family, get_side_field(grid, j), &column, err);
        if (status)
            break;
        for (int i = j < 0 ? -j : j + 1; i <= NODES; i++)
            if (i > 0)
                grid->value[i][j + NODES] = monotone_get(column, grid->nodes[i - 1], NULL);
        monotone_destroy(column);
    }
    return status;
}

/* What switches between rows i - 1 and i, from the corner (k = 0) to the diagonal (k = 2i - 1). */
static double get_step(const struct grid *grid, int i, int k)
{
    int j = k - i;
    if (k == 0)
        return grid->value[i][j + NODES] - grid->value[i][j + 1 + NODES];
    return grid->value[i][j + NODES] - (i > 1 && j < i - 1 ? grid->value[i - 1][j + NODES] : 0.0);
}

static enum status repair_row(struct grid *grid, int i, const double *before, struct error *err)
{
    double rising[2 * NODES] = {0}; /* from the diagonal to the corner, never falling */
    int count = 2 * i;
    for (int k = 0; k < count; k++)
        rising[count - 1 - k] = before[k];
    enum status status = isotonic_compute(rising, (size_t)count, rising, err);
    for (int k = count - 1; !status && k >= 0; k--) {
        double step = fmax(rising[count - 1 - k], 0.0);
        int j = k - i;
        double base = k == 0               ? grid->value[i][j + 1 + NODES]
                      : i > 1 && j < i - 1 ? grid->value[i - 1][j + NODES]
                                           : 0.0;
        grid->value[i][j + NODES] = base + step;
    }
    return status;
}

/* Row by row: the steps of each are those measured, upon the rows that were mended before it. */
static enum status repair_grid(struct grid *grid, double *repair, struct error *err)
{
    double steps[NODES + 1][2 * NODES];
    struct grid measured = *grid;
    for (int i = 1; i <= NODES; i++)
        for (int k = 0; k < 2 * i; k++)
            steps[i][k] = get_step(&measured, i, k);
    enum status status = STATUS_OK;
    for (int i = 1; !status && i <= NODES; i++)
        status = repair_row(grid, i, steps[i], err);
    *repair = 0.0;
    for (int i = 1; i <= NODES; i++)
        for (int j = -i; j < i; j++)
            *repair = fmax(*repair, fabs(grid->value[i][j + NODES] - measured.value[i][j + NODES]));
    *repair /= measured.value[NODES][0];
    return status;
}

static enum status copy_grid(const struct grid *grid, struct material *material, struct error *err)
{
    double *nodes = memory_create(NODES, sizeof *nodes);
    double *values = memory_create(NODES * (NODES + 1), sizeof *values);
    if (!nodes || !values) {
        memory_destroy(nodes);
        memory_destroy(values);
        return fail_memory(err);
    }
    material->model = &model_preisach;
    material->curves[PREISACH_FIELD] = nodes;
    material->counts[PREISACH_FIELD] = NODES;
    material->curves[PREISACH_EVERETT] = values;
    material->counts[PREISACH_EVERETT] = NODES * (NODES + 1);
    for (int i = 1; i <= NODES; i++) {
        nodes[i - 1] = grid->nodes[i - 1];
        for (int j = -i; j < i; j++)
            *values++ = grid->value[i][j + NODES];
    }
    return STATUS_OK;
}

enum status preisach_identify(const struct branch *curves, size_t count, struct material *material,
    double *repair, struct error *err)
{
    struct family family;
    enum status status = family_create(curves, count, &family, err);
    if (status)
        return status;
    struct grid *grid = memory_create(1, sizeof *grid);
    status = grid ? STATUS_OK : fail_memory(err);
    if (!status) {
        set_nodes(&family, grid->nodes);
        status = fill_grid(grid, &family, err);
    }
    double change;
    if (!status)
        status = repair_grid(grid, &change, err);
    if (!status)
        status = copy_grid(grid, material, err);
    if (!status)
        *repair = change;
    memory_destroy(grid);
    family_clear(&family);
    return status;
}
