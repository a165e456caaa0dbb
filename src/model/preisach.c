// SPDX-License-Identifier: GPL-3.0-or-later
/* Preisach's model by a table of its Everett function, of the polarization (B = mu0 H + J), for a
 * >= |b|; the rest is the mirror. Between the nodes the density of switching units is even over
 * each cell (a triangle at the diagonal), so that it is nowhere negative if the cells' sums are
 * not. In a cell E is bilinear but for the triangles t of the columns of a and of b, which fill
 * with the square of the part passed: - t_a part (1 - part) - t_b part (1 - part). Beyond the last
 * node J stays as it is.
 *
 * Row i of the table, i = 1 ... n, is E(x_i, b) for b = -x_i ... -x_1, 0, x_1 ... x_(i-1): 2i
 * numbers, n (n + 1) in all. */
#include <math.h>

#include "base/memory.h"
#include "model/everett.h"
#include "model/fit.h"
#include "model/history.h"
#include "model/preisach.h"
#include "quantity/constant.h"

static const struct model_curve curves[] = {
    [PREISACH_FIELD] = {"field", DIMENSION_FIELD_STRENGTH, "nodes x_1 ... x_n, above 0 and rising"},
    [PREISACH_EVERETT] = {"everett", DIMENSION_FLUX_DENSITY,
        "E(x_i, b) of the polarization, b = -x_i ... x_(i-1), i = 1 ... n"},
};

/* A context for struct everett. */
struct table {
    const double *nodes; /* x_1 ... x_n */
    const double *values;
    size_t count;
};

/* E(x_i, y_j), x_0 = y_0 = 0, y_-j = -x_j, i >= |j|. */
static double get_node(const struct table *table, size_t i, long j)
{
    if ((long)i == j)
        return 0.0;
    return table->values[i * (i - 1) + (size_t)((long)i + j)];
}

/* The i from 1 up with x_(i-1) <= x <= x_i, x >= 0. */
static size_t find_cell(const struct table *table, double x)
{
    size_t low = 0, high = table->count - 1; /* indexes of nodes[] */
    while (low < high) {
        size_t middle = (low + high) / 2;
        if (table->nodes[middle] < x)
            low = middle + 1;
        else
            high = middle;
    }
    return low + 1;
}

static double get_field_of(const struct table *table, long j)
{
    return j == 0 ? 0.0 : j > 0 ? table->nodes[j - 1] : -table->nodes[-j - 1];
}

static double blend(double low, double high, double part)
{
    return low + part * (high - low);
}

/* For |b| <= a <= x_n. */
static double get_inside(const struct table *table, double a, double b)
{
    size_t i = find_cell(table, a);
    double low = get_field_of(table, (long)i - 1), high = get_field_of(table, (long)i);
    double part = (a - low) / (high - low);
    if (b >= low) { /* the triangle at the diagonal */
        double side = (a - b) / (high - low);
        return get_node(table, i, (long)i - 1) * side * side;
    }
    long cell = (long)find_cell(table, fabs(b));
    long upper = b > 0.0 ? cell : -(cell - 1), lower = upper - 1; /* y_lower <= b <= y_upper */
    double from = get_field_of(table, lower), to = get_field_of(table, upper);
    double share = (b - from) / (to - from);
    double last = blend(get_node(table, i, lower), get_node(table, i, upper), share);
    double first;
    if (lower < -((long)i - 1)) /* the square at the other corner: E(x_(i-1), -x_i) is a mirror */
        first = blend(
            get_node(table, i, upper), upper == 0 ? 0.0 : get_node(table, i - 1, upper), share);
    else
        first = blend(get_node(table, i - 1, lower), get_node(table, i - 1, upper), share);
    double here = get_node(table, i, (long)i - 1), there = get_node(table, (size_t)cell, cell - 1);
    return blend(first, last, part) - here * part * (1.0 - part) - there * share * (1.0 - share);
}

static double get_everett(const void *context, double a, double b)
{
    const struct table *table = context;
    double most = table->nodes[table->count - 1];
    double top = fmin(a, most), bottom = fmax(b, -most);
    double inside = top > bottom ? get_inside(table, top, bottom) : 0.0;
    return MAGNETIC_CONSTANT * (a - b) + inside;
}

/* The table and the machine that stands on it. */
struct machine {
    struct table table;
    void *inner;
};

static void destroy(void *machine)
{
    struct machine *m = machine;
    if (m->inner)
        everett_destroy(m->inner);
    memory_destroy(m);
}

