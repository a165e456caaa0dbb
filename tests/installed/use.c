// SPDX-License-Identifier: GPL-3.0-or-later
/* What somebody else's program looks like: it knows the installed library only. Prints some figures
 * of a capture, and proves on the way that the points and the JSON text go with them. */
#include <lodecard.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define POINTS 2000

static int report(const char *what, const struct lodecard_error *err)
{
    fprintf(stderr, "%s: %s\nhint: %s\n", what, err->message, err->hint);
    return EXIT_FAILURE;
}

/* The area of the polygon through the points, J/m³ (shoelace formula). */
static double get_area(const double *field, const double *flux_density)
{
    double sum = 0;
    for (size_t i = 0; i < POINTS; i++) {
        size_t next = (i + 1) % POINTS;
        sum += field[i] * flux_density[next] - field[next] * flux_density[i];
    }
    return sum / 2;
}

static int check_shape(const struct lodecard_loop *loop)
{
    static double field[POINTS];
    static double flux_density[POINTS];
    struct lodecard_error err;
    double area;
    if (lodecard_loop_compute_points(loop, POINTS, field, flux_density, &err) != LODECARD_OK) {
        return report("points", &err);
    }
    if (!lodecard_loop_get_figure(loop, "loop_area_J_per_m3", &area, NULL)) {
        return EXIT_FAILURE;
    }
    /* The polygon cuts the corners of the loop: less than 1 part in 1000 with 2000 points. */
    if (!(fabs(get_area(field, flux_density) / area - 1) < 1e-3)) {
        fprintf(stderr, "the points enclose %g, the figure is %g\n", get_area(field, flux_density),
            area);
        return EXIT_FAILURE;
    }
    return EXIT_SUCCESS;
}

static int check_json(const struct lodecard_loop *loop)
{
    struct lodecard_error err;
    char *json = NULL;
    if (lodecard_loop_write_json(loop, 0, 0, &json, &err) != LODECARD_OK) {
        return report("json", &err);
    }
    int is_right = strstr(json, "\"schema\": \"lodecard-loop/1\"") != NULL &&
                   strstr(json, "\"loop_area_J_per_m3\": ") != NULL;
    lodecard_text_destroy(json);
    return is_right ? EXIT_SUCCESS : EXIT_FAILURE;
}

/* rig.yaml and specimen.yaml stand beside the capture: not naming them makes no difference. */
static int check_beside(const char *capture, const struct lodecard_loop *loop)
{
    struct lodecard_error err;
    struct lodecard_loop *again = NULL;
    double one = 0, two = 1;
    if (lodecard_loop_read(capture, NULL, NULL, NULL, &again, &err) != LODECARD_OK) {
        return report("setup beside the capture", &err);
    }
    int is_there = lodecard_loop_get_figure(loop, "remanence_T", &one, NULL) &&
                   lodecard_loop_get_figure(again, "remanence_T", &two, NULL);
    lodecard_loop_destroy(again);
    return is_there && one == two ? EXIT_SUCCESS : EXIT_FAILURE;
}

static void print_figures(const struct lodecard_loop *loop)
{
    struct lodecard_figure figure;
    struct lodecard_note note;
    struct lodecard_note_number number;
    for (size_t i = 0; lodecard_get_figure(i, &figure); i++) {
        double value, u;
        if (lodecard_loop_get_figure(loop, figure.key, &value, &u)) {
            printf("%s %.17g %.3g\n", figure.key, value, u);
        }
    }
    for (size_t i = 0; lodecard_loop_get_note(loop, i, &note); i++) {
        printf("note %s %s: %s\n", note.level, note.code, note.message);
        for (size_t n = 0; lodecard_loop_get_note_number(loop, i, n, &number); n++) {
            printf("  %s %.6g, limit %.6g\n", number.key, number.value, number.limit);
        }
    }
}

int main(int argc, char **argv)
{
    struct lodecard_error err;
    struct lodecard_rig *rig = NULL;
    struct lodecard_specimen *specimen = NULL;
    struct lodecard_loop *loop = NULL;
    if (argc != 4) {
        fprintf(stderr, "usage: use CAPTURE RIG SPECIMEN\n");
        return EXIT_FAILURE;
    }
    printf("version %s\n", lodecard_get_version());
    if (lodecard_rig_read("no such file", &rig, &err) != LODECARD_IO || rig != NULL ||
        strstr(err.message, "no such file") == NULL) {
        return report("a file that is not there", &err);
    }
    if (lodecard_rig_read(argv[2], &rig, &err) != LODECARD_OK ||
        lodecard_specimen_read(argv[3], &specimen, &err) != LODECARD_OK ||
        lodecard_loop_read(argv[1], rig, specimen, NULL, &loop, &err) != LODECARD_OK) {
        return report(argv[1], &err);
    }
    print_figures(loop);
    int status = check_shape(loop) | check_json(loop) | check_beside(argv[1], loop);
    lodecard_loop_destroy(loop);
    lodecard_specimen_destroy(specimen);
    lodecard_rig_destroy(rig);
    return status;
}
