// SPDX-License-Identifier: GPL-3.0-or-later
/* Models on a family of 60 loops: prints lines "fit MODEL seconds" for the fit with its residuals,
 * and "point MODEL seconds" for one evaluation of B at a field along a drive with reversals. The
 * loops are tanh branches with peaks of 1 to 60 kA/m. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "model/fit.h"
#include "model/history.h"

enum { LOOPS = 60, POINTS = 256, DRIVE = 200000, BLOCK = 1000 };
static const double two_pi = 6.283185307179586477;

static void need(enum status status, const struct error *err)
{
    if (status != STATUS_OK) {
        fprintf(stderr, "%s\n", err->message);
        exit(1);
    }
}

static double get_seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static void time_points(const struct material *material)
{
    struct history *history;
    struct error err = {0};
    double given[BLOCK], found[BLOCK];
    need(history_create(material, &history, &err), &err);
    size_t count = material->model == &model_preisach ? DRIVE : DRIVE / 20;
    double spent = 0.0;
    for (size_t i = 0; i < count; i += BLOCK) {
        for (size_t k = 0; k < BLOCK; k++) {
            double x = two_pi * (double)(i + k) / 1000.0;
            given[k] = 40e3 * sin(x) + 15e3 * sin(7.3 * x);
        }
        double began = get_seconds();
        need(history_advance(history, MODEL_DRIVE_FIELD, given, BLOCK, found, &err), &err);
        spent += get_seconds() - began;
    }
    printf("point %s %.9g\n", material->model->name, spent / (double)count);
    history_destroy(history);
}

int main(void)
{
    static double field[LOOPS][POINTS], flux[LOOPS][POINTS];
    static const double parameters[] = {1.3, 19200, 19800};
    struct fit_loop loops[LOOPS];
    struct error err = {0};
    for (size_t k = 0; k < LOOPS; k++) {
        need(model_compute_cycle(&model_tanh, parameters, MODEL_DRIVE_FIELD, 1e3 * (double)(k + 1),
                 POINTS, field[k], flux[k], &err),
            &err);
        loops[k] = (struct fit_loop){field[k], flux[k], POINTS};
    }
    for (size_t m = 0; model_list[m]; m++) {
        struct model_fit fit;
        double began = get_seconds();
        need(model_fit_create(model_list[m], loops, LOOPS, &fit, &err), &err);
        printf("fit %s %.9g\n", model_list[m]->name, get_seconds() - began);
        if (model_list[m]->history->move)
            time_points(&fit.material);
        model_fit_clear(&fit);
    }
    return 0;
}
