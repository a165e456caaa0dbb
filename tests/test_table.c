// SPDX-License-Identifier: GPL-3.0-or-later
/* Logger tables, good and odd ones: what stands in docs/captures.md, case by case. */
#include <string.h>

#include "capture/capture.h"
#include "capture_text.h"
#include "scratch.h"
#include "suites.h"

#define NAME "x.csv"

struct good {
    const char *bytes;
    const char *expected;
    struct capture_options options;
    size_t only[4]; /* columns; none: all */
};

static void check_good(const struct good *good)
{
    struct text out = {0};
    struct error err = {0};
    scratch_write(NAME, good->bytes, strlen(good->bytes));
    enum status status = capture_text_describe(
        NAME, &good->options, good->only[0] > 0 ? good->only : NULL, &out, &err);
    ck_assert_msg(status == STATUS_OK, "%s: %s", good->bytes, err.message);
    ck_assert_str_eq(out.bytes, good->expected);
    text_clear(&out);
}

/* --- separators and decimal signs -------------------------------------------------------------
 */

static const struct good dialect_list[] = {
    {.bytes = "a,b\n1.5,-2\n0.25,3e-2\n",
        .expected = "commas, decimal points, UTF-8\n1 a, 2 b\n1.5 -2\n0.25 0.03\n"},
    {.bytes = "a;b\n1.5;-2\n", .expected = "semicolons, decimal points, UTF-8\n1 a, 2 b\n1.5 -2\n"},
    {.bytes = "a;b\n1,5;-2\n0,25;3e-2\n",
        .expected = "semicolons, decimal commas, UTF-8\n1 a, 2 b\n1.5 -2\n0.25 0.03\n"},
    {.bytes = "a\tb\n1,5\t-2\n", .expected = "tabs, decimal commas, UTF-8\n1 a, 2 b\n1.5 -2\n"},
    {.bytes = "a\tb\n1.5\t\n\t2.5\n2\t3\n",
        .expected =
            "tabs, decimal points, UTF-8\n1 a, 2 b\n1.5 -\n- 2.5\n2 3\nmissing 2: line 2 3\n"},
    {.bytes = "  a   b\n1.5  -2\n .25\t3. \n",
        .expected = "blanks, decimal points, UTF-8\n1 a, 2 b\n1.5 -2\n0.25 3\n"},
    {.bytes = "a b\n1,5 -2\n", .expected = "blanks, decimal commas, UTF-8\n1 a, 2 b\n1.5 -2\n"},
    {.bytes = "u\n0.5\n0.25\n", .expected = "one column, decimal points, UTF-8\n1 u\n0.5\n0.25\n"},
    {.bytes = "u\n0,5\n0,25\n", .expected = "one column, decimal commas, UTF-8\n1 u\n0.5\n0.25\n"},
    {.bytes = "a , b\n 1 , 2 \n3,4\n",
        .expected = "commas, whole numbers, UTF-8\n1 a, 2 b\n1 2\n3 4\n"},
    {.bytes = "+1.5,\xE2\x88\x92"
              "2.5\n1e3,1E-3\n",
        .expected = "commas, decimal points, UTF-8\n1, 2\n1.5 -2.5\n1000 0.001\n"},
    /* whole numbers first: the decimal sign is found when it comes */
    {.bytes = "a;b\n1;2\n3;4\n0,5;5\n",
        .expected = "semicolons, decimal commas, UTF-8\n1 a, 2 b\n1 2\n3 4\n0.5 5\n"},
    /* a semicolon goes with decimal commas, even if thousands are thinkable */
    {.bytes = "1,234;5,678\n",
        .expected = "semicolons, decimal commas, UTF-8\n1, 2\n1.234 5.678\n"},
    /* other than three digits behind a comma, or a zero ahead of it: no thousands */
    {.bytes = "a\tb\n1,234\t5,67\n",
        .expected = "tabs, decimal commas, UTF-8\n1 a, 2 b\n1.234 5.67\n"},
    {.bytes = "a\tb\n1,234\t0,678\n",
        .expected = "tabs, decimal commas, UTF-8\n1 a, 2 b\n1.234 0.678\n"},
    {.bytes = "a b\n1234,567 2,345\n",
        .expected = "blanks, decimal commas, UTF-8\n1 a, 2 b\n1234.567 2.345\n"},
    /* a header of two cells makes two columns; one of one cell a decimal comma */
    {.bytes = "a,b\n1,234\n2,345\n",
        .expected = "commas, whole numbers, UTF-8\n1 a, 2 b\n1 234\n2 345\n"},
    {.bytes = "u (V)\n1,23\n2,345\n",
        .expected = "one column, decimal commas, UTF-8\n1 u [V: voltage]\n1.23\n2.345\n"},
    /* a sign behind the comma cannot be in a number */
    {.bytes = "1,-5\n2,7\n", .expected = "commas, whole numbers, UTF-8\n1, 2\n1 -5\n2 7\n"},
    /* options settle */
    {.bytes = "1,234\n2,345\n",
        .expected = "commas, whole numbers, UTF-8\n1, 2\n1 234\n2 345\n",
        .options = {.separator = ','}},
    {.bytes = "1,234\n2,345\n",
        .expected = "commas, decimal points, UTF-8\n1, 2\n1 234\n2 345\n",
        .options = {.decimal = '.'}},
    {.bytes = "1,234\n2,345\n",
        .expected = "one column, decimal commas, UTF-8\n1\n1.234\n2.345\n",
        .options = {.decimal = ','}},
    {.bytes = "a\tb\n1,234\t5,678\n",
        .expected = "tabs, decimal commas, UTF-8\n1 a, 2 b\n1.234 5.678\n",
        .options = {.decimal = ','}},
    {.bytes = "1;2,5\n3;4,5\n",
        .expected = "semicolons, decimal commas, UTF-8\n1, 2\n1 2.5\n3 4.5\n",
        .options = {.separator = ';'}},
    /* quotes: separators, quotes and line ends inside; decimal commas between commas */
    {.bytes = "\"a, \"\"x\"\"\",\"b\nc\"\n\"1\",2\n",
        .expected = "commas, whole numbers, UTF-8\n1 a, \"x\", 2 b c\n1 2\n"},
    {.bytes = "\"1,5\",\"2,5\"\n\"1,25\",\"3\"\n",
        .expected = "commas, decimal commas, UTF-8\n1, 2\n1.5 2.5\n1.25 3\n"},
    {.bytes = "a,note,b\n1,\"x\n,y\",2\n3,\"\"\"\",4\n5,,\n",
        .expected = "commas, whole numbers, UTF-8\n1 a, 3 b\n1 2\n3 4\n5 -\nmissing 1: line 5\n",
        .only = {1, 3}},
    /* separators at the end of lines */
    {.bytes = "a;b;\n1;2;\n3;4;\n",
        .expected = "semicolons, whole numbers, UTF-8\n1 a, 2 b\n1 2\n3 4\n"},
    {.bytes = "a;b\n1;2;;\n3;4;\n",
        .expected = "semicolons, whole numbers, UTF-8\n1 a, 2 b\n1 2\n3 4\n"},
};

