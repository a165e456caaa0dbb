// SPDX-License-Identifier: GPL-3.0-or-later
#include "series/series.h"

#include <math.h>
#include <string.h>

#include "scratch.h"
#include "suites.h"

static struct series series;
static struct error err;

static void write_file(const char *name, const char *words)
{
    scratch_write(name, words, strlen(words));
}

static enum status read_one(const char *path, const struct series_options *options)
{
    static const struct series_options none = {.threads = 1};
    series = (struct series){0};
    err = (struct error){0};
    return series_read(&path, 1, options ? options : &none, &series, &err);
}

static double get(size_t loop, enum figure figure)
{
    return series.loops[loop].figures.list[figure].value;
}

static const char rows[] =
    "frequency (Hz),flux density peak (mT),field strength peak (kA/m),loss (kW/m3),turns\n"
    "50,1000,20,2000,400\n"
    "20,1200,30,1000,400\n"
    "20,1000,20,600,400\n";

START_TEST(reads_a_table_of_measured_loops_with_units)
{
    write_file("loops.csv", rows);
    ck_assert_int_eq(read_one("loops.csv", NULL), STATUS_OK);
    ck_assert_uint_eq(series.count, 3);
    /* by frequency, then peak */
    ck_assert_double_eq_tol(get(0, FIGURE_FREQUENCY), 20, 1e-12);
    ck_assert_double_eq_tol(get(0, FIGURE_FLUX_DENSITY_PEAK), 1, 1e-12);
    ck_assert_double_eq_tol(get(1, FIGURE_FIELD_PEAK), 30000, 1e-9);
    ck_assert_double_eq_tol(series.loops[0].energy, 30000, 1e-9);
    ck_assert_double_eq_tol(series.loops[2].energy, 40000, 1e-9);
    ck_assert_uint_eq(series.loops[2].row, 2);
    ck_assert_str_eq(series.loops[2].file, "loops.csv");
    ck_assert_uint_eq(series.curve_count, 2);
    ck_assert_double_eq_tol(series.curves[0].frequency_Hz, 20, 1e-12);
    ck_assert_uint_eq(series.curves[0].count, 2);
    /* 1 T / (4e-7 pi * 20 kA/m) */
    ck_assert_double_eq_tol(series.curves[0].permeability[0], 39.788735772973836, 1e-9);
    ck_assert_str_eq(series.notes.list[0].message, "loops.csv: not read: 'turns'");
    series_clear(&series);
}
END_TEST

START_TEST(takes_loops_of_another_series_with_all_they_have)
{
    static const char loop[] =
        "{\"schema\": \"lodecard-loop/1\", \"capture\": {\"file\": \"a.flac\", \"sha256\": "
        "\"abc\"}, "
        "\"rig\": {\"name\": \"bench\"}, \"specimen\": {\"name\": \"R-1\", \"heat\": \"H1\"}, "
        "\"figures\": {\"flux_density_peak_T\": 1.25, \"field_peak_A_per_m\": 30000}, "
        "\"notes\": [{\"code\": \"quiet\", \"level\": \"info\", \"message\": \"m\", \"hint\": "
        "\"h\"}], "
        "\"points\": {\"field_A_per_m\": [0, 1, 2], \"flux_density_T\": [3, 4, 5]}}\n";
    struct series copy = {0};
    series = (struct series){0};
    ck_assert_int_eq(series_add_bytes(&series, "memory", loop, sizeof loop - 1, &err), STATUS_OK);
    for (int i = 0; i < 2; i++) {
        ck_assert_int_eq(series_add_copy(&copy, &series, 0, &err), STATUS_OK);
    }
    series_clear(&series);
    ck_assert_uint_eq(copy.count, 2);
    ck_assert_uint_eq(copy.setup_count, 1);
    const struct series_loop *made = &copy.loops[1];
    ck_assert_str_eq(made->file, "a.flac");
    ck_assert_str_eq(made->sha256, "abc");
    ck_assert_str_eq(made->specimen, "R-1");
    ck_assert_str_eq(copy.setups[made->setup].steel.heat, "H1");
    ck_assert_str_eq(copy.setups[made->setup].rig, "{\"name\": \"bench\"}");
    ck_assert_double_eq(made->figures.list[FIGURE_FLUX_DENSITY_PEAK].value, 1.25);
    ck_assert_uint_eq(made->point_count, 3);
    ck_assert_double_eq(made->field[2], 2);
    ck_assert_double_eq(made->flux_density[2], 5);
    ck_assert(notes_has(&made->notes, "quiet"));
    ck_assert_str_eq(made->notes.list[0].message, "m");
    series_clear(&copy);
}
END_TEST

