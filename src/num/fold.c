// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/fold.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "base/memory.h"
#include "num/normal.h"
#include "num/nufft.h"
#include "num/pair.h"

static const double TURN = 6.283185307179586476925286766559;

enum { ROW_MINIMUM = 256, CLASS_LIMIT = 8 };

/* A row whose period falls short of a whole number of samples by this little (samples) takes the
 * last one too. Without it the harmonics near half the rate would be loose; once in a hundred rows
 * one sample counts twice. */
static const double LENGTH_SLACK = 0.01;

struct fold {
    struct fold_shape shape;
    size_t length; /* of a thinned row */
    double *sums;  /* classes x row_length x 2 */
    size_t *rows;  /* in each class */
    double *turns; /* u_r of each row, cycles */
    int *row_class;
    size_t row_count;
    size_t row_capacity;
    size_t class_capacity;
    /* for the fit */
    struct nufft *nufft;
    struct normal *normal;
    double *phase;               /* of the thinned samples */
    struct nufft_points *points; /* the same, ready for the sums */
    double complex *thinned;     /* one class */
    double complex **multiplier; /* classes x (K + 1) */
    double complex *box;         /* what thinning does to a harmonic */
    double complex *part, *right, *solution;
    double *weights;
};

struct fold_shape fold_find_shape(double nu, size_t harmonics)
{
    const double period = 1.0 / nu;
    struct fold_shape shape = {.nu = nu, .harmonics = harmonics};
    shape.row_cycles = (size_t)ceil(ROW_MINIMUM / period);
    shape.row_length = (size_t)floor((double)shape.row_cycles * period + LENGTH_SLACK);
    /* A sum over a stretch of phase p of the highest harmonic keeps sinc^2(p/2) of its information:
     * a stretch of an eighth of its cycle costs 5 % for that harmonic and a quarter of it for one
     * half as high. */
    const double per_cycle = period / (double)(harmonics < 1 ? 1 : harmonics);
    shape.classes = (size_t)fmin(ceil(8.0 / per_cycle), CLASS_LIMIT);
    const double most = (double)shape.row_length / ROW_MINIMUM;
    shape.thinning = (size_t)fmax(fmin(per_cycle / 8.0, most), 1.0);
    return shape;
}

static void set_tables(struct fold *fold)
{
    const struct fold_shape *shape = &fold->shape;
    const double step = shape->nu * (double)shape->thinning;
    for (size_t j = 0; j < fold->length; j++) {
        fold->phase[j] = (double)j * step;
    }
    nufft_points_set(fold->points, fold->nufft, fold->length, fold->phase);
    for (size_t k = 0; k <= shape->harmonics; k++) {
        double complex sum = 0.0;
        for (size_t j = 0; j < shape->thinning; j++) {
            sum += cexp(I * TURN * (double)k * shape->nu * (double)j);
        }
        fold->box[k] = sum;
    }
    /* T[q] = sum_j e^{-2 pi i q step j}, summed as a geometric series */
    for (size_t q = 0; q <= 2 * shape->harmonics; q++) {
        const double half = 0.5 * TURN * fmod((double)q * step, 1.0);
        const double n = (double)fold->length;
        const double size = fabs(sin(half)) < 1e-9 ? n : sin(n * half) / sin(half);
        fold->solution[q] = size * cexp(-I * (n - 1.0) * half);
    }
    normal_set_toeplitz(fold->normal, fold->solution);
}

