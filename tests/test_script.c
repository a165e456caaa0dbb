// SPDX-License-Identifier: GPL-3.0-or-later
#include "card/script.h"

#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>
#include <unistd.h>

#include "suites.h"

static const char card_text[] =
    "{\"schema\": \"lodecard-card/1\", \"zeta\": 1, \"alpha\": [2.385, null, -1e-7], \"is\": true, "
    "\"identity\": {\"alloy\": \"RS-36\"}}";

/* Runs a script as t.lua; what it gives or, behind "! ", how it fails: status, message, hint. */
static struct text run_with(
    const char *bytes, size_t length, const struct script_option *options, size_t count)
{
    struct tree *tree = NULL;
    struct error err = {0};
    ck_assert_int_eq(
        tree_read_bytes("card.json", card_text, sizeof card_text - 1, &tree, &err), STATUS_OK);
    struct script script = {.name = "t.lua", .bytes = bytes, .length = length};
    struct script_input input = {.card = tree,
        .file = "card.json",
        .sha256 = "0f",
        .options = options,
        .option_count = count};
    struct text out = {0};
    text_add(&out, "");
    enum status status = script_run(&script, &input, &out, &err);
    if (status) {
        ck_assert_uint_eq(out.length, 0);
        ck_assert_int_eq(err.status, status);
        text_add_format(&out, "! %d %s\n%s", (int)status, err.message, err.hint);
    }
    tree_destroy(tree);
    return out;
}

static struct text run_text(const char *words)
{
    return run_with(words, strlen(words), NULL, 0);
}

static void expect(const char *words, const char *expected)
{
    struct text out = run_text(words);
    ck_assert_msg(
        !strcmp(out.bytes, expected), "'%s' gave '%.300s', not '%s'", words, out.bytes, expected);
    text_clear(&out);
}

/* STATUS_INPUT with these words in its message, within seconds. */
static void expect_failure(const char *words, const char *part)
{
    struct timespec begin, end;
    clock_gettime(CLOCK_MONOTONIC, &begin);
    struct text out = run_text(words);
    clock_gettime(CLOCK_MONOTONIC, &end);
    ck_assert_msg(!strncmp(out.bytes, "! 2 ", 4) && strstr(out.bytes, part),
        "'%s' gave '%.300s', without '%s'", words, out.bytes, part);
    ck_assert_msg(end.tv_sec - begin.tv_sec <= SCRIPT_SECONDS, "'%s' took too long", words);
    text_clear(&out);
}

START_TEST(gives_the_text_of_a_script)
{
    static const struct {
        const char *script, *text;
    } table[] = {
        {"return 'a\\n'", "a\n"},
        {"return {'a', 'b', 'c'}", "abc"},
        {"return {}", ""},
        {"return 'a\\0b'", "a"}, /* compared as far as the zero */
        {"return card.identity.alloy .. #card.alpha .. card.alpha[1]", "RS-3632.385"},
        {"return tostring(card.alpha[2]) .. number(card.alpha[3])", "nil-1e-07"},
        {"return number(0.1) .. ' ' .. number(12) .. ' ' .. number(1/3)",
            "0.1 12 0.3333333333333333"},
        {"return tostring(card.none) .. tostring(card.is)", "niltrue"},
        {"return about.file .. about.sha256 .. about.exporter", "card.json0ft.lua"},
        {"return table.concat(card.alpha, '', 1, 1) .. select('#', table.unpack(card.alpha))",
            "2.3853"},
        {"local n = 0 for i, x in ipairs(card.alpha) do n = n + i end return '' .. n", "1"},
        {"return ('x'):rep(3) .. string.format('%5.2f', math.pi)", "xxx 3.14"},
    };
    for (size_t i = 0; i < sizeof table / sizeof *table; i++)
        expect(table[i].script, table[i].text);
}
END_TEST

START_TEST(keeps_zero_bytes)
{
    struct text out = run_text("return 'a\\0b'");
    ck_assert_uint_eq(out.length, 3);
    ck_assert_int_eq(memcmp(out.bytes, "a\0b", 3), 0);
    text_clear(&out);
}
END_TEST

START_TEST(pairs_have_an_order)
{
    expect("local s = '' for k in pairs(card) do s = s .. k .. ' ' end return s",
        "schema zeta alpha is identity ");
    expect(
        "local s = '' for k, v in pairs({b = 1, [10] = 2, a = 3, [2] = 4}) do s = s .. k .. v end "
        "return s",
        "24102a3b1");
    expect_failure("for k in pairs({[{}] = 1}) do end", "t.lua:1: pairs needs keys");
    expect_failure("\nfor k in pairs(nil) do end", "t.lua:2: pairs needs a table, not a nil");
}
END_TEST