START_TEST(reads_semicolons_decimal_commas_and_result_keys)
{
    write_file("loops.csv",
        "# a comment\r\n"
        "frequency_Hz;polarization_peak_T;specific_loss_W_per_kg;u_specific_loss_W_per_kg\r\n"
        "20;0,5;2,5;0,025\r\n"
        "\r\n"
        "20;1;9;0,09\r\n");
    ck_assert_int_eq(read_one("loops.csv", NULL), STATUS_OK);
    ck_assert(series.uses_polarization && series.is_per_mass);
    ck_assert_double_eq_tol(series.loops[0].energy, 0.125, 1e-15);
    ck_assert_double_eq_tol(series.loops[0].u_energy, 0.00125, 1e-15);
    series_clear(&series);
    struct series_options dense = {.threads = 1, .density = {.value = 8000, .is_present = true}};
    ck_assert_int_eq(read_one("loops.csv", &dense), STATUS_OK);
    ck_assert(!series.is_per_mass);
    ck_assert_double_eq_tol(series.loops[0].energy, 1000, 1e-9);
    series_clear(&series);
}
END_TEST

#define LOOP(name, peak, more)                                                                     \
    "{\"schema\": \"lodecard-loop/1\", \"capture\": {\"file\": \"" name                            \
    ".wav\", \"sha256\": \"00\"}, \"specimen\": {\"name\": \"R-1\", \"alloy\": \"RS-36\", "        \
    "\"ring\": {\"outer_diameter_m\": 0.04, \"inner_diameter_m\": 0.032, \"height_m\": 0.006, "    \
    "\"stacking_factor\": 1}, \"resistivity_ohm_m\": 2.7e-7}, "                                    \
    "\"figures\": {\"frequency_Hz\": 20, \"flux_density_peak_T\": " peak                           \
    ", \"u_flux_density_peak_T\": 0.01, \"loop_area_J_per_m3\": 1000}" more "}"

START_TEST(reads_loop_json_with_setup_notes_and_points)
{
    write_file("loop.json",
        LOOP("a", "1",
            ", \"notes\": [{\"code\": \"short\", \"level\": \"info\", \"message\": \"m\", "
            "\"hint\": \"h\"}], \"points\": {\"field_A_per_m\": [-1, 0, 1, 0], "
            "\"flux_density_T\": [-1, -0.5, 1, 0.5]}"));
    ck_assert_int_eq(read_one("loop.json", NULL), STATUS_OK);
    const struct series_loop *loop = &series.loops[0];
    ck_assert_str_eq(loop->file, "a.wav");
    ck_assert_str_eq(loop->specimen, "R-1");
    ck_assert_str_eq(loop->notes.list[0].code, "short");
    ck_assert_uint_eq(loop->point_count, 4);
    ck_assert_double_eq(loop->flux_density[1], -0.5);
    ck_assert_double_eq(loop->figures.list[FIGURE_FLUX_DENSITY_PEAK].u, 0.01);
    ck_assert_str_eq(series.steel.alloy, "RS-36");
    ck_assert_double_eq_tol(series.steel.thickness.value, 0.004, 1e-15); /* width, below height */
    ck_assert(!series.steel.is_laminated);
    ck_assert_double_eq(series.steel.resistivity.value, 2.7e-7);
    ck_assert(strstr(series.setups[loop->setup].specimen, "\"alloy\": \"RS-36\"") != NULL);
    series_clear(&series);
}
END_TEST

