// SPDX-License-Identifier: GPL-3.0-or-later
#include "calibrate/adjust.h"

#include <math.h>
#include <stdbool.h>

enum { STEPS_MOST = 50, P = ADJUST_PARAMETERS };

static const double STEP_SMALL = 1e-9;   /* of a parameter's standard uncertainty */
static const double PIVOT_SMALL = 1e-13; /* of a scaled column: its square root is 3e-7 */

/* Normal equations N x = b, of scaled columns. */
struct normal_equations {
    double matrix[P][P];
    double right[P];
    double scale[P]; /* of the columns */
    double chi_square;
};

static void fill(struct normal_equations *normal, const struct adjustment *adjustment, size_t rows,
    adjust_row *get_row, const void *user)
{
    const size_t count = adjustment->count;
    *normal = (struct normal_equations){0};
    for (size_t row = 0; row < rows; row++) {
        double slope[P] = {0};
        const double residual = get_row(user, row, adjustment->value, slope);
        normal->chi_square += residual * residual;
        for (size_t i = 0; i < count; i++) {
            normal->right[i] += slope[i] * residual;
            for (size_t j = 0; j < count; j++) {
                normal->matrix[i][j] += slope[i] * slope[j];
            }
        }
    }
    for (size_t i = 0; i < count; i++) {
        normal->scale[i] = sqrt(normal->matrix[i][i]);
    }
    for (size_t i = 0; i < count; i++) {
        normal->right[i] /= normal->scale[i];
        for (size_t j = 0; j < count; j++) {
            normal->matrix[i][j] /= normal->scale[i] * normal->scale[j];
        }
    }
}

/* Inverts a positive definite matrix in place (Gauss and Jordan); false when it is singular. */
static bool invert(double matrix[P][P], size_t count)
{
    for (size_t pivot = 0; pivot < count; pivot++) {
        const double size = matrix[pivot][pivot];
        if (!(size > PIVOT_SMALL)) {
            return false;
        }
        matrix[pivot][pivot] = 1.0;
        for (size_t j = 0; j < count; j++) {
            matrix[pivot][j] /= size;
        }
        for (size_t i = 0; i < count; i++) {
            const double factor = matrix[i][pivot];
            if (i == pivot) {
                continue;
            }
            matrix[i][pivot] = 0.0;
            for (size_t j = 0; j < count; j++) {
                matrix[i][j] -= factor * matrix[pivot][j];
            }
        }
    }
    return true;
}

/* One step; true when it was a small one. */
static bool make_step(struct adjustment *adjustment, const struct normal_equations *normal)
{
    bool is_small = true;
    for (size_t i = 0; i < adjustment->count; i++) {
        double step = 0.0;
        for (size_t j = 0; j < adjustment->count; j++) {
            step += normal->matrix[i][j] * normal->right[j];
            adjustment->covariance[i][j] =
                normal->matrix[i][j] / (normal->scale[i] * normal->scale[j]);
        }
        step /= normal->scale[i];
        adjustment->value[i] += step;
        is_small = is_small && fabs(step) <= STEP_SMALL * sqrt(adjustment->covariance[i][i]) +
                                                 1e-15 * fabs(adjustment->value[i]);
    }
    return is_small;
}

enum status adjust(struct adjustment *adjustment, size_t rows, adjust_row *get_row,
    const void *user, struct error *err)
{
    struct adjustment made = *adjustment;
    struct normal_equations normal;
    bool is_done = false, is_sound = rows >= made.count;
    for (int step = 0; is_sound && !is_done && step < STEPS_MOST; step++) {
        fill(&normal, &made, rows, get_row, user);
        is_sound = isfinite(normal.chi_square) && invert(normal.matrix, made.count);
        is_done = is_sound && make_step(&made, &normal);
    }
    if (!is_sound || !is_done) {
        return fail(err, STATUS_CAPTURE, "record a signal with more harmonics, down to low ones",
            "the recording does not determine what is sought");
    }
    fill(&normal, &made, rows, get_row, user);
    made.chi_square = normal.chi_square;
    made.degrees = rows - made.count;
    *adjustment = made;
    return STATUS_OK;
}
