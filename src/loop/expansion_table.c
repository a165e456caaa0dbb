// SPDX-License-Identifier: GPL-3.0-or-later
/* The tables of an expansion: derivatives of what was recorded, and moments of its harmonics. */
#include <math.h>

#include "base/memory.h"
#include "loop/expansion_part.h"

static const double TURN = 6.283185307179586476925286766559;

enum { TERMS = EXPANSION_TERMS, LANES = EXPANSION_LANES };

static const double LEFT_OUT = 1e-13;

/* What the recording is expanded from: the pickup turned back by the known delay and, if it is a
 * voltage, integrated. */
struct basis {
    double complex *field[EXPANSION_LEADS]; /* by order of l */
    size_t leads;
    double complex *pickup;
    size_t harmonics;
};

static enum status basis_init(struct basis *basis, const struct expansion *expansion,
    const struct fourier_loop *recorded, struct error *err)
{
    const size_t count = recorded->harmonics + 1;
    *basis = (struct basis){.leads = expansion->leads, .harmonics = recorded->harmonics};
    basis->pickup = memory_create(count, sizeof *basis->pickup);
    bool is_short = basis->pickup == NULL;
    for (size_t n = 0; n < basis->leads; n++) {
        basis->field[n] = memory_create(count, sizeof *basis->field[n]);
        is_short = is_short || basis->field[n] == NULL;
    }
    if (is_short) {
        return fail_memory(err);
    }
    for (size_t k = 1; k < count; k++) {
        const double n = (double)k;
        double complex lead = recorded->field[k] / (1.0 + I * n * expansion->lead);
        for (size_t order = 0; order < basis->leads; order++) {
            basis->field[order][k] = lead;
            lead *= -I * n / (1.0 + I * n * expansion->lead);
        }
        basis->pickup[k] = recorded->flux_density[k] * cexp(-I * n * expansion->shift) /
                           (expansion->has_voltage ? I * n : 1.0);
    }
    return STATUS_OK;
}

static void basis_clear(struct basis *basis)
{
    memory_destroy(basis->pickup);
    for (size_t n = 0; n < basis->leads; n++) {
        memory_destroy(basis->field[n]);
    }
}

/* The n-th derivative at a phase; n = -1: the integral. */
static double differentiate(const double complex *c, size_t harmonics, double phase, int n)
{
    double sum = 0.0;
    for (size_t k = harmonics; k >= 1; k--) {
        const double angle = (double)k * phase;
        sum += pow((double)k, n) * creal(c[k] * cexp(I * (angle + 0.25 * TURN * n)));
    }
    return sum;
}

static void fill_lane(
    struct expansion_rows *rows, int lane, const struct basis *basis, double phase)
{
    double factorial = 1.0;
    for (int n = 0; n < TERMS; n++) {
        factorial *= n > 0 ? n : 1;
        for (size_t i = 0; i < 2 * basis->leads; i++) {
            rows->field[i][n][lane] =
                differentiate(basis->field[i / 2], basis->harmonics, phase, n - (int)(i % 2)) /
                factorial;
        }
        static const int order[] = {0, -1, 1};
        for (int i = 0; i < 3; i++) {
            rows->pickup[i][n][lane] =
                differentiate(basis->pickup, basis->harmonics, phase, n + order[i]) / factorial;
        }
    }
}

/* `phase` NaN: the lane is not used, and holds something harmless. Even lanes are tops, odd ones
 * bottoms, if `is_first_top`. */
static void set_lane(struct expansion_rows *rows, int lane, const struct basis *basis, double phase,
    bool is_first_top)
{
    rows->side[lane] = (lane % 2 == 0) == is_first_top ? 1.0 : -1.0;
    rows->is_used[lane] = isnan(phase) ? 0.0 : 1.0;
    fill_lane(rows, lane, basis, isnan(phase) ? 0.0 : phase);
}

/* How far the series of a waveform's derivative of this order holds: LEFT_OUT of its norm against
 * the first term left out, sum |c_k| (k step)^TERMS / TERMS!. */
static double find_reach(const double complex *c, size_t harmonics, int order)
{
    double squares = 0.0, left = 0.0;
    for (size_t k = harmonics; k >= 1; k--) {
        const double n = (double)k, size = cabs(c[k]) * pow(n, order);
        squares += size * size;
        left += size * pow(n, TERMS);
    }
    return pow(LEFT_OUT * sqrt(squares) * tgamma(TERMS + 1) / left, 1.0 / TERMS);
}