START_TEST(finds_separator_and_decimal_sign)
{
    check_good(&dialect_list[_i]);
}
END_TEST

/* --- lines ------------------------------------------------------------------------------------
 */

static const struct good line_list[] = {
    /* line ends */
    {.bytes = "a,b\r\n1,2\r\n3,4\r\n",
        .expected = "commas, whole numbers, UTF-8\n1 a, 2 b\n1 2\n3 4\n"},
    {.bytes = "a,b\r1,2\r3,4\r", .expected = "commas, whole numbers, UTF-8\n1 a, 2 b\n1 2\n3 4\n"},
    {.bytes = "a,b\n1,2\n3,4", .expected = "commas, whole numbers, UTF-8\n1 a, 2 b\n1 2\n3 4\n"},
    {.bytes = "# x\r\n\r\na,b\n1,\r\n3,4\n\n\r\n",
        .expected = "commas, whole numbers, UTF-8\n1 a, 2 b\n1 -\n3 4\nmissing 1: line 4\n"},
    /* comments and free text ahead, and comments between rows */
    {.bytes = "# by hand, 3 May\n% x\n// y\na;b\n1;2\n# pause\n3;4\n",
        .expected = "semicolons, whole numbers, UTF-8\n1 a, 2 b\n1 2\n3 4\n"},
    {.bytes = "; bench 2; coil 4\na,b\n1,2\n3,4\n",
        .expected = "commas, whole numbers, UTF-8\n1 a, 2 b\n1 2\n3 4\n"},
    {.bytes = "Logger 5\nRate,1000\nDate,2024-05-06\n\na,b,c\n1,2,3\n4,5,6\n",
        .expected = "commas, whole numbers, UTF-8\n1 a, 2 b, 3 c\n1 2 3\n4 5 6\n"},
    {.bytes = "Rate;1000\nGain;1,5\nGain;2,5\nGain;3,5\nGain;4,5\na;b\n1,5;2\n3;4\n",
        .expected = "semicolons, decimal commas, UTF-8\n1 a, 2 b\n1.5 2\n3 4\n"},
    {.bytes = "gain,offset\n1.5,0.25\n\na,b\n1,2\n3,4\n5,6\n",
        .expected = "commas, whole numbers, UTF-8\n1 a, 2 b\n1 2\n3 4\n5 6\n"},
    {.bytes = "a;b\n----;----\n1;2\n3;4\n",
        .expected = "semicolons, whole numbers, UTF-8\n1 a, 2 b\n1 2\n3 4\n"},
    /* a header in a comment */
    {.bytes = "# t u\n0.5 1\n1.5 2\n",
        .expected = "blanks, decimal points, UTF-8; time in steps of 0.1 s\n2 u\n0.5: 1\n1.5: 2\n"},
    {.bytes = "# u i\n# mV A\n0.5 1\n",
        .expected =
            "blanks, decimal points, UTF-8\n1 u [mV: voltage], 2 i [A: current]\n0.0005 1\n"},
    /* a header with numbers in it; no header at all */
    {.bytes = "t;1;2\n0;5;6\n1;7;8\n",
        .expected =
            "semicolons, whole numbers, UTF-8; time in steps of 1 s\n2 1, 3 2\n0: 5 6\n1: 7 8\n"},
    {.bytes = "0.5,1\n1.5,2\n", .expected = "commas, decimal points, UTF-8\n1, 2\n0.5 1\n1.5 2\n"},
    /* blank and other cells that are no numbers */
    {.bytes = "t,u\n0,1\n1,\n2,NaN\n3,---\n4,OVER\n5,#N/"
              "A\n6,2\n7,inf\n8,3\n9,4\n10,9.9E37\n11,6\n12,7\n13,8\n"
              "14,9\n15,1\n",
        .expected = "commas, whole numbers, UTF-8; time in steps of 1 s\n2 u\n0: 1\n1: -\n2: -\n3: "
                    "-\n4: -\n"
                    "5: -\n6: 2\n7: -\n8: 3\n9: 4\n10: -\n11: 6\n12: 7\n13: 8\n14: 9\n15: 1\n"
                    "missing 7: line 3 4 5 6 7 9 12\n"},
    {.bytes = "a,b\n#N/A,1\n2,3\n4,5\n#N/A,7\n8,9\n",
        .expected = "commas, whole numbers, UTF-8\n1 a, 2 b\n- 1\n2 3\n4 5\n- 7\n8 "
                    "9\nmissing 2: line 2 5\n"},
    {.bytes = "t,u\n0,1\n,2\n2,3\n3,4\n",
        .expected = "commas, whole numbers, UTF-8; time in steps of 1 s\n2 u\n0: 1\n-: 2\n2: 3\n3: "
                    "4\nmissing "
                    "1: line 3\n"},
    /* only selected columns count */
    {.bytes = "t,u,status\n0,1,OK\n1,2,OK\n",
        .expected = "commas, whole numbers, UTF-8; time in steps of 1 s\n2 u\n0: "
                    "1\n1: 2\n",
        .only = {2}},
    /* too few cells: missing; text, and nothing but empty cells, amid the rows: missing */
    {.bytes = "t,u\n0,1\n1\n2,3\n3,4\n",
        .expected = "commas, whole numbers, UTF-8; time in steps of 1 s\n2 u\n0: 1\n1: "
                    "-\n2: 3\n3: 4\nmissing 1: line 3\n"},
    {.bytes = "t,u\n0,1\n1,2\n*** pause ***\n,\n4,3\n5,4\n6,5\n",
        .expected = "commas, whole numbers, UTF-8; time in steps of 1 s\n2 u\n0: 1\n1: 2\n-: -\n-: "
                    "-\n4: 3\n5: "
                    "4\n6: 5\nmissing 2: line 4 5\n"},
    /* the same at the end: a footer */
    {.bytes = "t,u\n0,1\n1,2\nend of record, all well\n;\n\n,,,\n\x1A",
        .expected = "commas, whole numbers, UTF-8; time in steps of 1 s\n2 u\n0: 1\n1: 2\n"},
    {.bytes = "t,u\n0,1\n1,2\nsum,average\n",
        .expected = "commas, whole numbers, UTF-8; time in steps of 1 s\n2 u\n0: 1\n1: 2\n"},
    /* but a line with a number is a row */
    {.bytes = "t,u\n0,1\n1,2\n2,3\ncount,3\n",
        .expected = "commas, whole numbers, UTF-8; time in steps of 1 s\n2 u\n0: 1\n1: 2\n2: 3\n-: "
                    "3\nmissing "
                    "1: line 5\n"},
};

