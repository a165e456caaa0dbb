// SPDX-License-Identifier: GPL-3.0-or-later
/* The tables of an expansion: derivatives of what was recorded, and moments of its harmonics. Rows
 * are filled when a trial first asks for them: most budgets need two of the 34. */
#include <math.h>
#include <pthread.h>
#include <stdatomic.h>

#include "base/memory.h"
#include "loop/expansion_part.h"

static const double TURN = 6.283185307179586476925286766559;

enum {
    TERMS = EXPANSION_TERMS,
    LANES = EXPANSION_LANES,
    ORDERS = TERMS + 2, /* of derivatives: -1, the integral, to TERMS */
};

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

/* Where the lanes of a row of tables are. */
struct place {
    double phase[LANES]; /* NaN: the lane is not used */
    bool is_first_top;   /* even lanes are tops, odd ones bottoms */
    atomic_bool is_filled;
};

struct expansion_tables {
    struct basis basis;
    double *power; /* k^(order - 1), all k of an order together */
    struct place *place;
    struct expansion_rows *rows;
    pthread_mutex_t lock; /* of who fills a row */
};

static void set_powers(double *power, size_t harmonics)
{
    for (size_t order = 0; order < ORDERS; order++) {
        for (size_t k = 1; k <= harmonics; k++) {
            power[order * (harmonics + 1) + k] = pow((double)k, (double)order - 1.0);
        }
    }
}

/* The derivatives of this order at a phase: of the fields, and last of the pickup. */
static void differentiate(const struct expansion_tables *tables, double phase, size_t order,
    double sum[EXPANSION_LEADS + 1])
{
    const struct basis *basis = &tables->basis;
    const double *power = tables->power + order * (basis->harmonics + 1);
    const double ahead = 0.25 * TURN * ((double)order - 1.0);
    for (size_t i = 0; i <= basis->leads; i++) {
        sum[i] = 0.0;
    }
    for (size_t k = basis->harmonics; k >= 1; k--) {
        double s, c;
        sincos((double)k * phase + ahead, &s, &c);
        for (size_t i = 0; i < basis->leads; i++) {
            const double complex e = basis->field[i][k];
            sum[i] += power[k] * (creal(e) * c - cimag(e) * s);
        }
        const double complex p = basis->pickup[k];
        sum[basis->leads] += power[k] * (creal(p) * c - cimag(p) * s);
    }
}

static void fill_lane(
    const struct expansion_tables *tables, struct expansion_rows *rows, int lane, double phase)
{
    const size_t leads = tables->basis.leads;
    double at[ORDERS][EXPANSION_LEADS + 1];
    for (size_t order = 0; order < ORDERS; order++) {
        differentiate(tables, phase, order, at[order]);
    }
    double factorial = 1.0;
    for (size_t n = 0; n < TERMS; n++) {
        factorial *= n > 0 ? (double)n : 1.0;
        const size_t order = n + 1;
        for (size_t i = 0; i < leads; i++) {
            rows->field[2 * i][n][lane] = at[order][i] / factorial;
            rows->field[2 * i + 1][n][lane] = at[order - 1][i] / factorial;
        }
        rows->pickup[0][n][lane] = at[order][leads] / factorial;
        rows->pickup[1][n][lane] = at[order - 1][leads] / factorial;
        rows->pickup[2][n][lane] = at[order + 1][leads] / factorial;
    }
}

/* Lanes that are not used hold something harmless. */
static void fill_row(
    const struct expansion_tables *tables, const struct place *place, struct expansion_rows *rows)
{
    for (int lane = 0; lane < LANES; lane++) {
        const double phase = place->phase[lane];
        rows->side[lane] = (lane % 2 == 0) == place->is_first_top ? 1.0 : -1.0;
        rows->is_used[lane] = isnan(phase) ? 0.0 : 1.0;
        fill_lane(tables, rows, lane, isnan(phase) ? 0.0 : phase);
    }
}