struct fold *fold_create(const struct fold_shape *shape)
{
    struct fold *fold = memory_create(1, sizeof *fold);
    if (fold == NULL) {
        return NULL;
    }
    const size_t unknowns = 2 * shape->harmonics + 1;
    fold->shape = *shape;
    fold->length = shape->row_length / shape->thinning;
    fold->class_capacity = shape->classes;
    fold->sums = memory_create(shape->classes * shape->row_length * 2, sizeof *fold->sums);
    fold->rows = memory_create(shape->classes, sizeof *fold->rows);
    fold->nufft = nufft_create_sums(shape->harmonics);
    fold->normal = normal_create(shape->harmonics);
    fold->phase = memory_create(fold->length, sizeof *fold->phase);
    fold->points = nufft_points_create(fold->length);
    fold->thinned = memory_create(fold->length, sizeof *fold->thinned);
    fold->multiplier = memory_create(shape->classes, sizeof *fold->multiplier);
    fold->box = memory_create(shape->harmonics + 1, sizeof *fold->box);
    fold->part = memory_create(unknowns, sizeof *fold->part);
    fold->right = memory_create(unknowns, sizeof *fold->right);
    fold->solution = memory_create(unknowns, sizeof *fold->solution);
    fold->weights = memory_create(shape->classes, sizeof *fold->weights);
    bool complete = fold->sums != NULL && fold->rows != NULL && fold->nufft != NULL &&
                    fold->normal != NULL && fold->phase != NULL && fold->points != NULL &&
                    fold->thinned != NULL && fold->multiplier != NULL && fold->box != NULL &&
                    fold->part != NULL && fold->right != NULL && fold->solution != NULL &&
                    fold->weights != NULL;
    for (size_t c = 0; complete && c < shape->classes; c++) {
        fold->multiplier[c] = memory_create(shape->harmonics + 1, sizeof *fold->multiplier[c]);
        complete = fold->multiplier[c] != NULL;
    }
    if (!complete) {
        fold_destroy(fold);
        return NULL;
    }
    set_tables(fold);
    return fold;
}

void fold_destroy(struct fold *fold)
{
    if (fold == NULL) {
        return;
    }
    for (size_t c = 0; fold->multiplier != NULL && c < fold->class_capacity; c++) {
        memory_destroy(fold->multiplier[c]);
    }
    nufft_destroy(fold->nufft);
    normal_destroy(fold->normal);
    memory_destroy(fold->multiplier);
    memory_destroy(fold->sums);
    memory_destroy(fold->rows);
    memory_destroy(fold->turns);
    memory_destroy(fold->row_class);
    memory_destroy(fold->phase);
    nufft_points_destroy(fold->points);
    memory_destroy(fold->thinned);
    memory_destroy(fold->box);
    memory_destroy(fold->part);
    memory_destroy(fold->right);
    memory_destroy(fold->solution);
    memory_destroy(fold->weights);
    memory_destroy(fold);
}

void fold_set_frequency(struct fold *fold, double nu)
{
    fold->shape.nu = nu;
    set_tables(fold);
}

size_t fold_get_rows(const struct fold *fold)
{
    return fold->row_count;
}

/* The one loop that every sample passes: compiled for wider vectors too, chosen at load time. Each
 * element is summed on its own, in order, so that the bits do not depend on the choice. */
#if defined(__GNUC__) && !defined(__clang__) && defined(__x86_64__) &&                             \
    !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
__attribute__((target_clones("avx2", "default"), optimize("O3")))
#endif
static void
add_row(double *restrict sums, const double *restrict row, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        sums[i] += row[i];
    }
}

static enum status reserve_row(struct fold *fold, struct error *err)
{
    if (fold->row_count < fold->row_capacity) {
        return STATUS_OK;
    }
    const size_t capacity = fold->row_capacity == 0 ? 256 : 2 * fold->row_capacity;
    double *turns = memory_resize(fold->turns, capacity, sizeof *turns);
    fold->turns = turns != NULL ? turns : fold->turns;
    int *row_class = memory_resize(fold->row_class, capacity, sizeof *row_class);
    fold->row_class = row_class != NULL ? row_class : fold->row_class;
    if (turns == NULL || row_class == NULL) {
        return fail_memory(err);
    }
    fold->row_capacity = capacity;
    return STATUS_OK;
}

enum status fold_add(struct fold *fold, const double *row, double offset, struct error *err)
{
    const enum status status = reserve_row(fold, err);
    if (status != STATUS_OK) {
        return status;
    }
    const struct fold_shape *shape = &fold->shape;
    const double place = (offset + 0.5) * (double)shape->classes;
    const size_t class = (size_t)fmax(fmin(place, (double)(shape->classes - 1)), 0.0);
    add_row(fold->sums + class * shape->row_length * 2, row, shape->row_length * 2);
    fold->turns[fold->row_count] = offset * shape->nu;
    fold->row_class[fold->row_count++] = (int)class;
    fold->rows[class]++;
    return STATUS_OK;
}