START_TEST(finds_the_rows_among_other_lines)
{
    check_good(&line_list[_i]);
}
END_TEST

/* --- tables as instruments write them ----------------------------------------------------------
 */

static const struct good instrument_list[] = {
    /* settings beside the first rows, no header */
    {.bytes = "Record Length,2500,,-0.0002,0.04,\nInterval,1e-6,,-0.0001,0.05,\n,,,0.0,0.06,\n"
              ",,,0.0001,0.07,\n",
        .expected = "commas, decimal points, UTF-8; time in steps of 0.0001 s\n5\n-0.0002: 0.04\n"
                    "-0.0001: 0.05\n0: 0.06\n0.0001: 0.07\n",
        .options = {.time_column = "4"},
        .only = {5}},
    /* settings ahead, the table's header among them */
    {.bytes = "Model,X5\nFirmware,1.2.3\n,\nUnits,S,\nInterval,1e-05,\nLabel,CH1,CH2\n"
              "TIME,CH1,CH2\n-0.05,0.1,0.2\n-0.04,0.3,0.4\n",
        .expected = "commas, decimal points, UTF-8; time in steps of 0.01 s\n2 CH1, 3 CH2\n"
                    "-0.05: 0.1 0.2\n-0.04: 0.3 0.4\n"},
    {.bytes = "Separator\tTab\nDecimal_Separator\t,\nTime\t10:00:00,123456\n***End***\t\t\n\t\t\n"
              "Channels\t2\t\t\nSamples\t3\t3\t\nUnit\tVolts\tVolts\t\nStep\t0,001\t0,001\t\n"
              "***End***\t\t\t\t\nTime\tA\tB\tComment\n0,000\t1,5\t2,5\t\n0,001\t1,6\t2,6\t\n"
              "0,002\t1,6\t2,6\t\n",
        .expected = "tabs, decimal commas, UTF-8; time in steps of 0.001 s\n2 A, 3 B\n0: 1.5 2.5\n"
                    "0.001: 1.6 2.6\n0.002: 1.6 2.6\n",
        .only = {2, 3}},
    /* inputs called by their numbers, units in words */
    {.bytes = "x-axis,1,2\nsecond,Volt,Volt\n-1.00E-03,2.0E-03,3\n-0.99E-03,2.5E-03,3\n",
        .expected = "commas, decimal points, UTF-8; time in steps of 1e-05 s\n2 1 [Volt: voltage], "
                    "3 2 [Volt: voltage]\n-0.001: 0.002 3\n-0.00099: 0.0025 3\n",
        .options = {.time_column = "x-axis"}},
    /* units in brackets, a blank line below, a sign for overload */
    {.bytes = "Time;Channel A;Channel B\n(ms);(V);(mV)\n\n0,0000;1,5;2,5\n0,0100;\xE2\x88\x9E;2,5\n"
              "0,0200;1,5;2,5\n",
        .expected = "semicolons, decimal commas, UTF-8; time in steps of 1e-07 s\n2 Channel A [V: "
                    "voltage], 3 Channel B [mV: voltage]\n0: 1.5 0.0025\n1e-05: - "
                    "0.0025\n2e-05: 1.5 0.0025\nmissing 1: line 5\n"},
    {.bytes = "sep=;\nTime (s);U (V)\n0;1,5\n1;2,5\n",
        .expected = "semicolons, decimal commas, UTF-8; time in steps of 1 s\n2 U [V: voltage]\n"
                    "0: 1.5\n1: 2.5\n"},
    {.bytes = "\"Date\",\"Time\",\"CH1 (V)\"\n\"2024-01-01\",\"10:00:00.000\",\"+1.0E+0\"\n"
              "\"2024-01-01\",\"10:00:00.001\",\"+1.5E+0\"\n",
        .expected = "commas, decimal points, UTF-8; time in steps of 0.001 s\n3 CH1 [V: voltage]\n"
                    "0: 1\n0.001: 1.5\n",
        .only = {3}},
};

