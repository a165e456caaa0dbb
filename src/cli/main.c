// SPDX-License-Identifier: GPL-3.0-or-later
#include <errno.h>
#include <fcntl.h>
#include <malloc.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/text.h"
#include "base/version.h"
#include "cli/command.h"
#include "cli/help.h"
#include "cli/output.h"

const struct command *const command_list[] = {
    &command_look,
    &command_loop,
    &command_calibrate,
    &command_series,
    &command_card,
    &command_motor,
    &command_qualify,
    &command_report,
    &command_ledger,
    &command_virtual,
    &command_help,
    NULL,
};

const struct command *command_find(const char *name, struct error *err)
{
    const char *names[sizeof command_list / sizeof *command_list] = {0};
    for (size_t i = 0; command_list[i]; i++) {
        if (!strcmp(command_list[i]->name, name))
            return command_list[i];
        names[i] = command_list[i]->name;
    }
    char hint[120] = "'lodecard help' lists the commands";
    const char *nearest = text_nearest(name, names);
    if (nearest)
        snprintf(
            hint, sizeof hint, "did you mean '%s'? 'lodecard help' lists the commands", nearest);
    (void)fail(err, STATUS_USAGE, hint, "there is no command '%.80s'", name);
    return NULL;
}

static bool wants_help(int count, char **words)
{
    for (int i = 0; i < count && strcmp(words[i], "--"); i++)
        if (!strcmp(words[i], "--help") || !strcmp(words[i], "-h"))
            return true;
    return false;
}

/* The help of a command (NULL: of the program), or of its verb when `word` is one. */
static int write_help(
    const struct command *command, const char *word, FILE *stream, struct error *err)
{
    struct text out = {0};
    struct command_verb verb;
    const bool is_verb = command && help_get_verb(command, word, &verb);
    help_write(&out, command, is_verb ? &verb : NULL);
    enum status status = out.failed ? fail_memory(err) : STATUS_OK;
    if (!status)
        fputs(out.bytes, stream);
    text_clear(&out);
    return (int)status;
}

static int run(int count, char **words, struct error *err)
{
    if (count < 2) {
        (void)write_help(NULL, "", stderr, err);
        return STATUS_USAGE;
    }
    if (!strcmp(words[1], "--version")) {
        printf("lodecard %s\nLicense GPL-3.0-or-later; there is no warranty.\n", LODECARD_VERSION);
        return STATUS_OK;
    }
    if (!strcmp(words[1], "--help") || !strcmp(words[1], "-h"))
        return write_help(NULL, "", stdout, err);
    if (words[1][0] == '-')
        return (int)fail(err, STATUS_USAGE, "'lodecard help' lists the commands",
            "a command comes first, not '%.80s'", words[1]);
    const struct command *command = command_find(words[1], err);
    if (!command)
        return STATUS_USAGE;
    if (wants_help(count - 2, words + 2))
        return write_help(command, words[2], stdout, err);
    return command->run(command, count - 2, words + 2, err);
}

/* A standard stream that the caller closed must not become the first file opened here: its place
 * is taken by a descriptor on which writing fails. */
static void guard_streams(void)
{
    int fd;
    do
        fd = open("/dev/null", O_RDONLY);
    while (fd >= 0 && fd <= STDERR_FILENO);
    if (fd >= 0)
        close(fd);
    signal(SIGPIPE, SIG_IGN); /* output files are finished even if nobody reads standard output */
    signal(SIGXFSZ, SIG_IGN); /* a file that may grow no further is a failure to write */
}

/* Memory given back waits here for the next use, up to 32 MiB a piece: in a short capture the pages
 * that the system makes anew cost more than the work on them. */
static void keep_memory(void)
{
    (void)mallopt(M_MMAP_THRESHOLD, 1 << 25);
    (void)mallopt(M_TRIM_THRESHOLD, 1 << 26);
}

/* Ends as the signal would have it, but leaves no file behind that is not whole. */
static void handle_end(int sign)
{
    static const char words[] = "lodecard: stopped by a signal; no unfinished file is left\n";
    const bool is_told = write(STDERR_FILENO, words, sizeof words - 1) > 0;
    if (!file_draft_remove_all(sign))
        return; /* the thread that is just making a file ends the program */
    if (!is_told)
        _exit(128 + sign); /* nobody listens */
    raise(sign);           /* SA_RESETHAND: the system's own way, behind this function */
}

/* A signal that the caller wants ignored (nohup) stays so. */
static void guard_end(void)
{
    static const int signs[] = {SIGHUP, SIGINT, SIGTERM, SIGXCPU};
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++) {
        struct sigaction action = {.sa_handler = handle_end, .sa_flags = SA_RESTART | SA_RESETHAND};
        struct sigaction before;
        if (sigaction(signs[i], NULL, &before) == 0 && before.sa_handler == SIG_DFL)
            (void)sigaction(signs[i], &action, NULL);
    }
}

/* A full disk may show only when the last bytes are written. What failed before that has been told
 * or stands in `err`; a verdict is worth nothing when it could not be told. */
static int close_output(int status, struct error *err)
{
    errno = 0;
    bool is_bad = ferror(stdout) != 0;
    is_bad = fclose(stdout) != 0 || is_bad;
    if (memory_has_failed())
        return status == STATUS_FAULT ? status : (int)fail_memory(err);
    if (!is_bad || (status && status <= STATUS_FAULT))
        return status;
    int reason = output_get_failure() ? output_get_failure() : errno;
    if (reason == EPIPE && status)
        return status;
    if (reason != EPIPE) /* a reader that has seen enough is no news */
        (void)fail(err, STATUS_IO, "check the disk or pipe that takes the output",
            "cannot write to standard output: %s", strerror(reason));
    return STATUS_IO;
}

int main(int count, char **words)
{
    struct error err = {0};
    guard_streams();
    guard_end();
    keep_memory();
    output_open_stdout();
    int status = close_output(run(count, words, &err), &err);
    output_tell_failure(NULL, &err);
    return status;
}