static enum status create(const struct material *material, void **machine, struct error *err)
{
    struct machine *made = memory_create(1, sizeof *made);
    if (!made)
        return fail_memory(err);
    made->table = (struct table){material->curves[PREISACH_FIELD],
        material->curves[PREISACH_EVERETT], material->counts[PREISACH_FIELD]};
    struct everett everett = {.get = get_everett, .context = &made->table};
    enum status status = everett_create_machine(&everett, &made->inner, err);
    if (status)
        destroy(made);
    else
        *machine = made;
    return status;
}

static void reset(void *machine)
{
    everett_reset(((struct machine *)machine)->inner);
}

static enum status look(void *machine, double field, double *flux_density, struct error *err)
{
    return everett_look(((struct machine *)machine)->inner, field, flux_density, err);
}

static enum status move(void *machine, double field, double *flux_density, struct error *err)
{
    return everett_move(((struct machine *)machine)->inner, field, flux_density, err);
}

double preisach_get_everett(const struct material *material, double a, double b)
{
    struct table table = {material->curves[PREISACH_FIELD], material->curves[PREISACH_EVERETT],
        material->counts[PREISACH_FIELD]};
    struct everett everett = {.get = get_everett, .context = &table};
    return everett_get(&everett, a, b);
}

/* The units that switch within a row's cells, from the corner to the diagonal, are the fall of this
 * sequence: none may rise, nor the last be negative. Sums of cells carry rounding. */
static double get_slope(const struct table *table, size_t i, size_t k)
{
    long upper = -(long)i + (long)k;
    if (k == 0)
        return get_node(table, i, -(long)i) -
               (i > 1 ? get_node(table, i, 1 - (long)i) : get_node(table, i, 0));
    return get_node(table, i, upper) - (i > 1 ? get_node(table, i - 1, upper) : 0.0);
}

static enum status check_row(const struct table *table, size_t i, struct error *err)
{
    double size = get_node(table, table->count, -(long)table->count);
    for (size_t k = 0; k < 2 * i; k++) {
        double next = k + 1 < 2 * i ? get_slope(table, i, k + 1) : 0.0;
        if (!(get_slope(table, i, k) >= next - 1e-12 * size))
            return fail(err, STATUS_INPUT,
                "'lodecard series --model preisach' makes a table without",
                "the Everett table of model 'preisach' has a negative density in row %zu, cell %zu",
                i, k + 1);
    }
    return STATUS_OK;
}

static enum status check_curves(const struct material *material, struct error *err)
{
    size_t count = material->counts[PREISACH_FIELD];
    const double *nodes = material->curves[PREISACH_FIELD];
    const char *hint = "'lodecard series --model preisach' makes them from a family of loops";
    if (count < 1 || material->counts[PREISACH_EVERETT] != count * (count + 1))
        return fail(err, STATUS_INPUT, hint,
            "model 'preisach' has %zu nodes, so its table needs %zu numbers, and has %zu", count,
            count * (count + 1), material->counts[PREISACH_EVERETT]);
    for (size_t i = 0; i < count; i++)
        if (!(nodes[i] > (i > 0 ? nodes[i - 1] : 0.0)))
            return fail(err, STATUS_INPUT, hint,
                "the nodes of model 'preisach' do not rise from above 0: number %zu is %g A/m",
                i + 1, nodes[i]);
    struct table table = {nodes, material->curves[PREISACH_EVERETT], count};
    enum status status = STATUS_OK;
    for (size_t i = 1; !status && i <= count; i++)
        status = check_row(&table, i, err);
    return status;
}

static const struct history_rule history = {
    .create = create, .destroy = destroy, .reset = reset, .look = look, .move = move};

static enum status build(const struct fit_data *data, struct model_fit *fit, struct error *err)
{
    return preisach_identify(
        data->branches, data->count, &fit->material, &fit->repair_relative, err);
}

static const struct fit_rule fit = {.build = build};

const struct model model_preisach = {
    .name = "preisach",
    .purpose = "Preisach's model, its Everett function a table",
    .form =
        "B = mu0 H + J, J falls by E(a, b) from a to b, E(a, b) = E(-b, -a); even density in each "
        "cell",
    .curves = curves,
    .curve_count = sizeof curves / sizeof curves[0],
    .check_curves = check_curves,
    .history = &history,
    .fit = &fit,
};