/* E_c[k] of every class that has rows, times what thinning does. */
static void set_multipliers(struct fold *fold)
{
    const size_t top = fold->shape.harmonics;
    for (size_t c = 0; c < fold->shape.classes; c++) {
        memset(fold->multiplier[c], 0, (top + 1) * sizeof *fold->multiplier[c]);
    }
    for (size_t r = 0; r < fold->row_count; r++) {
        double *e = (double *)fold->multiplier[fold->row_class[r]];
        const double zr = cos(TURN * fold->turns[r]), zi = sin(TURN * fold->turns[r]);
        double re = 1.0, im = 0.0;
        for (size_t k = 0; k <= top; k++) {
            e[2 * k] += re;
            e[2 * k + 1] += im;
            const double next = re * zr - im * zi;
            im = re * zi + im * zr;
            re = next;
        }
    }
    for (size_t c = 0; c < fold->shape.classes; c++) {
        for (size_t k = 0; k <= top; k++) {
            fold->multiplier[c][k] *= fold->box[k];
        }
    }
}

static void thin(struct fold *fold, size_t class, double energy[2])
{
    const double *sums = fold->sums + class * fold->shape.row_length * 2;
    const double weight = fold->weights[class];
    for (size_t j = 0; j < fold->length; j++) {
        double a = 0.0, b = 0.0;
        for (size_t i = 0; i < fold->shape.thinning; i++) {
            a += *sums++;
            b += *sums++;
        }
        fold->thinned[j] = as_complex(a, b);
        energy[0] += weight * a * a;
        energy[1] += weight * b * b;
    }
}

/* A two-sided solution of a + i b, a and b real, as the series of a and of b. `product` gets what
 * each explains of its channel's weighted energy. */
static void split(const struct fold *fold, struct fold_result *result, double product[2])
{
    const size_t top = fold->shape.harmonics;
    product[0] = product[1] = 0.0;
    for (size_t k = top + 1; k-- > 0;) {
        const double complex d = fold->solution[top + k], s = conj(fold->solution[top - k]);
        const double complex f = fold->right[top + k], g = conj(fold->right[top - k]);
        const double complex a = 0.5 * (d + s), b = -0.5 * I * (d - s);
        const double complex fa = 0.5 * (f + g), fb = -0.5 * I * (f - g);
        const double twice = k == 0 ? 1.0 : 2.0;
        result->coefficient[0][k] = twice * a;
        result->coefficient[1][k] = twice * b;
        product[0] += twice * creal(conj(a) * fa);
        product[1] += twice * creal(conj(b) * fb);
    }
}

void fold_solve(struct fold *fold, struct fold_result *result)
{
    const size_t unknowns = 2 * fold->shape.harmonics + 1, top = fold->shape.harmonics;
    double complex *multiplier[CLASS_LIMIT];
    double weights[CLASS_LIMIT];
    size_t used = 0;
    double energy[2] = {0.0, 0.0};
    set_multipliers(fold);
    memset(fold->right, 0, unknowns * sizeof *fold->right);
    for (size_t c = 0; c < fold->shape.classes; c++) {
        if (fold->rows[c] == 0) {
            continue;
        }
        fold->weights[c] = 1.0 / ((double)fold->rows[c] * (double)fold->shape.thinning);
        thin(fold, c, energy);
        nufft_compute_sums_at(fold->nufft, fold->points, fold->thinned, fold->part);
        for (size_t i = 0; i < unknowns; i++) {
            const double complex e =
                i >= top ? conj(fold->multiplier[c][i - top]) : fold->multiplier[c][top - i];
            fold->right[i] += fold->weights[c] * e * fold->part[i];
        }
        multiplier[used] = fold->multiplier[c];
        weights[used++] = fold->weights[c];
    }
    normal_solve(fold->normal, used, multiplier, weights, fold->right, fold->solution);
    double product[2];
    split(fold, result, product);
    for (int m = 0; m < 2; m++) {
        /* Below rounding of the difference nothing is known: a few parts in 1e16 of the energy. */
        const double rest = energy[m] - product[m], floor_ = 4e-16 * energy[m];
        result->square_sum[m] = fmax(rest, floor_);
    }
    const double freedom = (double)(used * fold->length) - (double)unknowns;
    result->freedom = fmax(freedom, 1.0);
    fold_clear(fold);
}

void fold_clear(struct fold *fold)
{
    memset(fold->sums, 0, fold->shape.classes * fold->shape.row_length * 2 * sizeof *fold->sums);
    memset(fold->rows, 0, fold->shape.classes * sizeof *fold->rows);
    fold->row_count = 0;
}
