// SPDX-License-Identifier: GPL-3.0-or-later
/* The figures and curves of a motor, with what is known of them. All of them are outputs of one
 * measurement model with eight inputs, so that the law of propagation (JCGM 100:2008, 5.2.2) sees
 * the correlation of the loss terms: hysteresis and eddy terms come from one fit and run against
 * each other. */
#include "motor/motor.h"

#include <math.h>

#include "base/memory.h"
#include "budget/propagate.h"
#include "motor/drive.h"
#include "num/student.h"

#define SLIPS 101 /* points of the curve */
#define ANGLES 46

enum input {
    IN_VOLUME,
    IN_SUPPLY,
    IN_LOSS,
    IN_LAG = IN_LOSS + STEEL_TERMS,
    IN_LOAD,
    IN_INERTIA,
    INPUTS
};

/* What the model is asked for. */
struct subject {
    size_t pole_pairs;
    bool has_load, has_inertia, is_separated;
    size_t slips;
};

static struct torque_law get_law(const struct subject *subject, const double *inputs)
{
    struct torque_law law = {.pole_pairs = (double)subject->pole_pairs,
        .volume = inputs[IN_VOLUME],
        .supply = inputs[IN_SUPPLY]};
    for (int term = 0; term < STEEL_TERMS; term++) {
        law.loss[term] = inputs[IN_LOSS + term];
    }
    return law;
}

static void set_load(const struct subject *subject, const struct torque_law *law,
    const double *inputs, double *outputs)
{
    const double load = inputs[IN_LOAD];
    struct run_up run_up;
    torque_compute_run_up(law, load, subject->has_inertia ? inputs[IN_INERTIA] : 0.0, &run_up);
    outputs[MOTOR_LOAD_MARGIN] = outputs[MOTOR_HYSTERESIS_TORQUE] - load;
    outputs[MOTOR_LOAD_ANGLE] = torque_compute_load_angle(law, inputs[IN_LAG], load);
    outputs[MOTOR_FINAL_SLIP] = run_up.slip;
    outputs[MOTOR_RUN_UP_TIME] = run_up.time;
}

/* Figures first, then the curve of the torque. What there is not is NaN. */
static void compute(const void *context, void *work, const double *inputs, double *outputs)
{
    (void)work;
    const struct subject *subject = context;
    const struct torque_law law = get_law(subject, inputs);
    const double speed = torque_compute_synchronous_speed(&law);
    for (int figure = 0; figure < MOTOR_FIGURE_COUNT; figure++) {
        outputs[figure] = NAN;
    }
    outputs[MOTOR_SYNCHRONOUS_SPEED] = 60.0 * law.supply / law.pole_pairs;
    outputs[MOTOR_HYSTERESIS_TORQUE] = torque_compute_term(&law, STEEL_HYSTERESIS, 1.0);
    outputs[MOTOR_LAG_ANGLE] = inputs[IN_LAG];
    outputs[MOTOR_LOSS] = torque_compute_loss(&law, 1.0);
    outputs[MOTOR_PULL_OUT_POWER] = outputs[MOTOR_HYSTERESIS_TORQUE] * speed;
    outputs[MOTOR_TORQUE_PER_VOLUME] = outputs[MOTOR_HYSTERESIS_TORQUE] / law.volume;
    if (subject->is_separated) {
        outputs[MOTOR_EDDY_TORQUE] = torque_compute_term(&law, STEEL_LINEAR, 1.0);
        outputs[MOTOR_EXCESS_TORQUE] = torque_compute_term(&law, STEEL_EXCESS, 1.0);
        outputs[MOTOR_STARTING_TORQUE] = torque_compute(&law, 1.0);
        outputs[MOTOR_HYSTERESIS_LOSS] = torque_compute_term_loss(&law, STEEL_HYSTERESIS, 1.0);
        outputs[MOTOR_EDDY_LOSS] = torque_compute_term_loss(&law, STEEL_LINEAR, 1.0);
        outputs[MOTOR_EXCESS_LOSS] = torque_compute_term_loss(&law, STEEL_EXCESS, 1.0);
    }
    if (subject->has_load) {
        set_load(subject, &law, inputs, outputs);
    }
    for (size_t i = 0; i < subject->slips; i++) {
        const double slip = (double)i / (double)(subject->slips - 1);
        outputs[MOTOR_FIGURE_COUNT + i] = torque_compute(&law, slip);
    }
}

