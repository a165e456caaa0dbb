// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/file.h"

#include <fcntl.h>
#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/leftover.h"
#include "base/memory.h"
#include "scratch.h"
#include "suites.h"

static struct error err;

START_TEST(reads_a_file_with_a_zero_behind)
{
    char *bytes = NULL;
    size_t length = 0;
    scratch_write("a", "x\0y", 3);
    ck_assert_int_eq(file_read("a", 3, &bytes, &length, &err), STATUS_OK);
    ck_assert_uint_eq(length, 3);
    ck_assert_int_eq(memcmp(bytes, "x\0y", 4), 0);
    memory_destroy(bytes);
}
END_TEST

START_TEST(reads_an_empty_file)
{
    char *bytes = NULL;
    size_t length = 7;
    scratch_write("a", "", 0);
    ck_assert_int_eq(file_read("a", 0, &bytes, &length, &err), STATUS_OK);
    ck_assert_uint_eq(length, 0);
    ck_assert_str_eq(bytes, "");
    memory_destroy(bytes);
}
END_TEST

START_TEST(refuses_a_file_over_the_limit)
{
    char *bytes = NULL;
    size_t length = 7;
    scratch_write("a", "wxyz", 4);
    ck_assert_int_eq(file_read("a", 3, &bytes, &length, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "'a' is larger than 3 bytes");
    ck_assert_int_eq(file_read("/dev/zero", 100000, &bytes, &length, &err), STATUS_INPUT);
    ck_assert_ptr_null(bytes);
    ck_assert_uint_eq(length, 7);
}
END_TEST

START_TEST(says_why_it_cannot_read)
{
    char *bytes = NULL;
    size_t length = 7;
    ck_assert_int_eq(mkdir("folder", 0777), 0);
    ck_assert_int_eq(file_read("folder", 9, &bytes, &length, &err), STATUS_IO);
    ck_assert_str_eq(err.message, "cannot read 'folder': it is a folder");
    ck_assert_int_eq(file_read("none", 9, &bytes, &length, &err), STATUS_IO);
    ck_assert_str_eq(err.message, "cannot read 'none': No such file or directory");
    ck_assert_str_eq(err.hint, "check the path and the permissions");
    ck_assert_ptr_null(bytes);
}
END_TEST

#define PIPED 300000

static void *feed(void *name)
{
    int file = open(name, O_WRONLY);
    char block[1000];
    memset(block, 'p', sizeof block);
    for (size_t i = 0; i < PIPED / sizeof block; i++) {
        if (write(file, block, sizeof block) != sizeof block) {
            break;
        }
    }
    close(file);
    return NULL;
}

START_TEST(reads_a_pipe_to_its_end)
{
    char name[] = "pipe";
    char *bytes = NULL;
    size_t length = 0;
    pthread_t writer;
    ck_assert_int_eq(mkfifo(name, 0666), 0);
    ck_assert_int_eq(pthread_create(&writer, NULL, feed, name), 0);
    ck_assert_int_eq(file_read(name, 1 << 20, &bytes, &length, &err), STATUS_OK);
    pthread_join(writer, NULL);
    ck_assert_uint_eq(length, PIPED);
    ck_assert_int_eq(bytes[PIPED - 1], 'p');
    memory_destroy(bytes);
}
END_TEST

START_TEST(reads_standard_input)
{
    char *bytes = NULL;
    size_t length = 0;
    scratch_write("a", "from outside", 12);
    int file = open("a", O_RDONLY);
    ck_assert_int_eq(dup2(file, STDIN_FILENO), STDIN_FILENO);
    close(file);
    ck_assert_int_eq(file_read("-", 100, &bytes, &length, &err), STATUS_OK);
    ck_assert_str_eq(bytes, "from outside");
    memory_destroy(bytes);
}
END_TEST

START_TEST(writes_a_file_whole_and_nothing_else)
{
    ck_assert_int_eq(file_write("a", "one", 3, &err), STATUS_OK);
    ck_assert(scratch_holds("a", "one"));
    ck_assert_int_eq(file_write("a", "", 0, &err), STATUS_OK);
    ck_assert(scratch_holds("a", ""));
    ck_assert_uint_eq(scratch_count(), 1);
}
END_TEST

START_TEST(leaves_the_old_file_when_the_disk_is_full)
{
    static char large[100000];
    struct rlimit limit = {.rlim_cur = 5000, .rlim_max = RLIM_INFINITY};
    scratch_write("a", "old", 3);
    signal(SIGXFSZ, SIG_IGN);
    ck_assert_int_eq(setrlimit(RLIMIT_FSIZE, &limit), 0);
    enum status status = file_write("a", large, sizeof large, &err);
    limit.rlim_cur = RLIM_INFINITY;
    ck_assert_int_eq(setrlimit(RLIMIT_FSIZE, &limit), 0);
    ck_assert_int_eq(status, STATUS_IO);
    ck_assert_str_eq(err.message, "cannot write 'a': File too large");
    ck_assert_str_eq(err.hint, "make room, or write somewhere else");
    ck_assert(scratch_holds("a", "old"));
    ck_assert_uint_eq(scratch_count(), 1);
}
END_TEST

START_TEST(refuses_to_write_where_it_cannot)
{
    ck_assert_int_eq(mkdir("folder", 0777), 0);
    ck_assert_int_eq(file_write("folder", "x", 1, &err), STATUS_IO);
    ck_assert_str_eq(err.message, "cannot write 'folder': it is a folder");
    ck_assert_int_eq(file_write("none/a", "x", 1, &err), STATUS_IO);
    ck_assert_str_eq(err.message, "cannot write 'none/a': No such file or directory");
}
END_TEST

START_TEST(keeps_links_and_permissions)
{
    struct stat about;
    scratch_write("a", "old", 3);
    ck_assert_int_eq(chmod("a", 0600), 0);
    ck_assert_int_eq(symlink("a", "link"), 0);
    ck_assert_int_eq(file_write("link", "new", 3, &err), STATUS_OK);
    ck_assert(scratch_holds("a", "new"));
    ck_assert_int_eq(lstat("link", &about), 0);
    ck_assert(S_ISLNK(about.st_mode));
    ck_assert_int_eq(stat("a", &about), 0);
    ck_assert_uint_eq(about.st_mode & 0777, 0600);
}
END_TEST

START_TEST(gives_new_files_the_usual_permissions)
{
    struct stat about;
    umask(027);
    ck_assert_int_eq(file_write("a", "new", 3, &err), STATUS_OK);
    ck_assert_int_eq(stat("a", &about), 0);
    ck_assert_uint_eq(about.st_mode & 0777, 0640);
}
END_TEST

START_TEST(writes_directly_to_what_is_no_regular_file)
{
    struct stat about;
    ck_assert_int_eq(file_write("/dev/null", "x", 1, &err), STATUS_OK);
    ck_assert_int_eq(stat("/dev/null", &about), 0);
    ck_assert(S_ISCHR(about.st_mode));
    ck_assert_int_eq(file_write("/dev/full", "x", 1, &err), STATUS_IO);
    ck_assert_str_eq(err.message, "cannot write '/dev/full': No space left on device");
}
END_TEST

typedef enum status create_draft(struct file_draft *draft, const char *path, struct error *err);
static enum status create_named(struct file_draft *draft, const char *path, struct error *error)
{
    static const char *const endings[] = {"-journal", NULL};
    return file_draft_create_named(draft, path, endings, error);
}
static create_draft *const draft_kinds[] = {file_draft_create, create_named};

START_TEST(keeps_a_draft_apart_until_it_is_committed)
{
    struct file_draft draft = {0};
    scratch_write("a", "old", 3);
    ck_assert_int_eq(draft_kinds[_i](&draft, "a", &err), STATUS_OK);
    ck_assert_int_eq(file_draft_add(&draft, "new", 3, &err), STATUS_OK);
    ck_assert(scratch_holds("a", "old"));
    ck_assert_int_eq(file_draft_commit(&draft, &err), STATUS_OK);
    ck_assert(scratch_holds("a", "new"));
    file_draft_abandon(&draft);
    ck_assert_uint_eq(scratch_count(), 1);
}
END_TEST

START_TEST(gives_a_new_file_its_name)
{
    struct file_draft draft = {0};
    struct stat about;
    ck_assert_int_eq(draft_kinds[_i](&draft, "a", &err), STATUS_OK);
    ck_assert_int_eq(file_draft_add(&draft, "new", 3, &err), STATUS_OK);
    ck_assert_int_ne(access("a", F_OK), 0);
    ck_assert_int_eq(file_draft_commit(&draft, &err), STATUS_OK);
    ck_assert(scratch_holds("a", "new"));
    ck_assert_int_eq(stat("a", &about), 0);
    ck_assert_uint_eq(about.st_nlink, 1);
    ck_assert_uint_eq(scratch_count(), 1);
}
END_TEST

START_TEST(removes_an_abandoned_draft)
{
    struct file_draft one = {0};
    struct file_draft two = {0};
    ck_assert_int_eq(draft_kinds[_i](&one, "a", &err), STATUS_OK);
    ck_assert_int_eq(draft_kinds[_i](&two, "a", &err), STATUS_OK);
    ck_assert_int_ne(one.file, two.file);
    file_draft_abandon(&one);
    file_draft_abandon(&one);
    file_draft_abandon(&two);
    ck_assert_uint_eq(scratch_count(), 0);
}
END_TEST

START_TEST(the_handler_of_a_signal_removes_named_drafts)
{
    pid_t child = fork();
    if (child == 0) { /* for nothing goes on behind the handler */
        struct file_draft draft = {0};
        bool is_good = create_named(&draft, "a", &err) == STATUS_OK && scratch_count() == 1;
        scratch_write(draft.companions[0], "", 0);
        is_good = is_good && scratch_count() == 2;
        is_good = is_good && file_draft_remove_all(SIGTERM) && scratch_count() == 0;
        _exit(is_good ? 0 : 1);
    }
    int status = -1;
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    ck_assert_int_eq(status, 0);
}
END_TEST

/* A signal between making a file and listing it: it ends the program, but not before the list has
 * the name. */
START_TEST(a_signal_waits_for_a_file_that_is_just_made)
{
    pid_t child = fork();
    if (child == 0) {
        signal(SIGTERM, SIG_DFL); /* not as the test runner has it */
        leftover_hold();
        const bool is_waiting = !leftover_unlink_all(SIGTERM);
        scratch_write("a", "", 0);
        leftover_add("a");
        if (!is_waiting || mkdir("b", 0777) != 0) {
            _exit(1);
        }
        leftover_add("b");
        leftover_release();
        _exit(1); /* it does not come here */
    }
    int status = -1;
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    ck_assert(WIFSIGNALED(status) && WTERMSIG(status) == SIGTERM);
    ck_assert_uint_eq(scratch_count(), 0);
}
END_TEST

START_TEST(creates_folders_with_their_parents)
{
    struct stat about;
    ck_assert_int_eq(file_create_folder("x/y//z/", &err), STATUS_OK);
    ck_assert_int_eq(file_create_folder("x/y/z", &err), STATUS_OK);
    ck_assert_int_eq(stat("x/y/z", &about), 0);
    ck_assert(S_ISDIR(about.st_mode));
    scratch_write("file", "", 0);
    ck_assert_int_eq(file_create_folder("file/y", &err), STATUS_IO);
    ck_assert_str_eq(err.message, "cannot create folder 'file/y': Not a directory");
}
END_TEST

START_TEST(finds_what_is_beside_a_file)
{
    char *path = file_path_beside("x/y/a.wav", "rig.yaml");
    ck_assert_str_eq(path, "x/y/rig.yaml");
    memory_destroy(path);
    path = file_path_beside("a.wav", "rig.yaml");
    ck_assert_str_eq(path, "rig.yaml");
    memory_destroy(path);
    ck_assert(!file_exists("rig.yaml"));
    scratch_write("rig.yaml", "", 0);
    ck_assert(file_exists("rig.yaml"));
}
END_TEST

/* The examples that go with FIPS 180-4 (NIST, Cryptographic standards and guidelines, SHA256). */
static const struct {
    const char *message;
    size_t repeated;
    const char *digest;
} digests[] = {
    {"", 1, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"},
    {"abc", 1, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"},
    {"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq", 1,
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"},
    {"aaaaaaaaaa", 100000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"},
};

START_TEST(digests_as_the_standard_says)
{
    char text[DIGEST_TEXT_SIZE];
    struct digest *digest = digest_create();
    ck_assert_ptr_nonnull(digest);
    FILE *file = fopen("a", "wb");
    for (size_t i = 0; i < digests[_i].repeated; i++) {
        digest_add(digest, digests[_i].message, strlen(digests[_i].message));
        fputs(digests[_i].message, file);
    }
    fclose(file);
    digest_get(digest, text);
    digest_destroy(digest);
    ck_assert_str_eq(text, digests[_i].digest);
    struct digest_job *job = digest_job_create("a");
    text[0] = '\0';
    ck_assert_int_eq(digest_job_finish(job, text, &err), STATUS_OK);
    ck_assert_str_eq(text, digests[_i].digest);
}
END_TEST

START_TEST(says_that_a_digest_job_failed)
{
    char text[DIGEST_TEXT_SIZE] = "as it was";
    struct digest_job *job = digest_job_create("none");
    ck_assert_int_eq(digest_job_finish(job, text, &err), STATUS_IO);
    ck_assert_str_eq(err.message, "cannot read 'none': No such file or directory");
    ck_assert_str_eq(text, "as it was");
}
END_TEST

Suite *file_suite(void)
{
    Suite *suite = suite_create("file");
    TCase *tests = tcase_create("file");
    tcase_add_checked_fixture(tests, scratch_enter, scratch_leave);
    tcase_add_test(tests, reads_a_file_with_a_zero_behind);
    tcase_add_test(tests, reads_an_empty_file);
    tcase_add_test(tests, refuses_a_file_over_the_limit);
    tcase_add_test(tests, says_why_it_cannot_read);
    tcase_add_test(tests, reads_a_pipe_to_its_end);
    tcase_add_test(tests, reads_standard_input);
    tcase_add_test(tests, writes_a_file_whole_and_nothing_else);
    tcase_add_test(tests, leaves_the_old_file_when_the_disk_is_full);
    tcase_add_test(tests, refuses_to_write_where_it_cannot);
    tcase_add_test(tests, keeps_links_and_permissions);
    tcase_add_test(tests, gives_new_files_the_usual_permissions);
    tcase_add_test(tests, writes_directly_to_what_is_no_regular_file);
    tcase_add_loop_test(tests, keeps_a_draft_apart_until_it_is_committed, 0, 2);
    tcase_add_loop_test(tests, gives_a_new_file_its_name, 0, 2);
    tcase_add_loop_test(tests, removes_an_abandoned_draft, 0, 2);
    tcase_add_test(tests, the_handler_of_a_signal_removes_named_drafts);
    tcase_add_test(tests, a_signal_waits_for_a_file_that_is_just_made);
    tcase_add_test(tests, creates_folders_with_their_parents);
    tcase_add_test(tests, finds_what_is_beside_a_file);
    tcase_add_loop_test(tests, digests_as_the_standard_says, 0, 4);
    tcase_add_test(tests, says_that_a_digest_job_failed);
    suite_add_tcase(suite, tests);
    return suite;
}
