// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/loop_text.h"

#include <string.h>

#include "cli/loop_csv.h"
#include "cli/loop_json.h"
#include "suites.h"

static char alloy[] = "RS-36";
static char heat[] = "H2291";
static char name[] = "R-17";
static char odd_name[] = "ring \"A\", 3,5 mm";

/* A result filled by hand: what the tables make of it is under test, not where it came from. */
static struct loop_job make_job(void)
{
    struct loop_job job = {.path = "bench/ring.wav"};
    struct loop *loop = &job.loop;
    loop->channels = 2;
    loop->frames = 96000;
    loop->sample_rate_Hz = 48000;
    loop->start_s = 0.5;
    loop->length_s = 2;
    strcpy(loop->sha256, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    job.specimen.name = name;
    job.specimen.alloy = alloy;
    job.specimen.heat = heat;
    figures_set(&loop->figures, FIGURE_FREQUENCY, 50.000123);
    figures_set_u(&loop->figures, FIGURE_FREQUENCY, 0.00012);
    figures_set(&loop->figures, FIGURE_HARMONICS, 15);
    figures_set(&loop->figures, FIGURE_FIELD_PEAK, 25312.34);
    figures_set_u(&loop->figures, FIGURE_FIELD_PEAK, 2.53);
    figures_set(&loop->figures, FIGURE_REMANENCE, 0.9512);
    figures_set(&loop->figures, FIGURE_LAG_ANGLE, 38.2);
    figures_set_u(&loop->figures, FIGURE_LAG_ANGLE, 0.0013);
    figures_set(&loop->figures, FIGURE_REMANENCE_FALLING, 0.9514);
    figures_set(&loop->figures, FIGURE_REMANENCE_RISING, 0.951);
    figures_set(&loop->figures, FIGURE_REMANENCE_ASYMMETRY, 0.0002103);
    return job;
}

START_TEST(sets_one_loop_as_a_table)
{
    struct loop_job job = make_job();
    struct text out = {0};
    notes_add(&job.loop.notes, "quiet", NOTE_WARNING,
        "raise the gain of that input by 20 dB or so, "
        "and record again",
        "channel 2 reaches only -52 dBFS: rounding to 16 bits is 0.1 %% of it");
    loop_text_add(&out, &job);
    ck_assert_str_eq(out.bytes,
        "ring.wav: R-17 \u00B7 RS-36, heat H2291\n"
        "2 channels, 96000 rows at 48 kHz, 2 s from 500 ms\n"
        "\n"
        "  figure                         symbol           value   u (scatter)  unit\n"
        "  frequency                      f             50.00012       0.00012  Hz\n"
        "  harmonics                      K                   15\n"
        "  peak field strength            Hm             25.3123        0.0025  kA/m\n"
        "  remanence                      Br             951.200                mT\n"
        "  lag angle                      \u03B4              38.2000        0.0013  \u00B0\n"
        "  u (scatter): standard uncertainty (k = 1) as far as the capture itself shows\n"
        "  it: the scatter of its cycles, the gap of a trace. What sensors, dimensions\n"
        "  and turns add is not in it: rig and specimen do not state it (value \u00B1\n"
        "  half-width).\n"
        "\n"
        "  side                              falling branch    rising branch   asymmetry\n"
        "  remanence                             951.400 mT       951.000 mT     0.021 %\n"
        "\n"
        "Notes\n"
        "  warning, quiet: channel 2 reaches only -52 dBFS: rounding to 16 bits is 0.1 %\n"
        "    of it\n"
        "    hint: raise the gain of that input by 20 dB or so, and record again\n");
    notes_clear(&job.loop.notes);
    text_clear(&out);
}
END_TEST

START_TEST(writes_the_uncertainty_into_the_value)
{
    struct loop_job job = make_job();
    struct text out = {0};
    job.is_concise = true;
    loop_text_add(&out, &job);
    ck_assert_ptr_nonnull(strstr(out.bytes,
        "  figure                         symbol               value(u)  unit\n"
        "  frequency                      f                50.00012(12)  Hz\n"
        "  harmonics                      K                          15\n"
        "  peak field strength            Hm                25.3123(25)  kA/m\n"
        "  remanence                      Br                    951.200  mT\n"
        "  lag angle                      \u03B4                 38.2000(13)  \u00B0\n"));
    text_clear(&out);
}
END_TEST

START_TEST(says_when_no_uncertainty_is_known)
{
    struct loop_job job = make_job();
    struct text out = {0};
    for (int i = 0; i < FIGURE_COUNT; i++)
        job.loop.figures.list[i].has_u = false;
    job.loop.is_trace = true;
    loop_text_add(&out, &job);
    ck_assert_ptr_nonnull(strstr(out.bytes, "2 channels, 96000 rows, one traverse without time\n"));
    ck_assert_int_eq(strncmp(out.bytes, "ring.wav: R-17", 14), 0);
    ck_assert_ptr_nonnull(strstr(out.bytes, "no uncertainty is stated"));
    ck_assert_ptr_null(strstr(out.bytes, "k = 1"));
    text_clear(&out);
}
END_TEST

START_TEST(keeps_to_eighty_columns_and_leaves_no_blanks_at_line_ends)
{
    struct loop_job job = make_job();
    struct text out = {0};
    for (int i = 0; i < FIGURE_COUNT; i++) { /* as wide as they get */
        figures_set(&job.loop.figures, (enum figure)i, -123.456789012345);
        figures_set_u(&job.loop.figures, (enum figure)i, 1.23e-7);
    }
    loop_text_add(&out, &job);
    loop_text_add_heading(&out);
    loop_text_add_line(&out, &job);
    for (char *line = strtok(out.bytes, "\n"); line; line = strtok(NULL, "\n")) {
        ck_assert_msg(text_width(line) <= 80, "%zu columns: %s", text_width(line), line);
        ck_assert_msg(line[strlen(line) - 1] != ' ', "blank at the end: '%s'", line);
    }
    text_clear(&out);
}
END_TEST

START_TEST(sets_several_loops_as_lines)
{
    struct loop_job job = make_job();
    struct text out = {0};
    loop_text_add_heading(&out);
    loop_text_add_line(&out, &job);
    job.path = "a-capture-with-a-long-name.wav";
    loop_text_add_line(&out, &job);
    job.status = STATUS_CAPTURE;
    loop_text_add_line(&out, &job);
    ck_assert_str_eq(out.bytes,
        "capture                  f          Hm       Bm       Br         HcB           W\n"
        "ring.wav          50.00 Hz  25.31 kA/m        - 951.2 mT           -           -\n"
        "a-capture-with-a-long-name.wav\n"
        "                  50.00 Hz  25.31 kA/m        - 951.2 mT           -           -\n"
        "a-capture-with-a-long-name.wav  no result\n");
    text_clear(&out);
}
END_TEST

START_TEST(writes_csv_as_rfc_4180_has_it)
{
    struct loop_job job = make_job();
    struct text out = {0};
    job.specimen.name = odd_name;
    job.path = "50Hz,a.wav";
    notes_add(&job.loop.notes, "quiet", NOTE_WARNING, "", "x");
    notes_add(&job.loop.notes, "hum", NOTE_INFO, "", "x");
    loop_csv_add_heading(&out);
    ck_assert_int_eq(
        strncmp(out.bytes, "file,sha256,specimen,frequency_Hz,u_frequency_Hz,cycles,", 56), 0);
    size_t commas = 0;
    for (const char *at = out.bytes; *at; at++)
        commas += *at == ',';
    ck_assert_uint_eq(commas, 3 + 2 * FIGURE_COUNT + 1);
    size_t heading = out.length;
    loop_csv_add_line(&out, &job);
    static const char begin[] =
        "\"50Hz,a.wav\",e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855,"
        "\"ring \"\"A\"\", 3,5 mm\",50.000123,0.00012,,,15,,25312.34,2.53,,,,,0.9512,,";
    ck_assert_int_eq(strncmp(out.bytes + heading, begin, strlen(begin)), 0);
    ck_assert_str_eq(out.bytes + out.length - strlen(",quiet hum,\n"), ",quiet hum,\n");
    notes_clear(&job.loop.notes);
    text_clear(&out);
}
END_TEST

START_TEST(keeps_the_columns_of_a_capture_that_failed)
{
    struct loop_job job = make_job();
    struct text out = {0};
    job.status = fail(&job.error, STATUS_CAPTURE, "record longer", "2.1 cycles, 3 needed");
    loop_csv_add_line(&out, &job);
    size_t commas = 0;
    for (const char *at = out.bytes; *at; at++)
        commas += *at == ',';
    ck_assert_uint_eq(commas, 3 + 2 * FIGURE_COUNT + 1 + 1); /* one in the quoted message */
    ck_assert_ptr_nonnull(strstr(out.bytes, ",R-17,,,,"));
    ck_assert_ptr_nonnull(strstr(out.bytes, ",,\"2.1 cycles, 3 needed\"\n"));
    text_clear(&out);
}
END_TEST

START_TEST(writes_a_failed_capture_as_one_line_of_json)
{
    struct loop_job job = make_job();
    struct text out = {0};
    struct error err = {0};
    job.loop.sha256[0] = '\0';
    job.status = fail(&job.error, STATUS_INPUT, "say \"more\"", "line 3 of 'ring.wav': no number");
    ck_assert(!loop_json_add(&out, &job, 0, 0, &err));
    ck_assert_ptr_nonnull(strstr(out.bytes, "{\"schema\": \"lodecard-loop/1\", \"version\": \""));
    ck_assert_ptr_nonnull(strstr(out.bytes,
        "\"capture\": {\"file\": \"ring.wav\"}, \"error\": {\"status\": 2, \"message\": "
        "\"line 3 of 'ring.wav': no number\", \"hint\": \"say \\\"more\\\"\"}}\n"));
    ck_assert_ptr_eq(strchr(out.bytes, '\n'), out.bytes + out.length - 1);
    text_clear(&out);
}
END_TEST

Suite *loop_text_suite(void)
{
    Suite *suite = suite_create("loop_text");
    TCase *tests = tcase_create("loop_text");
    tcase_add_test(tests, sets_one_loop_as_a_table);
    tcase_add_test(tests, writes_the_uncertainty_into_the_value);
    tcase_add_test(tests, says_when_no_uncertainty_is_known);
    tcase_add_test(tests, keeps_to_eighty_columns_and_leaves_no_blanks_at_line_ends);
    tcase_add_test(tests, sets_several_loops_as_lines);
    tcase_add_test(tests, writes_csv_as_rfc_4180_has_it);
    tcase_add_test(tests, keeps_the_columns_of_a_capture_that_failed);
    tcase_add_test(tests, writes_a_failed_capture_as_one_line_of_json);
    suite_add_tcase(suite, tests);
    return suite;
}