START_TEST(reads_json_lines_and_leaves_failed_captures_out)
{
    write_file("loops.jsonl",
        LOOP("a", "1", "") "\n"
                           "{\"schema\": \"lodecard-loop/1\", \"capture\": {\"file\": "
                           "\"bad.wav\"}, \"error\": "
                           "{\"status\": 3, \"message\": \"the capture is silent\"}}\n\n" LOOP(
                               "b", "0.5", "") "\n");
    ck_assert_int_eq(read_one("loops.jsonl", NULL), STATUS_OK);
    ck_assert_uint_eq(series.count, 2);
    ck_assert_uint_eq(series.setup_count, 1);
    ck_assert_str_eq(series.loops[0].file, "b.wav");
    ck_assert_str_eq(series.notes.list[0].message,
        "bad.wav has no result and is left out: the capture is silent");
    series_clear(&series);
}
END_TEST

START_TEST(refuses_bad_input_and_says_where)
{
    static const struct {
        const char *words, *message;
    } cases[] = {
        {"flux density peak (A/m)\n1\n",
            "x:1: column 'flux density peak (A/m)' is in a unit of field strength, expected a "
            "flux density"},
        {"flux density peak\n1\n", "x:1: column 'flux density peak' has no unit"},
        {"flux density peak (T),loss (W/m3)\n1,abc\n", "x:2: 'abc' in column 2 is no number"},
        {"flux density peak (T)\n0\n", "x:2: peak flux density is 0"},
        {"flux density peak (T),turns\n1,2,3\n", "x:2: more cells than the header has columns (2)"},
        {"flux density peak (T),peak flux density (mT)\n1,2\n",
            "x:1: two columns hold the same, the second is 'peak flux density (mT)'"},
        {"flux density peak (T)\n", "'x' has no rows"},
        {"frequency (Hz),field strength peak (A/m)\n20,100\n",
            "of 1 loops 0 tell a peak flux density and 0 a peak polarization; one of 'x' lacks it"},
        {"{\"schema\": \"lodecard-card/1\"}",
            "x: schema is 'lodecard-card/1', expected 'lodecard-loop/1'"},
        {"{\"schema\": \"lodecard-loop/1\"}", "x: a loop has no \"figures\""},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        write_file("x", cases[i].words);
        ck_assert_int_eq(read_one("x", NULL), STATUS_INPUT);
        ck_assert_str_eq(err.message, cases[i].message);
        ck_assert_uint_eq(series.count, 0);
    }
}
END_TEST

START_TEST(refuses_two_specimens_unless_told)
{
    write_file("x.csv", "specimen,flux density peak (T),frequency (Hz),loss (W/m3)\n"
                        "R-1,1,20,100\nR-2,1.2,20,150\n");
    ck_assert_int_eq(read_one("x.csv", NULL), STATUS_INPUT);
    ck_assert_str_eq(
        err.message, "two specimens in one series: x.csv:2 is of 'R-1', x.csv:3 of 'R-2'");
    struct series_options only = {.threads = 1, .only = "R-2"};
    ck_assert_int_eq(read_one("x.csv", &only), STATUS_OK);
    ck_assert_uint_eq(series.count, 1);
    ck_assert_str_eq(series.steel.specimen, "R-2");
    series_clear(&series);
    struct series_options together = {.threads = 1, .is_together = true};
    ck_assert_int_eq(read_one("x.csv", &together), STATUS_OK);
    ck_assert_uint_eq(series.count, 2);
    ck_assert_ptr_null(series.steel.specimen);
    series_clear(&series);
    struct series_options nobody = {.threads = 1, .only = "R-3"};
    ck_assert_int_eq(read_one("x.csv", &nobody), STATUS_INPUT);
    ck_assert_str_eq(err.message, "no loop is of the specimen 'R-3'");
}
END_TEST