START_TEST(gives_large_results)
{
    struct text out =
        run_text("local t = {} for i = 1, 3000 do t[i] = ('0123456789abcdef'):rep(256) "
                 "end return t");
    ck_assert_uint_eq(out.length, 3000 * 4096);
    ck_assert_int_eq(out.bytes[out.length - 1], 'f');
    text_clear(&out);
}
END_TEST

START_TEST(the_card_is_read_only)
{
    static const char part[] = "t.lua:1: the card is read-only";
    expect_failure("card.x = 1", part);
    expect_failure("card.zeta = 2", part);
    expect_failure("card.identity.alloy = 'x'", part);
    expect_failure("card.alpha[1] = 1", part);
    expect_failure("table.sort(card.alpha)", "the card is read-only");
    expect_failure("setmetatable(card, {})", "protected metatable");
    expect("return getmetatable(card)", "read-only");
}
END_TEST

START_TEST(options_are_asked_for)
{
    const struct script_option cgs[] = {{"units", "cgs"}};
    const struct script_option turns[] = {{"turns", "120"}};
    static const char units[] = "return option('units', 'si', {'si', 'cgs'})";
    static const char count[] = "return number(number_option('turns', 100, 1))";
    struct text out = run_with(units, sizeof units - 1, cgs, 1);
    ck_assert_str_eq(out.bytes, "cgs");
    text_clear(&out);
    out = run_with(count, sizeof count - 1, turns, 1);
    ck_assert_str_eq(out.bytes, "120");
    text_clear(&out);
    expect(units, "si");
    expect(count, "100");
    out = run_with(units, sizeof units - 1, turns, 1);
    ck_assert_str_eq(out.bytes, "! 1 t.lua has no option 'turns'\nit has: units");
    text_clear(&out);
    const struct script_option wrong[] = {{"units", "mks"}};
    out = run_with(units, sizeof units - 1, wrong, 1);
    ck_assert_str_eq(out.bytes, "! 1 option 'units' cannot be 'mks'\nit is one of: si, cgs");
    text_clear(&out);
    static const char *const bad[] = {"0", "x", "nan", "1e999", ""};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        const struct script_option option[] = {{"turns", bad[i]}};
        out = run_with(count, sizeof count - 1, option, 1);
        ck_assert_msg(
            strstr(out.bytes, "! 1 option 'turns' cannot be '"), "%s: %s", bad[i], out.bytes);
        text_clear(&out);
    }
}
END_TEST

START_TEST(refuses_in_the_words_of_the_script)
{
    expect(
        "refuse('the card has no loss', 'measure more')", "! 2 the card has no loss\nmeasure more");
    expect("refuse('the card has no loss')", "! 2 the card has no loss\n");
}
END_TEST

START_TEST(errors_name_script_and_line)
{
    static const struct {
        const char *script, *part;
    } table[] = {
        {"\n\nlocal x = nil + 1", "t.lua:3: attempt to perform arithmetic on a nil value"},
        {"return card.identity.x.y", "t.lua:1: attempt to index a nil value (field 'x')"},
        {"\nerror('my words')", "t.lua:2: my words"},
        {"error('my words', 0)", "t.lua: my words"},
        {"\nerror({})", "t.lua:2: the script raised a table, not a text"},
        {"error(nil)", "the script raised a nil, not a text"},
        {"error(setmetatable({}, {__tostring = function() while true do end end}))",
            "the script raised a table"},
        {"local", "t.lua:1: <name> expected near <eof>"},
        {"", "t.lua: the result is a nil, not a text or a list of texts"},
        {"return 12", "t.lua: the result is a number"},
        {"return print", "t.lua: the result is a nil"},
        {"return {'a', 2}", "t.lua: piece 2 of the result is a number, not a text"},
        {"return card", "t.lua: the result is a part of the card"},
        {"\x1bLuaT", "attempt to load a binary chunk"},
        {"\xff\xfe", "t.lua:1: unexpected symbol"},
    };
    for (size_t i = 0; i < sizeof table / sizeof *table; i++)
        expect_failure(table[i].script, table[i].part);
}
END_TEST

START_TEST(doors_are_closed)
{
    static const char *const names[] = {"load", "loadfile", "dofile", "loadstring", "print", "warn",
        "require", "package", "io", "os", "debug", "coroutine", "utf8", "collectgarbage", "next",
        "rawset", "rawget", "xpcall", "string.dump", "math.random", "math.randomseed"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char script[80];
        snprintf(script, sizeof script, "return type(%s)", names[i]);
        expect(script, "nil");
    }
    expect_failure(
        "io.open('/etc/hostname')", "t.lua:1: attempt to index a nil value (global 'io')");
    expect_failure("os.execute('true')", "t.lua:1: attempt to index a nil value (global 'os')");
    expect_failure("require('socket')", "t.lua:1: attempt to call a nil value (global 'require')");
    expect_failure("setmetatable({}, {__gc = function() end})", "t.lua:1: an exporter cannot have");
    expect("return getmetatable('')", "read-only");
    expect("string.rep = nil return tostring(('x').rep)", "nil"); /* harms only itself */
    expect("return ('x'):rep(2)", "xx");
}
END_TEST

