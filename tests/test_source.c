// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/source.h"

#include <errno.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "feed.h"
#include "scratch.h"
#include "suites.h"

#define LENGTH 3000000 /* beyond what a stream may jump over */

static struct error err;
static char content[LENGTH];

static void enter(void)
{
    scratch_enter();
    for (size_t i = 0; i < LENGTH; i++) {
        content[i] = (char)(i * 7 % 251 + i / 65536);
    }
    scratch_write("file", content, LENGTH);
}

/* The same tests run on a file and on a stream. */
static const char *const names[] = {"file", "pipe"};
static struct feed feed;

static struct source *open_source(int kind)
{
    struct source *source = NULL;
    if (kind == 1) {
        feed_begin(&feed, "pipe", content, LENGTH);
    }
    ck_assert_int_eq(source_create(names[kind], &source, &err), STATUS_OK);
    ck_assert_int_eq(source_is_file(source), kind == 0);
    ck_assert_int_eq(source_get_length(source), kind == 0 ? LENGTH : -1);
    return source;
}

static void close_source(int kind, struct source *source)
{
    source_destroy(source);
    if (kind == 1) {
        feed_end(&feed);
    }
}

static void check_digest(struct source *source)
{
    char found[DIGEST_TEXT_SIZE];
    char wanted[DIGEST_TEXT_SIZE];
    struct digest *digest = digest_create();
    digest_add(digest, content, LENGTH);
    digest_get(digest, wanted);
    digest_destroy(digest);
    ck_assert_int_eq(source_finish_digest(source, found, &err), STATUS_OK);
    ck_assert_str_eq(found, wanted);
}

START_TEST(gives_all_bytes_in_pieces_of_any_size)
{
    static char piece[200000];
    static const size_t sizes[] = {1, 3000, 65536, 17, 200000};
    struct source *source = open_source(_i);
    const unsigned char *head;
    size_t count;
    ck_assert_int_eq(source_peek(source, &head, &count, &err), STATUS_OK);
    ck_assert_uint_eq(count, READER_HEAD_SIZE);
    ck_assert_mem_eq(head, content, count);
    source_settle(source);
    size_t have = 0;
    for (size_t i = 0; have < LENGTH; i++) {
        long got = source_read(source, piece, sizes[i % 5]);
        ck_assert_int_gt(got, 0);
        ck_assert_mem_eq(piece, content + have, got);
        have += (size_t)got;
    }
    ck_assert_int_eq(source_read(source, piece, 10), 0);
    ck_assert_int_eq(source_get_position(source), LENGTH);
    check_digest(source);
    close_source(_i, source);
}
END_TEST

START_TEST(looks_ahead_and_begins_again_while_opening)
{
    static char piece[100000];
    struct source *source = open_source(_i);
    source_set_position(source, 500000);
    ck_assert_int_eq(source_read(source, piece, 100000), 100000);
    ck_assert_mem_eq(piece, content + 500000, 100000);
    source_set_position(source, 12);
    ck_assert_int_eq(source_read(source, piece, 100), 100);
    ck_assert_mem_eq(piece, content + 12, 100);
    source_settle(source);
    source_set_position(source, 0);
    for (size_t have = 0; have < LENGTH; have += 100000) {
        ck_assert_int_eq(source_read(source, piece, 100000), 100000);
        ck_assert_mem_eq(piece, content + have, 100000);
    }
    check_digest(source);
    close_source(_i, source);
}
END_TEST

START_TEST(a_stream_being_opened_ends_far_ahead)
{
    char piece[10];
    struct source *source = open_source(1);
    source_set_position(source, SOURCE_JUMP_LIMIT + 1);
    ck_assert_int_eq(source_read(source, piece, 10), 0);
    source_set_position(source, (int64_t)1 << 60);
    ck_assert_int_eq(source_read(source, piece, 10), 0);
    source_settle(source);
    source_set_position(source, SOURCE_JUMP_LIMIT + 1); /* now it is reached by reading on */
    ck_assert_int_eq(source_read(source, piece, 10), 10);
    ck_assert_mem_eq(piece, content + SOURCE_JUMP_LIMIT + 1, 10);
    check_digest(source);
    close_source(1, source);
}
END_TEST