START_TEST(refuses_two_temperatures)
{
    write_file("x.csv", "temperature (degC),flux density peak (T)\n23,1\n80,1.2\n");
    ck_assert_int_eq(read_one("x.csv", NULL), STATUS_INPUT);
    ck_assert_str_eq(
        err.message, "two temperatures in one series: x.csv:2 at 23 degC, x.csv:3 at 80 degC");
    write_file("x.csv", "temperature (degC),flux density peak (T)\n22,1\n24,1.2\n");
    ck_assert_int_eq(read_one("x.csv", NULL), STATUS_OK);
    ck_assert_double_eq_tol(series.steel.temperature.value, 296.15, 1e-9);
    series_clear(&series);
}
END_TEST

START_TEST(refuses_twins_that_disagree_more_than_their_uncertainty)
{
    write_file("x.csv", "frequency_Hz,flux_density_peak_T,loop_area_J_per_m3,u_loop_area_J_per_m3\n"
                        "20,1,1000,10\n20,1.001,1020,10\n");
    ck_assert_int_eq(read_one("x.csv", NULL), STATUS_OK);
    series_clear(&series);
    write_file("x.csv", "frequency_Hz,flux_density_peak_T,loop_area_J_per_m3,u_loop_area_J_per_m3\n"
                        "20,1,1000,10\n20,1.001,1050,10\n");
    ck_assert_int_eq(read_one("x.csv", NULL), STATUS_INPUT);
    ck_assert_str_eq(err.message,
        "x.csv:2 and x.csv:3 are at the same frequency and peak (1 T), and "
        "their losses differ by 4.7 % (limit 2.8 %)");
}
END_TEST