/* Each would run for ever, or until the machine is full. */
START_TEST(attacks_end)
{
    static const struct {
        const char *script, *part;
    } table[] = {
        {"\nwhile true do end", "t.lua:2: used more than its share of time"},
        {"local function f() while true do end end while true do pcall(f) end", "its share of"},
        {"local function f() return pcall(f) end while true do pcall(f) end", "its share of"},
        {"repeat local x <close> = setmetatable({}, {__close = function() while true do end end}) "
         "until false",
            "its share of"},
        {"return setmetatable({}, {__index = function(t, k) return t[k + 1] end})[1]", "t.lua:1:"},
        {"local function f() return 1 + f() end f()", "its share of memory"},
        {"local t = {} for i = 1, 1e9 do t[i] = ('x'):rep(1e6) .. i end",
            "its share of memory, 64 MiB"},
        {"local s = 'x' while true do s = s .. s end", "its share of memory, 64 MiB"},
        {"return ('x'):rep(1e9)", "its share of memory, 64 MiB"},
        {"return ('x'):rep(1 << 62, 'y')", "resulting string too large"},
        {"return string.format('%99999d', 1)", "t.lua:1: "},
        {"return ('a'):rep(4000):find(('a*'):rep(40) .. 'b')", "its share of processor time, 2 s"},
        {"return ('a'):rep(26):find(('a?'):rep(26) .. ('a'):rep(26) .. 'b')",
            "its share of processor time, 2 s"},
        {"getmetatable('').__index = nil", "t.lua:1: "},
        {"setmetatable(('x'), {})", "table expected, got string"},
        {"return ('('):rep(300):find(('('):rep(300))", "t.lua:1: "},
        {"local s = ('x'):rep(1e6) local t = {} for i = 1, 51 do t[i] = s end return t",
            "the result is longer than 48 MiB"},
        {"table.sort({3, 1, 2, 5, 4}, function() return true end) while true do end", "t.lua:1: "},
        {"return table.concat({}, 'x', 1, 1e15)", "t.lua:1: "},
        {"return table.unpack({}, 1, 1e8)", "too many results to unpack"},
        {"return ('%s'):rep(1e6):gsub('.', {['%'] = ('x'):rep(1e3)})",
            "its share of memory, 64 MiB"},
    };
    for (size_t i = 0; i < sizeof table / sizeof *table; i++)
        expect_failure(table[i].script, table[i].part);
}
END_TEST

/* Even a door that somebody found would lead nowhere: what the process may do is seen from inside
 * by files that are open here and must be closed there, and by this process, which must stay as it
 * is. */
START_TEST(leaves_this_process_alone)
{
    struct rlimit before, after;
    int file = open("/dev/null", O_RDONLY);
    ck_assert_int_ge(file, 0);
    getrlimit(RLIMIT_FSIZE, &before);
    expect("return 'a'", "a");
    expect_failure("error('x')", "x");
    getrlimit(RLIMIT_FSIZE, &after);
    ck_assert_uint_eq(before.rlim_cur, after.rlim_cur);
    ck_assert_int_eq(open("/dev/null", O_RDONLY), file + 1); /* no descriptor is left over */
    close(file + 1);
    close(file);
}
END_TEST

Suite *script_suite(void)
{
    Suite *suite = suite_create("script");
    TCase *rules = tcase_create("rules");
    tcase_add_test(rules, gives_the_text_of_a_script);
    tcase_add_test(rules, keeps_zero_bytes);
    tcase_add_test(rules, pairs_have_an_order);
    tcase_add_test(rules, gives_large_results);
    tcase_add_test(rules, the_card_is_read_only);
    tcase_add_test(rules, options_are_asked_for);
    tcase_add_test(rules, refuses_in_the_words_of_the_script);
    tcase_add_test(rules, errors_name_script_and_line);
    tcase_add_test(rules, doors_are_closed);
    tcase_add_test(rules, leaves_this_process_alone);
    suite_add_tcase(suite, rules);
    TCase *attacks = tcase_create("attacks");
    tcase_set_timeout(attacks, 120);
    tcase_add_test(attacks, attacks_end);
    suite_add_tcase(suite, attacks);
    return suite;
}