static void set_inputs(const struct motor_machine *machine, const struct steel_point *point,
    struct budget_input inputs[INPUTS])
{
    const struct quantity *const given[INPUTS] = {[IN_VOLUME] = &machine->volume,
        [IN_SUPPLY] = &machine->supply,
        [IN_LOAD] = &machine->load_torque,
        [IN_INERTIA] = &machine->inertia};
    for (int i = 0; i < INPUTS; i++) {
        inputs[i] = (struct budget_input){.name = "", .freedom = INFINITY};
        if (given[i] != NULL) {
            inputs[i].value = given[i]->value;
            inputs[i].u = quantity_get_uncertainty(given[i]);
        }
    }
    for (int term = 0; term < STEEL_TERMS; term++) {
        inputs[IN_LOSS + term].value = point->loss[term];
        inputs[IN_LOSS + term].u = sqrt(fmax(point->covariance[term][term], 0.0));
    }
    inputs[IN_LAG].value = point->lag_angle;
    inputs[IN_LAG].u = isnan(point->u_lag_angle) ? 0.0 : point->u_lag_angle;
}

static void set_correlation(const struct steel_point *point,
    const struct budget_input inputs[INPUTS], double correlation[INPUTS * INPUTS])
{
    for (int i = 0; i < INPUTS * INPUTS; i++) {
        correlation[i] = i / INPUTS == i % INPUTS ? 1.0 : 0.0;
    }
    for (int i = 0; i < STEEL_TERMS; i++) {
        for (int j = 0; j < STEEL_TERMS; j++) {
            const double scale = inputs[IN_LOSS + i].u * inputs[IN_LOSS + j].u;
            if (i != j && scale > 0.0) {
                correlation[(IN_LOSS + i) * INPUTS + IN_LOSS + j] = point->covariance[i][j] / scale;
            }
        }
    }
}

/* What the field takes, where the ring's dimensions are known; what it is uncertain by is already
 * in the torque. */
static void set_turns(const struct motor_machine *machine, struct motor *motor)
{
    if (machine_has_ring(machine)) {
        const double turns = drive_compute_ampere_turns(machine, &motor->state.point);
        const double torque = motor->figures[MOTOR_HYSTERESIS_TORQUE].value;
        motor->figures[MOTOR_AMPERE_TURNS] =
            (struct figure_value){.value = turns, .is_present = true};
        motor->figures[MOTOR_TORQUE_PER_AMPERE_TURN] =
            (struct figure_value){.value = torque / turns, .is_present = true};
    }
}

static void set_figures(
    const struct motor_machine *machine, const struct propagation *result, struct motor *motor)
{
    for (int i = 0; i < MOTOR_FIGURE_COUNT; i++) {
        const bool is_present = isfinite(result->value[i]);
        const bool has_u = is_present && isfinite(result->u[i]) && result->u[i] > 0.0;
        motor->figures[i] = (struct figure_value){.value = is_present ? result->value[i] : 0.0,
            .u = has_u ? result->u[i] : 0.0,
            .is_present = is_present,
            .has_u = has_u};
    }
    set_turns(machine, motor);
    const struct figure_value *margin = &motor->figures[MOTOR_LOAD_MARGIN];
    if (margin->has_u) {
        motor->figures[MOTOR_SYNCHRONIZING] = (struct figure_value){
            .value = normal_compute_share(margin->value / margin->u), .is_present = true};
    }
}