START_TEST(a_stream_cannot_go_back_to_what_is_not_kept)
{
    char piece[10];
    struct source *source = open_source(1);
    source_settle(source);
    source_set_position(source, 100);
    ck_assert_int_eq(source_read(source, piece, 10), 10);
    ck_assert_int_eq(source_get_failure(source), 0);
    source_set_position(source, 50);
    ck_assert_int_eq(source_read(source, piece, 10), -1);
    ck_assert_int_eq(source_get_failure(source), ESPIPE);
    ck_assert_int_eq(source_fail(source, &err), STATUS_IO);
    ck_assert_str_eq(err.message, "cannot read 'pipe': Illegal seek");
    close_source(1, source);
}
END_TEST

START_TEST(shows_a_patch_and_digests_what_is_there)
{
    char piece[20];
    struct source *source = open_source(_i);
    source_set_patch(source, 102, (const unsigned char *)"ABCD", 4);
    for (int64_t at = 96; at < 108; at++) { /* every overlap of 4 bytes with 4 */
        char wanted[20];
        memcpy(wanted, content + at, 4);
        for (int64_t i = 0; i < 4; i++) {
            if (at + i >= 102 && at + i < 106) {
                wanted[i] = "ABCD"[at + i - 102];
            }
        }
        source_set_position(source, at);
        ck_assert_int_eq(source_read(source, piece, 4), 4);
        ck_assert_mem_eq(piece, wanted, 4);
    }
    check_digest(source);
    close_source(_i, source);
}
END_TEST

START_TEST(a_file_opens_without_a_digest_wanted)
{
    struct source *source = open_source(0);
    ck_assert_int_eq(source_begin_digest(source, &err), STATUS_OK);
    close_source(0, source); /* the job that runs is waited for */
}
END_TEST

START_TEST(says_why_it_cannot_read)
{
    struct source *source = NULL;
    ck_assert_int_eq(source_create("none", &source, &err), STATUS_IO);
    ck_assert_str_eq(err.message, "cannot read 'none': No such file or directory");
    ck_assert_int_eq(source_create(".", &source, &err), STATUS_IO);
    ck_assert_str_eq(err.message, "cannot read '.': it is a folder");
    ck_assert_ptr_null(source);
}
END_TEST

START_TEST(tells_a_failing_read_from_the_end)
{
    struct source *source = NULL;
    const unsigned char *head;
    size_t count;
    /* No memory is mapped at the address 0 of a process: reading there fails. */
    ck_assert_int_eq(source_create("/proc/self/mem", &source, &err), STATUS_OK);
    ck_assert_int_eq(source_peek(source, &head, &count, &err), STATUS_IO);
    ck_assert_str_eq(err.message, "cannot read '/proc/self/mem': Input/output error");
    source_destroy(source);
}
END_TEST

Suite *source_suite(void)
{
    Suite *suite = suite_create("source");
    TCase *tests = tcase_create("source");
    tcase_add_checked_fixture(tests, enter, scratch_leave);
    tcase_add_loop_test(tests, gives_all_bytes_in_pieces_of_any_size, 0, 2);
    tcase_add_loop_test(tests, looks_ahead_and_begins_again_while_opening, 0, 2);
    tcase_add_test(tests, a_stream_being_opened_ends_far_ahead);
    tcase_add_test(tests, a_stream_cannot_go_back_to_what_is_not_kept);
    tcase_add_loop_test(tests, shows_a_patch_and_digests_what_is_there, 0, 2);
    tcase_add_test(tests, a_file_opens_without_a_digest_wanted);
    tcase_add_test(tests, says_why_it_cannot_read);
    tcase_add_test(tests, tells_a_failing_read_from_the_end);
    suite_add_tcase(suite, tests);
    return suite;
}