START_TEST(reads_tables_as_instruments_write_them)
{
    check_good(&instrument_list[_i]);
}
END_TEST

/* Text, a unit that is not known, two units: what looks at every column can leave them out. */
START_TEST(tells_which_columns_cannot_be_read)
{
    static const char bytes[] = "t;u (mV);i [foo];status;k (A)\ns;mV;;;V\n0;1;2;ok;3\n1;;2;;4\n";
    const char *const expected[] = {NULL, "its unit is not known", "its cells are no numbers",
        "its header and the row of units differ"};
    const struct capture_options options = {0};
    struct capture *capture = NULL;
    struct error err = {0};
    scratch_write(NAME, bytes, sizeof bytes - 1);
    ck_assert_int_eq(capture_open(NAME, &options, &capture, &err), STATUS_OK);
    const struct capture_info *info = capture_get_info(capture);
    ck_assert_uint_eq(info->channel_count, 4);
    ck_assert_str_eq(info->channels[1].header, "i [foo]");
    for (size_t i = 0; i < info->channel_count; i++) {
        ck_assert_pstr_eq(info->channels[i].trouble, expected[i]);
    }
    capture_close(capture);
}
END_TEST

/* --- headers and units ------------------------------------------------------------------------
 */

static const struct good header_list[] = {
    {.bytes = "t (ms),u2 [mV],i_kA,H / (A/m),B_T\n0,1,2,3,4\n1,1,2,3,4\n",
        .expected =
            "commas, whole numbers, UTF-8; time in steps of 0.001 s\n2 u2 [mV: voltage], 3 i [kA: "
            "current], 4 H [A/m: field strength], 5 B [T: flux density]\n0: 0.001 2000 3 4\n0.001: "
            "0.001 2000 3 4\n"},
    {.bytes = "Time;U;I\ns;mV;A\n0;12,5;2\n1;0,3;-1\n",
        .expected =
            "semicolons, decimal commas, UTF-8; time in steps of 1 s\n2 U [mV: voltage], 3 I [A: "
            "current]\n0: 0.0125 2\n1: 0.0003 -1\n"},
    {.bytes = "time,u,i,n\n(s),[mV],-,\n0,1,2,3\n1,2,3,4\n",
        .expected = "commas, whole numbers, UTF-8; time in steps of 1 s\n2 u [mV: voltage], 3 i, 4 "
                    "n\n0: 0.001 "
                    "2 3\n1: 0.002 3 4\n"},
    {.bytes = "mV;A\n1,5;2\n",
        .expected = "semicolons, decimal commas, UTF-8\n1 [mV: voltage], 2 [A: current]\n0.0015 "
                    "2\n"},
    {.bytes = "Time (sec),Current (amps)\n0,1\n1,2\n",
        .expected = "commas, whole numbers, UTF-8; time in steps of 1 s\n2 Current [amps: "
                    "current]\n0: 1\n1: "
                    "2\n"},
    {.bytes = "time (s) pickup voltage (mV) H (A/m)\n0 1 2\n1 2 3\n",
        .expected = "blanks, whole numbers, UTF-8; time in steps of 1 s\n2 pickup voltage [mV: "
                    "voltage], 3 H "
                    "[A/m: field strength]\n0: 0.001 2\n1: 0.002 3\n"},
    {.bytes = "t / s   u (kV)\n0 1\n1 2\n",
        .expected =
            "blanks, whole numbers, UTF-8; time in steps of 1 s\n2 u [kV: voltage]\n0: 1000\n1: "
            "2000\n"},
    {.bytes = "field strength   flux linkage\n0.5 1\n",
        .expected = "blanks, decimal points, UTF-8\n1 field strength, 2 "
                    "flux linkage\n0.5 1\n"},
    {.bytes = "T (\xC2\xB0"
              "C),x (%)\n20.5,50\n",
        .expected = "commas, decimal points, UTF-8\n1 T [\xC2\xB0"
                    "C: temperature], 2 x [%: plain number]\n293.65 0.5\n"},
    {.bytes = "a,b,c\n1,2\n3,4\n5,6\n7,8\n",
        .expected = "commas, whole numbers, UTF-8\n1 a, 2 b\n1 2\n3 4\n5 6\n7 8\n",
        .only = {1, 2}},
    /* a letter that counts is no unit: neither channel_A, nor pickup_A beside pickup_B */
    {.bytes = "channel_A,pickup_A,pickup_B,u_V\n1,2,3,4\n",
        .expected = "commas, whole numbers, UTF-8\n1 channel_A, 2 "
                    "pickup_A, 3 pickup_B, 4 u [V: voltage]\n1 2 3 "
                    "4\n"},
};