static enum status set_curve(const struct propagation *result, struct motor_curve *curve,
    const struct torque_law *law, struct error *err)
{
    double **const rows[] = {&curve->slip, &curve->torque, &curve->u_torque, &curve->loss,
        &curve->term[STEEL_HYSTERESIS], &curve->term[STEEL_LINEAR], &curve->term[STEEL_EXCESS]};
    curve->count = SLIPS;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        *rows[i] = memory_create(SLIPS, sizeof **rows[i]);
        if (*rows[i] == NULL) {
            return fail_memory(err);
        }
    }
    for (size_t i = 0; i < SLIPS; i++) {
        curve->slip[i] = (double)i / (SLIPS - 1);
        curve->torque[i] = result->value[MOTOR_FIGURE_COUNT + i];
        curve->u_torque[i] = result->u[MOTOR_FIGURE_COUNT + i];
        curve->loss[i] = torque_compute_loss(law, curve->slip[i]);
        for (int term = 0; term < STEEL_TERMS; term++) {
            curve->term[term][i] = torque_compute_term(law, (enum steel_term)term, curve->slip[i]);
        }
    }
    return STATUS_OK;
}

static enum status set_angles(struct motor *motor, struct error *err)
{
    const double lag = motor->state.point.lag_angle;
    struct motor_angles *angles = &motor->angles;
    if (!(lag > 0.0)) {
        return STATUS_OK;
    }
    angles->angle = memory_create(ANGLES, sizeof *angles->angle);
    angles->torque = memory_create(ANGLES, sizeof *angles->torque);
    if (angles->angle == NULL || angles->torque == NULL) {
        return fail_memory(err);
    }
    angles->count = ANGLES;
    for (size_t i = 0; i < ANGLES; i++) {
        angles->angle[i] = lag * (double)i / (ANGLES - 1);
        angles->torque[i] = torque_compute_at_angle(&motor->law, lag, angles->angle[i]);
    }
    return STATUS_OK;
}

/* The model's inputs, as they stand. */
struct inputs {
    struct budget_input list[INPUTS];
    double correlation[INPUTS * INPUTS];
    double values[INPUTS];
};

static enum status compute_motor(const struct motor_machine *machine, const struct subject *subject,
    struct motor *motor, struct error *err)
{
    struct inputs inputs;
    struct propagation result = {0};
    set_inputs(machine, &motor->state.point, inputs.list);
    set_correlation(&motor->state.point, inputs.list, inputs.correlation);
    for (int i = 0; i < INPUTS; i++) {
        inputs.values[i] = inputs.list[i].value;
    }
    const struct budget_problem problem = {.model = {.outputs = MOTOR_FIGURE_COUNT + subject->slips,
                                               .subject = subject,
                                               .compute = compute},
        .inputs = {.list = inputs.list, .count = INPUTS, .correlation = inputs.correlation}};
    motor->law = get_law(subject, inputs.values);
    enum status status = propagation_create(&result, &problem, err);
    if (status == STATUS_OK) {
        set_figures(machine, &result, motor);
        status = set_curve(&result, &motor->curve, &motor->law, err);
        propagation_clear(&result);
    }
    if (subject->has_load) {
        torque_compute_run_up(&motor->law, machine->load_torque.value,
            subject->has_inertia ? machine->inertia.value : 0.0, &motor->run_up);
    }
    return status == STATUS_OK ? set_angles(motor, err) : status;
}

enum status motor_create(const struct motor_steel *steel, const struct motor_machine *machine,
    const struct motor_wanted *wanted, struct motor *motor, struct error *err)
{
    struct motor fresh = {0};
    const struct subject subject = {.pole_pairs = machine->pole_pairs,
        .has_load = machine->load_torque.is_present || machine->inertia.is_present,
        .has_inertia = machine->inertia.is_present,
        .is_separated = steel->is_separated,
        .slips = SLIPS};
    enum status status = motor_steel_find(steel, wanted, &fresh.state, err);
    if (status == STATUS_OK) {
        status = compute_motor(machine, &subject, &fresh, err);
    }
    if (status == STATUS_OK) {
        motor_add_notes(steel, machine, wanted, &fresh);
        *motor = fresh;
    } else {
        motor_clear(&fresh);
    }
    return status;
}

void motor_clear(struct motor *motor)
{
    double *const rows[] = {motor->curve.slip, motor->curve.torque, motor->curve.u_torque,
        motor->curve.loss, motor->curve.term[STEEL_HYSTERESIS], motor->curve.term[STEEL_LINEAR],
        motor->curve.term[STEEL_EXCESS], motor->angles.angle, motor->angles.torque};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        memory_destroy(rows[i]);
    }
    notes_clear(&motor->notes);
    *motor = (struct motor){0};
}
