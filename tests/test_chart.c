// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/chart.h"

#include <cairo.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "paper/markup.h"
#include "paper/polyline.h"
#include "paper/ticks.h"
#include "scratch.h"
#include "suites.h"

START_TEST(puts_ticks_on_round_numbers)
{
    static const struct {
        double least, most;
        size_t wanted;
        double step, first, last;
        size_t count;
        const char *label; /* of the first */
    } cases[] = {
        {0, 1, 5, 0.2, 0, 1, 6, "0.0"},
        {0, 10, 5, 2, 0, 10, 6, "0"},
        {-25.3, 25.3, 6, 10, -20, 20, 5, "\u221220"},
        {-1.3, 1.3, 7, 0.5, -1, 1, 5, "\u22121.0"},
        {-0.0031, 0.0029, 6, 0.001, -0.003, 0.002, 6, "\u22120.003"},
        {0, 0.02, 4, 0.005, 0, 0.02, 5, "0.000"},
        {0.95, 1.05, 5, 0.02, 0.96, 1.04, 5, "0.96"},
        {999, 1001, 4, 0.5, 999, 1001, 5, "999.0"},
        {-4e5, 4e5, 4, 2e5, -4e5, 4e5, 5, "\u2212400000"},
        /* ends that are multiples but for their rounding: 0.1 + 0.2 is above 0.3 */
        {0.1 + 0.2, 0.7, 4, 0.1, 0.3, 0.7, 5, "0.3"},
        {0, 1, 0, 0.5, 0, 1, 3, "0.0"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct ticks ticks;
        char label[TICK_LABEL_SIZE];
        ticks_compute(cases[i].least, cases[i].most, cases[i].wanted, &ticks);
        double small = 1e-12 * (fabs(cases[i].least) + fabs(cases[i].most));
        ck_assert_double_eq_tol(ticks.step, cases[i].step, small);
        ck_assert_uint_eq(ticks.count, cases[i].count);
        ck_assert_double_eq_tol(ticks_get(&ticks, 0), cases[i].first, small);
        ck_assert_double_eq_tol(ticks_get(&ticks, ticks.count - 1), cases[i].last, small);
        ck_assert_str_eq(ticks_write_label(&ticks, 0, label), cases[i].label);
    }
}
END_TEST

START_TEST(puts_logarithmic_ticks_on_powers_of_ten_and_their_parts)
{
    static const struct {
        double least, most;
        size_t count;
        double first, last;
        const char *label; /* of the first */
    } cases[] = {
        {1, 1e5, 6, 1, 1e5, "1"}, {0.05, 1.6, 5, 0.05, 1, "0.05"}, /* 0.05 0.1 0.2 0.5 1 */
        {3, 8, 6, 3, 8, "3"},                                      /* 3 4 5 6 7 8 */
        {1e-9, 1e9, 7, 1e-9, 1e9, "1e-09"},                        /* every third */
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char label[TICK_LABEL_SIZE];
        struct ticks ticks;
        ticks_compute_log(cases[i].least, cases[i].most, &ticks);
        ck_assert_uint_eq(ticks.count, cases[i].count);
        ck_assert_double_eq_tol(ticks_get(&ticks, 0) / cases[i].first, 1, 1e-12);
        ck_assert_double_eq_tol(ticks_get(&ticks, ticks.count - 1) / cases[i].last, 1, 1e-12);
        ck_assert_str_eq(ticks_write_label(&ticks, 0, label), cases[i].label);
    }
}
END_TEST

/* Limits that only a broken file tells: no endless work, and no more ticks than there is room for.
 */
START_TEST(ends_with_logarithmic_ticks_over_all_numbers)
{
    static const double cases[][2] = {{0, INFINITY}, {5e-324, 1.7e308}, {1e-300, INFINITY}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct ticks ticks;
        ticks_compute_log(cases[i][0], cases[i][1], &ticks);
        ck_assert_uint_ge(ticks.count, 4);
        ck_assert_uint_le(ticks.count, 10);
        for (size_t n = 0; n < ticks.count; n++) {
            ck_assert(isfinite(ticks_get(&ticks, n)) && ticks_get(&ticks, n) > 0);
        }
    }
}
END_TEST

START_TEST(gives_about_as_many_ticks_as_are_wanted)
{
    for (int i = 0; i < 4000; i++) {
        double length = pow(10, -6 + 12.0 * i / 4000);
        size_t wanted = 2 + (size_t)i % 11;
        struct ticks ticks;
        ticks_compute(-0.37 * length, 0.63 * length, wanted, &ticks);
        ck_assert_msg(ticks.count >= 1 && (double)ticks.count <= 1.6 * (double)wanted + 1,
            "%zu ticks for %zu on a length of %g", ticks.count, wanted, length);
    }
}
END_TEST

START_TEST(leaves_out_only_points_that_cannot_be_seen)
{
    enum { COUNT = 1000 };
    double x[COUNT], y[COUNT];
    for (size_t i = 0; i < COUNT; i++) {
        x[i] = 200 * cos(6.283185307 * (double)i / COUNT);
        y[i] = 100 * sin(6.283185307 * (double)i / COUNT);
    }
    size_t kept = polyline_simplify(x, y, COUNT, 0.02);
    ck_assert_uint_lt(kept, COUNT / 4);
    ck_assert_double_eq(x[0], 200);
    for (size_t i = 0; i + 1 < kept; i++) { /* chords of an ellipse: farthest in their middle */
        double mx = (x[i] + x[i + 1]) / 2, my = (y[i] + y[i + 1]) / 2;
        double inside = 1 - hypot(mx / 200, my / 100);
        ck_assert_msg(inside * 200 < 0.045, "chord %zu is off by %g", i, inside * 200);
    }
}
END_TEST

START_TEST(keeps_corners_turns_and_breaks)
{
    double x[] = {0, 1, 2, 3, 2, 1, NAN, 0, 0.5, 1};
    double y[] = {0, 0, 0, 0, 0, 0, 0, 5, 5, 5};
    static const double kept_x[] = {0, 3, 1, NAN, 0, 1};
    size_t kept = polyline_simplify(x, y, sizeof x / sizeof *x, 0.01);
    ck_assert_uint_eq(kept, 6);
    for (size_t i = 0; i < kept; i++)
        ck_assert(x[i] == kept_x[i] || (isnan(x[i]) && isnan(kept_x[i])));
}
END_TEST

START_TEST(makes_any_words_harmless_in_markup)
{
    struct text out = {0};
    markup_add(&out, "a<b & c>d \xC2\xB5 \xFF\xC0\xAF\xED\xA0\x80 \x01.");
    ck_assert_str_eq(
        out.bytes, "a&lt;b &amp; c&gt;d \u00B5 \uFFFD\uFFFD\uFFFD\uFFFD\uFFFD\uFFFD  .");
    text_clear(&out);
    markup_add_symbol(&out, "HcB");
    ck_assert_ptr_nonnull(strstr(out.bytes, "<i>H</i>"));
    ck_assert_ptr_nonnull(strstr(out.bytes, ">cB</"));
    text_clear(&out);
    markup_add_symbol(&out, "\u00B5a");
    ck_assert_ptr_nonnull(strstr(out.bytes, "<i>\u00B5</i>"));
    text_clear(&out);
}
END_TEST

/* A triangle in one panel; the axes cut off all above y = 2. */
static const double triangle_x[] = {0, 1, 3};
static const double triangle_y[] = {1, 0.5, 1.5};
static const double tower_x[] = {2, 2};
static const double tower_y[] = {0.2, 50};

static enum status write_chart(const char *path, const struct chart_line *lines, size_t count)
{
    struct chart_panel panel = {.width = 1,
        .height = 1,
        .x = {.label = "<i>H</i> (kA/m)", .least = 0, .most = 4},
        .y = {.label = "<i>B</i> (T)", .least = 0, .most = 2},
        .lines = lines,
        .line_count = count};
    struct chart chart = {.title = "<b>Title &amp; more</b>",
        .panels = &panel,
        .panel_count = 1,
        .width = 200,
        .height = 200};
    struct error err = {0};
    enum status status = chart_write(&chart, path, &err);
    ck_assert_msg(!status, "%s", err.message);
    return status;
}

static struct chart_line make_line(const double *x, const double *y, size_t count)
{
    struct chart_style style = chart_style_get(0);
    return (struct chart_line){.x = x, .y = y, .count = count, .style = style};
}

static char *read_file(const char *path, size_t *length)
{
    char *bytes = NULL;
    struct error err = {0};
    ck_assert_msg(!file_read(path, 10000000, &bytes, length, &err), "%s", err.message);
    return bytes;
}

START_TEST(draws_points_where_the_data_are)
{
    struct chart_line line = make_line(triangle_x, triangle_y, 3);
    write_chart("a.svg", &line, 1);
    size_t length = 0;
    char *svg = read_file("a.svg", &length);
    const char *stroke = strstr(svg, "stroke:rgb(0%,44.7");
    ck_assert_ptr_nonnull(stroke); /* Okabe and Ito's blue: 0, 114, 178 */
    double x[3], y[3];
    ck_assert_int_eq(sscanf(strstr(stroke, " d=\"") + 4, "M %lf %lf L %lf %lf L %lf %lf", &x[0],
                         &y[0], &x[1], &y[1], &x[2], &y[2]),
        6);
    ck_assert_double_eq_tol((x[1] - x[0]) / (x[2] - x[0]), 1.0 / 3, 1e-4);
    ck_assert_double_eq_tol((y[1] - y[0]) / (y[2] - y[0]), -1, 1e-4); /* page y goes down */
    ck_assert(x[2] > x[0] && y[1] > y[0]);
    memory_destroy(svg);
}
END_TEST

/* Darkest of the red values in a row of the picture from `top` to `bottom`, at column `x`. */
static int find_darkest(cairo_surface_t *image, int x, int top, int bottom)
{
    const unsigned char *data = cairo_image_surface_get_data(image);
    int stride = cairo_image_surface_get_stride(image);
    int darkest = 255;
    for (int y = top; y < bottom; y++) {
        unsigned pixel;
        memcpy(&pixel, data + y * stride + 4 * x, sizeof pixel);
        int red = (int)(pixel >> 16 & 0xFF);
        darkest = red < darkest ? red : darkest;
    }
    return darkest;
}

START_TEST(cuts_lines_off_at_the_axes)
{
    struct chart_line line = make_line(tower_x, tower_y, 2);
    write_chart("a.png", &line, 1);
    cairo_surface_t *image = cairo_image_surface_create_from_png("a.png");
    ck_assert_int_eq(cairo_surface_status(image), CAIRO_STATUS_SUCCESS);
    ck_assert_int_eq(cairo_image_surface_get_width(image), 400); /* two pixels a point */
    int found = -1;
    for (int x = 100; x < 380 && found < 0; x++) /* the tower's column */
        if (find_darkest(image, x, 150, 250) < 50)
            found = x;
    ck_assert_int_gt(found, 0);
    int top = 0; /* where the tower ends */
    while (find_darkest(image, found, top, top + 1) > 200)
        top++;
    ck_assert_int_gt(top, 60); /* below the title and the label of the axis */
    ck_assert_int_lt(top, 120);
    cairo_surface_destroy(image);
}
END_TEST

START_TEST(writes_the_same_bytes_for_the_same_chart)
{
    static const char *const names[] = {"a.svg", "b.svg", "a.pdf", "b.PDF", "a.png", "b.png"};
    static const char *const begins[] = {"<?xml", "%PDF-", "\x89PNG"};
    struct chart_line line = make_line(triangle_x, triangle_y, 3);
    for (size_t i = 0; i < 6; i += 2) {
        size_t first_length = 0, second_length = 0;
        write_chart(names[i], &line, 1);
        write_chart(names[i + 1], &line, 1);
        char *first = read_file(names[i], &first_length);
        char *second = read_file(names[i + 1], &second_length);
        ck_assert_uint_eq(first_length, second_length);
        ck_assert(!memcmp(first, second, first_length));
        ck_assert(!memcmp(first, begins[i / 2], strlen(begins[i / 2])));
        memory_destroy(first);
        memory_destroy(second);
    }
}
END_TEST

static size_t count_words(const char *text, const char *word)
{
    size_t count = 0;
    for (const char *at = text; (at = strstr(at, word)); at += strlen(word))
        count++;
    return count;
}

START_TEST(gives_a_legend_the_lines_and_marks_that_the_panels_have)
{
    struct chart_style styles[] = {chart_style_get(0), chart_style_get(1), chart_style_get(0)};
    styles[2].width = 0;
    static const char *const heading = "line", *const cells[] = {"marked", "bare", "marks alone"};
    const struct chart_mark mark = {.x = 1, .y = 1, .style = styles[0]};
    const struct chart_panel panel = {.width = 1,
        .height = 1,
        .x = {.most = 4},
        .y = {.most = 2},
        .marks = &mark,
        .mark_count = 1};
    const struct chart chart = {.panels = &panel,
        .panel_count = 1,
        .legend = {.columns = 1, .rows = 3, .headings = &heading, .cells = cells, .styles = styles},
        .width = 200,
        .height = 200};
    struct error err = {0};
    ck_assert_msg(!chart_write(&chart, "legend.svg", &err), "%s", err.message);
    size_t length = 0;
    char *svg = read_file("legend.svg", &length);
    ck_assert_uint_eq(count_words(svg, "stroke-width:1.2;"), 3);  /* outlines of marks */
    ck_assert_uint_eq(count_words(svg, "stroke:rgb(0%,44.7"), 4); /* three marks and a line */
    ck_assert_uint_eq(count_words(svg, "stroke:rgb(83.5"), 1);    /* a line alone */
    memory_destroy(svg);
}
END_TEST

START_TEST(fills_lines_and_bands_in_a_light_tint)
{
    static const double x[] = {0.5, 3.5, 3.5, 0.5}, y[] = {0.5, 0.5, 1.5, 1.5};
    struct chart_line line = make_line(x, y, 4);
    line.is_closed = true;
    write_chart("a.png", &line, 1);
    line.is_filled = true;
    write_chart("b.png", &line, 1);
    cairo_surface_t *empty = cairo_image_surface_create_from_png("a.png");
    cairo_surface_t *full = cairo_image_surface_create_from_png("b.png");
    ck_assert_int_eq(find_darkest(empty, 220, 200, 220), 255);
    int tint = find_darkest(full, 220, 200, 220);
    ck_assert_msg(tint > 200 && tint < 250, "red is %d", tint);
    cairo_surface_destroy(empty);
    cairo_surface_destroy(full);
}
END_TEST

START_TEST(refuses_a_path_without_a_known_ending)
{
    static const char *const bad[] = {"a.gif", "a", "", "svg", ".svg", "a.svg.gz"};
    static const char *const good[] = {"a.svg", "a.SVG", "d.d/a.png", "x.pdf"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        struct error err = {0};
        ck_assert_int_eq(chart_check_path(bad[i], &err), STATUS_USAGE);
        ck_assert_ptr_nonnull(strstr(err.hint, ".svg, .png or .pdf"));
    }
    for (size_t i = 0; i < sizeof good / sizeof *good; i++)
        ck_assert_int_eq(chart_check_path(good[i], NULL), STATUS_OK);
}
END_TEST

START_TEST(gives_room_to_data_without_extent)
{
    struct chart_axis axis = {0};
    chart_axis_set_limits(&axis, 3, 3, 0.1);
    ck_assert(axis.least < 3 && axis.most > 3);
    chart_axis_set_limits(&axis, 0, 0, 0);
    ck_assert(axis.least < 0 && axis.most > 0);
    chart_axis_set_limits(&axis, -2, 6, 0.05);
    ck_assert_double_eq_tol(axis.least, -2.4, 1e-12);
    ck_assert_double_eq_tol(axis.most, 6.4, 1e-12);
}
END_TEST

START_TEST(tells_lines_apart_without_colours)
{
    for (size_t i = 0; i < 4; i++)
        for (size_t j = 0; j < i; j++) {
            struct chart_style a = chart_style_get(i), b = chart_style_get(j);
            ck_assert(a.dash != b.dash && a.marker != b.marker);
        }
    for (size_t i = 0; i < 28; i++) /* all pairs of colour and dash before one comes again */
        for (size_t j = 0; j < i; j++) {
            struct chart_style a = chart_style_get(i), b = chart_style_get(j);
            ck_assert(a.dash != b.dash || a.red != b.red || a.green != b.green);
        }
}
END_TEST

Suite *chart_suite(void)
{
    Suite *suite = suite_create("chart");
    TCase *parts = tcase_create("parts");
    tcase_add_test(parts, puts_ticks_on_round_numbers);
    tcase_add_test(parts, ends_with_logarithmic_ticks_over_all_numbers);
    tcase_add_test(parts, gives_about_as_many_ticks_as_are_wanted);
    tcase_add_test(parts, puts_logarithmic_ticks_on_powers_of_ten_and_their_parts);
    tcase_add_test(parts, leaves_out_only_points_that_cannot_be_seen);
    tcase_add_test(parts, keeps_corners_turns_and_breaks);
    tcase_add_test(parts, makes_any_words_harmless_in_markup);
    tcase_add_test(parts, refuses_a_path_without_a_known_ending);
    tcase_add_test(parts, gives_room_to_data_without_extent);
    tcase_add_test(parts, tells_lines_apart_without_colours);
    suite_add_tcase(suite, parts);
    TCase *files = tcase_create("files");
    tcase_add_checked_fixture(files, scratch_enter, scratch_leave);
    tcase_add_test(files, draws_points_where_the_data_are);
    tcase_add_test(files, cuts_lines_off_at_the_axes);
    tcase_add_test(files, writes_the_same_bytes_for_the_same_chart);
    tcase_add_test(files, gives_a_legend_the_lines_and_marks_that_the_panels_have);
    tcase_add_test(files, fills_lines_and_bands_in_a_light_tint);
    suite_add_tcase(suite, files);
    return suite;
}
