// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_MOTOR_COMPARE_H
#define LODECARD_MOTOR_COMPARE_H

#include <stddef.h>

#include "base/error.h"
#include "base/json.h"
#include "motor/machine.h"
#include "motor/steel.h"

/* Ring steels side by side in the same motor. */

/* One steel at one amplitude. */
struct comparison_entry {
    bool is_present; /* false: the amplitude is not among the measured ones */
    struct steel_point point;
    double torque, u_torque; /* N m: hysteresis torque; u 0: not known */
    double per_volume;       /* N m/m³ */
    double per_field;        /* T: Wh / Hm, which torque per ampere-turn and volume goes with; it is
                                4 Bm times the fullness of the loop */
    double per_ampere_turn;  /* N m/A; 0: no ring dimensions */
};

struct comparison_row {
    const struct motor_steel *steel; /* borrowed */
    struct comparison_entry asked; /* at the amplitude asked for; for WANTED_LARGEST its largest */
    struct comparison_entry best;  /* at the amplitude with most torque per ampere-turn */
    bool is_best_at_end;           /* that is its largest or least amplitude measured: the true best
                                      one may be beyond */
};

enum status comparison_set(struct comparison_row *row, const struct motor_steel *steel,
    const struct motor_machine *machine, const struct motor_wanted *wanted,
    struct error *err) MUST_CHECK;

void comparison_write_json(
    struct json *json, const char *key, const struct comparison_row *rows, size_t count);

#endif