const struct expansion_rows *expansion_get_rows(const struct expansion *expansion, size_t row)
{
    struct expansion_tables *tables = expansion->tables;
    struct place *place = &tables->place[row];
    if (!atomic_load_explicit(&place->is_filled, memory_order_acquire)) {
        pthread_mutex_lock(&tables->lock);
        if (!atomic_load_explicit(&place->is_filled, memory_order_relaxed)) {
            fill_row(tables, place, &tables->rows[row]);
            atomic_store_explicit(&place->is_filled, true, memory_order_release);
        }
        pthread_mutex_unlock(&tables->lock);
    }
    return &tables->rows[row];
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

static void set_places(
    const struct expansion *expansion, const struct track *track, struct place *places)
{
    for (size_t i = 0; i < expansion->row_count; i++) {
        places[i].is_first_top = i < EXPANSION_TURNS || track->is_first_top;
        atomic_init(&places[i].is_filled, false);
    }
    for (int lane = 0; lane < LANES; lane++) {
        const int wave = expansion_get_wave(lane), side = lane % 2;
        const bool is_left = lane >= 2 * TRACK_WAVES;
        places[EXPANSION_CROSSINGS].phase[lane] =
            is_left ? NAN : track_get_phase(track, wave, TRACK_FALLING + side);
        for (int c = -EXPANSION_SPAN; c <= EXPANSION_SPAN; c++) {
            const double phase = track_get_phase(track, wave, TRACK_TOP + side);
            places[EXPANSION_PEAKS + EXPANSION_SPAN + c].phase[lane] =
                is_left ? NAN : phase + c * EXPANSION_SPACING * expansion->reach;
        }
    }
    for (size_t i = EXPANSION_TURNS; i < expansion->row_count; i++) {
        for (size_t lane = 0; lane < LANES; lane++) {
            const size_t turn = (i - EXPANSION_TURNS) * LANES + lane;
            places[i].phase[lane] = turn < track->turn_count ? track->turns[turn] : NAN;
        }
    }
}

static void tables_destroy(struct expansion_tables *tables)
{
    if (tables != NULL) {
        basis_clear(&tables->basis);
        memory_destroy(tables->power);
        memory_destroy(tables->place);
        memory_destroy(tables->rows);
        pthread_mutex_destroy(&tables->lock);
        memory_destroy(tables);
    }
}

static struct expansion_tables *tables_create(
    const struct expansion *expansion, const struct fourier_loop *recorded, struct error *err)
{
    struct expansion_tables *tables = memory_create(1, sizeof *tables);
    if (tables == NULL) {
        (void)fail_memory(err);
        return NULL;
    }
    pthread_mutex_init(&tables->lock, NULL);
    tables->power = memory_create(ORDERS * (recorded->harmonics + 1), sizeof *tables->power);
    tables->place = memory_create(expansion->row_count, sizeof *tables->place);
    tables->rows = memory_create(expansion->row_count, sizeof *tables->rows);
    if (basis_init(&tables->basis, expansion, recorded, err) != STATUS_OK ||
        tables->power == NULL || tables->place == NULL || tables->rows == NULL) {
        tables_destroy(tables);
        (void)fail_memory(err);
        return NULL;
    }
    set_powers(tables->power, recorded->harmonics);
    return tables;
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
    fresh.tables = tables_create(&fresh, recorded, err);
    if (fresh.tables == NULL) {
        return STATUS_FAULT;
    }
    const struct basis *basis = &fresh.tables->basis;
    const int order = nominal->integrator_s > 0.0 ? 1 : 0;
    fresh.reach = fmin(find_reach(basis->field[0], basis->harmonics, 0),
        find_reach(basis->pickup, basis->harmonics, order));
    fresh.lead_reach = find_lead_reach(basis->field[0], basis->harmonics);
    set_places(&fresh, track, fresh.tables->place);
    fill_sums(&fresh, basis);
    *expansion = fresh;
    return STATUS_OK;
}

void expansion_clear(struct expansion *expansion)
{
    tables_destroy(expansion->tables);
    *expansion = (struct expansion){0};
}