/* The same for the series of 1 / (1 + l D): its first term left out. */
static double find_lead_reach(const double complex *c, size_t harmonics)
{
    double squares = 0.0, left = 0.0;
    for (size_t k = harmonics; k >= 1; k--) {
        squares += creal(c[k] * conj(c[k]));
        left += cabs(c[k]) * pow((double)k, EXPANSION_LEADS);
    }
    return pow(LEFT_OUT * sqrt(squares) / left, 1.0 / EXPANSION_LEADS);
}

static void fill_sums(struct expansion *expansion, const struct basis *basis)
{
    for (size_t k = basis->harmonics; k >= 2; k--) {
        const double complex p = basis->pickup[k];
        for (size_t order = 0; order < basis->leads; order++) {
            const double complex e = basis->field[order][k];
            double square = 0.0; /* what the orders together make of |e|^2 */
            for (size_t i = 0; i <= order; i++) {
                square += creal(basis->field[i][k] * conj(basis->field[order - i][k]));
            }
            for (int m = 0; m < EXPANSION_MOMENTS + TERMS; m++) {
                expansion->cross[order][m] += pow((double)k, m - 2) * e * conj(p);
            }
            for (int m = 0; m < 4; m++) {
                expansion->field_squares[order][m] += pow((double)k, 2 * m - 2) * square;
            }
        }
        for (int m = 0; m < 4; m++) {
            expansion->pickup_squares[m] += pow((double)k, 2 * m - 2) * creal(p * conj(p));
        }
    }
    expansion->pickup_first = basis->pickup[1];
}

static void fill_rows(
    struct expansion *expansion, const struct track *track, const struct basis *basis)
{
    for (int lane = 0; lane < LANES; lane++) {
        const int wave = expansion_get_wave(lane), side = lane % 2;
        const bool is_left = lane >= 2 * TRACK_WAVES;
        set_lane(&expansion->rows[EXPANSION_CROSSINGS], lane, basis,
            is_left ? NAN : track_get_phase(track, wave, TRACK_FALLING + side), true);
        for (int c = -EXPANSION_SPAN; c <= EXPANSION_SPAN; c++) {
            const double phase = track_get_phase(track, wave, TRACK_TOP + side);
            set_lane(&expansion->rows[EXPANSION_PEAKS + EXPANSION_SPAN + c], lane, basis,
                is_left ? NAN : phase + c * EXPANSION_SPACING * expansion->reach, true);
        }
    }
    for (size_t i = EXPANSION_TURNS; i < expansion->row_count; i++) {
        for (int lane = 0; lane < LANES; lane++) {
            const size_t turn = (i - EXPANSION_TURNS) * LANES + (size_t)lane;
            set_lane(&expansion->rows[i], lane, basis,
                turn < track->turn_count ? track->turns[turn] : NAN, track->is_first_top);
        }
    }
}

enum status expansion_create(struct expansion *expansion, const struct fourier_loop *recorded,
    const struct conversion *nominal, double frequency_Hz, const struct track *track,
    struct error *err)
{
    struct expansion fresh = {.harmonics = recorded->harmonics,
        .has_voltage = nominal->pickup == PICKUP_VOLTAGE,
        .shift = TURN * frequency_Hz * nominal->pickup_delay_s,
        .lead = TURN * frequency_Hz * nominal->shunt_s,
        .leads = nominal->shunt_s != 0.0 ? EXPANSION_LEADS : 1,
        .bias = creal(recorded->field[0]),
        .field_first = recorded->field[1],
        .row_count = EXPANSION_TURNS,
        .turn_count = track->turn_count};
    if (track->turn_count > 2) {
        fresh.row_count += (track->turn_count + LANES - 1) / LANES;
    }
    struct basis basis;
    enum status status = basis_init(&basis, &fresh, recorded, err);
    fresh.rows = memory_create(fresh.row_count, sizeof *fresh.rows);
    if (status == STATUS_OK && fresh.rows == NULL) {
        status = fail_memory(err);
    }
    if (status == STATUS_OK) {
        const int order = nominal->integrator_s > 0.0 ? 1 : 0;
        fresh.reach = fmin(find_reach(basis.field[0], basis.harmonics, 0),
            find_reach(basis.pickup, basis.harmonics, order));
        fresh.lead_reach = find_lead_reach(basis.field[0], basis.harmonics);
        fill_rows(&fresh, track, &basis);
        fill_sums(&fresh, &basis);
        *expansion = fresh;
    } else {
        expansion_clear(&fresh);
    }
    basis_clear(&basis);
    return status;
}

void expansion_clear(struct expansion *expansion)
{
    memory_destroy(expansion->rows);
    *expansion = (struct expansion){0};
}