START_TEST(finds_names_and_units)
{
    check_good(&header_list[_i]);
}
END_TEST

/* --- time -------------------------------------------------------------------------------------
 */

static const struct good time_list[] = {
    {.bytes = "u,TIME (us)\n1,0\n2,50\n",
        .expected =
            "commas, whole numbers, UTF-8; time in steps of 1e-06 s\n1 u\n0: 1\n5e-05: 2\n"},
    {.bytes = "u,i,Zeit [ms]\n1,2,0\n2,3,50\n",
        .expected =
            "commas, whole numbers, UTF-8; time in steps of 0.001 s\n1 u, 2 i\n0: 1 2\n0.05: 2 3\n",
        .options = {.time_column = "zeit"}},
    {.bytes = "u,i,Zeit [ms]\n1,2,0\n2,3,50\n",
        .expected =
            "commas, whole numbers, UTF-8; time in steps of 0.001 s\n1 u, 2 i\n0: 1 2\n0.05: 2 3\n",
        .options = {.time_column = "Zeit[ms]"}},
    {.bytes = "5,0.5\n6,0.75\n",
        .expected = "commas, decimal points, UTF-8; time in steps of 0.01 s\n1\n0.5: 5\n0.75: "
                    "6\n",
        .options = {.time_column = "2"}},
    /* a stated rate, and a trace, leave a time column aside */
    {.bytes = "time,u\n0,1\n0,2\n",
        .expected = "commas, whole numbers, UTF-8; 48000 Hz\n2 u\n1\n2\n",
        .options = {.sample_rate_Hz = 48000},
        .only = {2}},
    {.bytes = "time,u\n0,1\n0,2\n",
        .expected = "commas, whole numbers, UTF-8\n1 time, 2 u\n0 1\n0 2\n",
        .options = {.is_trace = true}},
    /* clocks, past midnight and past the full hour; the fraction's sign is free */
    {.bytes = "time,u\n23:59:59.75,1\n00:00:00.25,2\n0:00:01.5,3\n",
        .expected =
            "commas, whole numbers, UTF-8; time in steps of 0.01 s\n2 u\n0: 1\n0.5: 2\n1.75: 3\n"},
    {.bytes = "time;u\n10:00:00.25;1,5\n10:00:00.5;2,5\n",
        .expected =
            "semicolons, decimal commas, UTF-8; time in steps of 0.01 s\n2 u\n0: 1.5\n0.25: 2.5\n"},
    {.bytes = "time;u\n59:59,5;1,5\n00:00,25;2,5\n",
        .expected =
            "semicolons, decimal commas, UTF-8; time in steps of 0.01 s\n2 u\n0: 1.5\n0.75: 2.5\n"},
    {.bytes = "time,u\n100:00:00,1\n100:00:01,2\n",
        .expected = "commas, whole numbers, UTF-8; time in steps of 1 s\n2 u\n0: 1\n1: 2\n"},
    /* dates: with T or blank, zones, points, over a leap day */
    {.bytes = "t,u\n2024-02-28T23:59:59.5Z,1\n2024-02-29T00:00:00.000001Z,2\n",
        .expected =
            "commas, whole numbers, UTF-8; time in steps of 1e-06 s\n2 u\n0: 1\n0.500001: 2\n"},
    {.bytes = "t,u\n2024-03-31 01:59:59+01:00,1\n2024-03-31 03:00:00+0200,2\n2024-03-31 03:00:01 "
              "+02,3\n",
        .expected = "commas, whole numbers, UTF-8; time in steps of 1 s\n2 u\n0: 1\n1: 2\n2: 3\n"},
    {.bytes = "t;u\n28.02.2023 23:59:59,5;1\n1.3.2023 0:00:00,0;2\n",
        .expected =
            "semicolons, whole numbers, UTF-8; time in steps of 0.1 s\n2 u\n0: 1\n0.5: 2\n"},
    {.bytes = "Date Time u\n2024-05-06 10:00:00 1\n2024-05-06 10:00:01 2\n",
        .expected = "blanks, whole numbers, UTF-8; time in steps of 1 s\n3 u\n0: 1\n1: 2\n",
        .only = {3}},
    /* a header of one cell less: the blank is inside the time */
    {.bytes = "time u\n2024-05-06 10:00:00,5 1\n2024-05-06  10:00:01,5 2\n",
        .expected = "blanks, whole numbers, UTF-8; time in steps of 0.1 s\n2 u\n0: 1\n1: 2\n"},
    /* seconds, and nanoseconds, since 1970: no digit is lost */
    {.bytes = "time,u\n1700000000.000001,1\n1700000000.000004,2\n",
        .expected =
            "commas, decimal points, UTF-8; time in steps of 1e-06 s\n2 u\n0: 1\n3e-06: 2\n"},
    {.bytes = "time (ns),u\n1700000000000000001,1\n1700000000000000104,2\n",
        .expected =
            "commas, whole numbers, UTF-8; time in steps of 1e-09 s\n2 u\n0: 1\n1.03e-07: 2\n"},
    /* what step is printed: the most decimals, or the last of the most digits where times are
       large; trailing zeros may have been dropped */
    {.bytes = "t,u\n0,1\n0.5,2\n0.512,3\n",
        .expected = "commas, decimal points, UTF-8; time in steps of 0.001 s\n2 "
                    "u\n0: 1\n0.5: 2\n0.512: 3\n"},
    {.bytes = "t,u\n0.00123457,1\n123.457,2\n",
        .expected = "commas, decimal points, UTF-8; time in steps of 0.001 "
                    "s\n2 u\n0.00123457: 1\n123.457: 2\n"},
    {.bytes = "t,u\n0.000e+00,1\n2.083e-05,2\n4.167e-04,3\n",
        .expected =
            "commas, decimal points, UTF-8; time in steps of 1e-07 s\n2 u\n0: 1\n2.083e-05: "
            "2\n0.0004167: 3\n"},
    /* a part: seconds from the first row on */
    {.bytes = "t,u\n5.1,1\n5.2,2\n5.3,3\n5.4,4\n5.5,5\n",
        .expected = "commas, decimal points, UTF-8; time in steps of 0.1 s\n2 u\n5.2: 2\n5.3: 3\n",
        .options = {.start_s = 0.1, .length_s = 0.2}},
    {.bytes = "t,u\n5.1,1\n5.2,2\n,3\n5.4,4\n5.5,5\n",
        .expected = "commas, decimal points, UTF-8; time in steps of 0.1 s\n2 u\n5.2: 2\n-: "
                    "3\nmissing 1: line "
                    "4\n",
        .options = {.start_s = 0.1, .length_s = 0.2}},
    {.bytes = "u,v\n1.5,1\n2.5,2\n3.5,3\n4.5,4\n5.5,5\n",
        .expected = "commas, decimal points, UTF-8; 10 Hz\n1 u, 2 v\n2.5 2\n3.5 3\n",
        .options = {.sample_rate_Hz = 10, .start_s = 0.1, .length_s = 0.2}},
};

START_TEST(reads_times_and_parts)
{
    check_good(&time_list[_i]);
}
END_TEST

#define COUNT(list) ((int)(sizeof(list) / sizeof(list)[0]))

Suite *table_suite(void)
{
    Suite *suite = suite_create("table");
    TCase *tests = tcase_create("table");
    tcase_add_checked_fixture(tests, scratch_enter, scratch_leave);
    tcase_add_loop_test(tests, finds_separator_and_decimal_sign, 0, COUNT(dialect_list));
    tcase_add_loop_test(tests, finds_the_rows_among_other_lines, 0, COUNT(line_list));
    tcase_add_loop_test(tests, reads_tables_as_instruments_write_them, 0, COUNT(instrument_list));
    tcase_add_test(tests, tells_which_columns_cannot_be_read);
    tcase_add_loop_test(tests, finds_names_and_units, 0, COUNT(header_list));
    tcase_add_loop_test(tests, reads_times_and_parts, 0, COUNT(time_list));
    suite_add_tcase(suite, tests);
    return suite;
}
