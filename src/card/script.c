// SPDX-License-Identifier: GPL-3.0-or-later
/* The process around the script. It is forked, not started anew, so that the card need not be read
 * again; the result comes back through a pipe, since a process that may write no file (RLIMIT_FSIZE
 * 0) can still write there:
 *
 *     a result:  'T', the text
 *     an error:  'E', the status as one byte, the message, a zero byte, the hint
 *
 * What ends without such a word was killed by one of the limits. */
#include "card/script.h"

#include <errno.h>
#include <signal.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "card/script_state.h"

enum { RESULT = 'T', FAILURE = 'E' };

/* --- in the child ------------------------------------------------------------------------------
 */

static void set_limit(int what, rlim_t soft, rlim_t hard)
{
    struct rlimit limit = {.rlim_cur = soft, .rlim_max = hard};
    (void)setrlimit(what, &limit); /* they are lowered, which is always allowed */
}

/* Of all files only the pipe stays, as number 0; a limit of one number lets nothing else open. */
static void close_files(int pipe)
{
    if (dup2(pipe, 0) < 0 || close_range(1, ~0U, 0) != 0)
        _exit(STATUS_FAULT);
    set_limit(RLIMIT_NOFILE, 1, 1);
}

static void limit_process(void)
{
    (void)prctl(PR_SET_PDEATHSIG, SIGKILL); /* nobody would read the result */
    (void)prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0);
    set_limit(RLIMIT_CORE, 0, 0);
    set_limit(RLIMIT_FSIZE, 0, 0);
    set_limit(RLIMIT_NPROC, 0, 0);
#if !defined __SANITIZE_ADDRESS__ /* which maps terabytes */
    set_limit(
        RLIMIT_DATA, SCRIPT_MEMORY + ((rlim_t)256 << 20), SCRIPT_MEMORY + ((rlim_t)256 << 20));
#endif
    set_limit(RLIMIT_CPU, SCRIPT_PROCESSOR_SECONDS, SCRIPT_PROCESSOR_SECONDS + 1);
    static const int signs[] = {SIGXCPU, SIGALRM, SIGHUP, SIGINT, SIGTERM};
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++)
        (void)signal(signs[i], SIG_DFL);
    (void)alarm(SCRIPT_SECONDS);
}

static bool write_all(const char *bytes, size_t length)
{
    while (length > 0) {
        ssize_t count = write(0, bytes, length);
        if (count < 0 && errno != EINTR)
            return false;
        if (count > 0) {
            bytes += count;
            length -= (size_t)count;
        }
    }
    return true;
}

static bool write_failure(const struct error *err)
{
    char head[2] = {FAILURE, (char)err->status};
    return write_all(head, sizeof head) && write_all(err->message, strlen(err->message) + 1) &&
           write_all(err->hint, strlen(err->hint));
}

static _Noreturn void run_child(
    const struct script *script, const struct script_input *input, int pipe)
{
    static const char head = RESULT;
    close_files(pipe);
    limit_process();
    struct error err = {0};
    struct text out = {0};
    bool is_told;
    if (script_state_run(script, input, &out, &err))
        is_told = write_failure(&err);
    else
        is_told = write_all(&head, 1) && write_all(out.bytes, out.length);
    _exit(is_told ? STATUS_OK : STATUS_FAULT);
}

/* --- in the parent -----------------------------------------------------------------------------
 */

/* Reads to the end of the pipe, but not beyond what a result may be. */
static enum status read_answer(int pipe, struct text *answer, struct error *err)
{
    char block[16384];
    for (;;) {
        ssize_t count = read(pipe, block, sizeof block);
        if (count < 0 && errno == EINTR)
            continue;
        if (count < 0)
            return fail(
                err, STATUS_FAULT, "", "cannot read what an exporter says: %s", strerror(errno));
        if (count == 0)
            return answer->failed ? fail_memory(err) : STATUS_OK;
        text_add_bytes(answer, block, (size_t)count);
    }
}

static enum status judge_end(const struct script *script, int end, struct error *err)
{
    static const char hint[] = "an exporter that does so much work has a fault, or is no exporter";
    int sign = WIFSIGNALED(end) ? WTERMSIG(end) : 0;
    if (sign == SIGXCPU || sign == SIGKILL || sign == SIGALRM)
        return fail(err, STATUS_INPUT, hint, "%s: used more than its share of processor time, %d s",
            script->name, SCRIPT_PROCESSOR_SECONDS);
    if (sign)
        return fail(err, STATUS_INPUT, hint, "%s: was ended by signal %d", script->name, sign);
    return fail(err, STATUS_FAULT, "free some memory", "%s: the exporter's process could not work",
        script->name);
}

static enum status judge_answer(const struct script *script, const struct text *answer, int end,
    struct text *out, struct error *err)
{
    bool is_whole = WIFEXITED(end) && WEXITSTATUS(end) == STATUS_OK && answer->length > 0;
    if (!is_whole)
        return judge_end(script, end, err);
    if (answer->bytes[0] == RESULT) {
        text_add_bytes(out, answer->bytes + 1, answer->length - 1);
        return out->failed ? fail_memory(err) : STATUS_OK;
    }
    const char *message = answer->bytes + 2;
    const char *hint = message + strlen(message) + 1;
    return fail(err, (enum status)answer->bytes[1], hint, "%s", message);
}

static enum status attend(
    const struct script *script, pid_t child, int pipe, struct text *out, struct error *err)
{
    struct text answer = {0};
    int end = 0;
    enum status status = read_answer(pipe, &answer, err);
    close(pipe);
    while (waitpid(child, &end, 0) < 0 && errno == EINTR)
        continue;
    if (!status)
        status = judge_answer(script, &answer, end, out, err);
    text_clear(&answer);
    return status;
}

enum status script_run(const struct script *script, const struct script_input *input,
    struct text *out, struct error *err)
{
    static const char hint[] = "the machine has no processes or files to spare; try again";
    int ends[2];
    if (pipe(ends) != 0)
        return fail(err, STATUS_FAULT, hint, "cannot start an exporter: %s", strerror(errno));
    pid_t child = fork();
    if (child == 0)
        run_child(script, input, ends[1]);
    int reason = errno;
    close(ends[1]);
    if (child > 0)
        return attend(script, child, ends[0], out, err);
    close(ends[0]);
    return fail(err, STATUS_FAULT, hint, "cannot start an exporter: %s", strerror(reason));
}