START_TEST(interpolates_power_laws_exactly)
{
    struct text words = {0};
    text_add(&words, "frequency_Hz,flux_density_peak_T,field_peak_A_per_m,loop_area_J_per_m3\n");
    for (int i = 1; i <= 8; i++) {
        const double b = 0.15 * i;
        text_add_format(&words, "20,%.17g,%.17g,%.17g\n", b, 3e4 * pow(b, 1.3), 5e4 * pow(b, 1.9));
    }
    write_file("x.csv", words.bytes);
    text_clear(&words);
    ck_assert_int_eq(read_one("x.csv", NULL), STATUS_OK);
    struct figures figures;
    ck_assert_int_eq(
        series_compute_at(&series, 0, FIGURE_FLUX_DENSITY_PEAK, 0.8, &figures, &err), STATUS_OK);
    ck_assert_double_eq_tol(figures.list[FIGURE_LOOP_AREA].value, 5e4 * pow(0.8, 1.9), 1e-9 * 5e4);
    ck_assert_int_eq(
        series_compute_at(&series, 0, FIGURE_FIELD_PEAK, 1e4, &figures, &err), STATUS_OK);
    ck_assert_double_eq_tol(
        figures.list[FIGURE_FLUX_DENSITY_PEAK].value, pow(1.0 / 3, 1 / 1.3), 1e-12);
    ck_assert_int_eq(
        series_compute_at(&series, 0, FIGURE_FLUX_DENSITY_PEAK, 1.3, &figures, &err), STATUS_INPUT);
    ck_assert_str_eq(
        err.message, "a peak flux density of 1.3 T is outside the loops at 20 Hz (0.15 ... 1.2 T)");
    ck_assert_int_eq(
        series_compute_at(&series, 0, FIGURE_POLARIZATION_PEAK, 1, &figures, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "the loops do not tell their peak polarization");
    series_clear(&series);
}
END_TEST

START_TEST(keeps_the_shared_part_of_the_uncertainty)
{
    /* 1 % of each, all shared: interpolated it is still 1 %, where the line is straight */
    write_file("x.csv", "frequency_Hz,flux_density_peak_T,loop_area_J_per_m3,u_loop_area_J_per_m3\n"
                        "20,0.25,625,6.25\n20,0.5,2500,25\n20,1,10000,100\n20,2,40000,400\n");
    struct figures figures;
    ck_assert_int_eq(read_one("x.csv", NULL), STATUS_OK);
    ck_assert_int_eq(
        series_compute_at(&series, 0, FIGURE_FLUX_DENSITY_PEAK, 0.7, &figures, &err), STATUS_OK);
    ck_assert_double_eq_tol(figures.list[FIGURE_LOOP_AREA].value, 4900, 1e-8);
    ck_assert_double_eq_tol(figures.list[FIGURE_LOOP_AREA].u, 49, 1e-8);
    series_clear(&series);
}
END_TEST

START_TEST(finds_initial_permeability_and_rayleigh_constant)
{
    struct text words = {0};
    text_add(&words, "field strength (A/m),flux density (T)\n0,0\n");
    for (int i = 1; i <= 10; i++) { /* mu0 mui = 1e-3, v = 2e-6; saturating from 50 A/m on */
        const double h = 10 * i;
        text_add_format(
            &words, "%g,%.17g\n", h, h <= 50 ? 1e-3 * h + 2e-6 * h * h : 0.055 + 1e-4 * h);
    }
    write_file("initial.csv", words.bytes);
    text_clear(&words);
    write_file("x.csv", "frequency_Hz,flux_density_peak_T\n20,1\n");
    struct series_options options = {.threads = 1, .initial = "initial.csv"};
    ck_assert_int_eq(read_one("x.csv", &options), STATUS_OK);
    ck_assert_uint_eq(series.initial.count, 11);
    ck_assert_double_eq_tol(series.initial.permeability, 1e-3 / (4e-7 * 3.14159265358979), 3);
    ck_assert_double_eq_tol(series.initial.rayleigh, 2e-6, 3e-8);
    series_clear(&series);
    write_file("initial.csv", "field strength (A/m),flux density (T)\n0,0.5\n1,0.6\n2,0.7\n");
    ck_assert_int_eq(read_one("x.csv", &options), STATUS_INPUT);
    ck_assert_str_eq(
        err.message, "initial.csv: the curve begins at 0.5 T: that is not the demagnetized state");
    write_file("initial.csv", "field strength (A/m),flux density (T)\n0,0\n2,0.6\n1,0.7\n");
    ck_assert_int_eq(read_one("x.csv", &options), STATUS_INPUT);
    ck_assert_str_eq(err.message, "initial.csv:4: the field falls from 2 A/m to 1 A/m");
}
END_TEST

Suite *series_suite(void)
{
    Suite *suite = suite_create("series");
    TCase *tests = tcase_create("series");
    tcase_add_checked_fixture(tests, scratch_enter, scratch_leave);
    tcase_add_test(tests, reads_a_table_of_measured_loops_with_units);
    tcase_add_test(tests, takes_loops_of_another_series_with_all_they_have);
    tcase_add_test(tests, reads_semicolons_decimal_commas_and_result_keys);
    tcase_add_test(tests, reads_loop_json_with_setup_notes_and_points);
    tcase_add_test(tests, reads_json_lines_and_leaves_failed_captures_out);
    tcase_add_test(tests, refuses_bad_input_and_says_where);
    tcase_add_test(tests, refuses_two_specimens_unless_told);
    tcase_add_test(tests, refuses_two_temperatures);
    tcase_add_test(tests, refuses_twins_that_disagree_more_than_their_uncertainty);
    tcase_add_test(tests, interpolates_power_laws_exactly);
    tcase_add_test(tests, keeps_the_shared_part_of_the_uncertainty);
    tcase_add_test(tests, finds_initial_permeability_and_rayleigh_constant);
    suite_add_tcase(suite, tests);
    return suite;
}
