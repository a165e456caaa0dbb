// SPDX-License-Identifier: GPL-3.0-or-later
/* Loaded ahead of the C library (LD_PRELOAD), lets one call of a program fail, or sends it a signal
 * there. What it does stands in the environment:
 *
 *     FAULTS=CLASS:N:ACTION   what happens at the N-th call of a class (N from 1; "3+": and at all
 *                             calls behind it)
 *     FAULTS_REPORT=FILE      takes "hit WHO" at that moment, and "CLASS COUNT" at the end
 *     FAULTS_NAMED=1          the file system knows no files without a name (O_TMPFILE)
 *
 * CLASS is `own` (an allocation by the program itself), `any` (or by a library), or a call of the
 * list below. ACTION is an errno, "short" (half of the bytes), or "sig" with a number. Calls that C
 * library makes inside itself are not seen: the writes of its streams are such. */
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <link.h>
#include <malloc.h>
#include <pthread.h>
#include <signal.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <unistd.h>

#define PUBLIC __attribute__((visibility("default")))

enum class {
    OWN,
    ANY,
    CREATE,
    OPEN,
    READ,
    WRITE,
    SYNC,
    CUT,
    CLOSE,
    RENAME,
    LINK,
    FOLDER,
    THREAD,
    FORK,
    PIPE,
    CLASS_COUNT
};
static const char *const class_names[CLASS_COUNT] = {[OWN] = "own",
    [ANY] = "any",
    [CREATE] = "create",
    [OPEN] = "open",
    [READ] = "read",
    [WRITE] = "write",
    [SYNC] = "sync",
    [CUT] = "cut",
    [CLOSE] = "close",
    [RENAME] = "rename",
    [LINK] = "link",
    [FOLDER] = "folder",
    [THREAD] = "thread",
    [FORK] = "fork",
    [PIPE] = "pipe"};

enum action { PASS, FAIL, SHORT };

static struct {
    bool is_ready, is_named;
    enum class class;
    long from, to;
    int reason, sign;
    bool is_short;
    const char *report;
    uintptr_t code_begin, code_end; /* of the program itself */
} plan;
static atomic_long counts[CLASS_COUNT];
static bool is_child; /* there only memory fails */

/* Only system calls, so that nothing here is counted or fails. */
static void report(const char *word, const char *rest)
{
    char line[300];
    if (plan.report == NULL) {
        return;
    }
    int length = snprintf(line, sizeof line, "%s %s\n", word, rest);
    int file = (int)syscall(SYS_openat, AT_FDCWD, plan.report, O_WRONLY | O_CREAT | O_APPEND, 0666);
    if (file >= 0 && length > 0) {
        syscall(SYS_write, file, line, (size_t)length);
        syscall(SYS_close, file);
    }
}

static enum action judge(enum class class, const void *caller)
{
    int kept = errno;
    if (!plan.is_ready || (is_child && class > ANY)) {
        return PASS;
    }
    long number = atomic_fetch_add(&counts[class], 1) + 1;
    if (class != plan.class || number < plan.from || number > plan.to) {
        return PASS;
    }
    Dl_info about;
    bool is_known = number == plan.from && dladdr(caller, &about) != 0;
    const char *name = is_known ? strrchr(about.dli_fname, '/') : NULL;
    report("hit", name != NULL ? name + 1 : is_known ? about.dli_fname : "again");
    errno = kept;
    if (plan.sign != 0) {
        raise(plan.sign);
        return PASS;
    }
    if (plan.is_short) {
        return SHORT;
    }
    errno = plan.reason;
    return FAIL;
}

static bool is_own(const void *caller)
{
    return (uintptr_t)caller >= plan.code_begin && (uintptr_t)caller < plan.code_end;
}

static bool is_refused(const void *caller)
{
    enum action own = is_own(caller) ? judge(OWN, caller) : PASS;
    enum action any = judge(ANY, caller);
    if (own == FAIL || any == FAIL) {
        errno = ENOMEM;
        return true;
    }
    return false;
}

/* --- beginning and end --------------------------------------------------------------------------
 */

static int find_code(struct dl_phdr_info *object, size_t size, void *unused)
{
    (void)size;
    (void)unused;
    for (int i = 0; i < object->dlpi_phnum; i++) {
        const ElfW(Phdr) *part = &object->dlpi_phdr[i];
        if (part->p_type == PT_LOAD && (part->p_flags & PF_X) != 0) {
            plan.code_begin = object->dlpi_addr + part->p_vaddr;
            plan.code_end = plan.code_begin + part->p_memsz;
        }
    }
    return 1; /* the first object is the program */
}

__attribute__((constructor)) static void begin(void)
{
    char class[16], action[16], more = ' ';
    const char *words = getenv("FAULTS");
    plan.report = getenv("FAULTS_REPORT");
    plan.is_named = getenv("FAULTS_NAMED") != NULL;
    plan.class = CLASS_COUNT;
    dl_iterate_phdr(find_code, NULL);
    if (words != NULL) {
        if (sscanf(words, "%15[a-z]:%ld+%c%15s", class, &plan.from, &more, action) == 4) {
            plan.to = __LONG_MAX__;
        } else if (sscanf(words, "%15[a-z]:%ld:%15s", class, &plan.from, action) == 3) {
            plan.to = plan.from;
        } else {
            abort();
        }
        for (int i = 0; i < CLASS_COUNT; i++) {
            if (strcmp(class, class_names[i]) == 0) {
                plan.class = (enum class)i;
            }
        }
        plan.is_short = strcmp(action, "short") == 0;
        plan.sign = strncmp(action, "sig", 3) == 0 ? atoi(action + 3) : 0;
        plan.reason = atoi(action);
        if (plan.class == CLASS_COUNT) {
            abort();
        }
    }
    plan.is_ready = true;
}

__attribute__((destructor)) static void end(void)
{
    plan.is_ready = false;
    for (int i = 0; i < CLASS_COUNT; i++) {
        char number[24];
        snprintf(number, sizeof number, "%ld", atomic_load(&counts[i]));
        report(class_names[i], number);
    }
}

/* --- memory: what stands behind is glibc's own, so that nothing need be looked up ----------------
 */

void *__libc_malloc(size_t size);
void *__libc_calloc(size_t count, size_t size);
void *__libc_realloc(void *old, size_t size);
void *__libc_memalign(size_t alignment, size_t size);

PUBLIC void *malloc(size_t size)
{
    return is_refused(__builtin_return_address(0)) ? NULL : __libc_malloc(size);
}

PUBLIC void *calloc(size_t count, size_t size)
{
    return is_refused(__builtin_return_address(0)) ? NULL : __libc_calloc(count, size);
}

PUBLIC void *realloc(void *old, size_t size)
{
    return is_refused(__builtin_return_address(0)) ? NULL : __libc_realloc(old, size);
}

PUBLIC void *aligned_alloc(size_t alignment, size_t size)
{
    return is_refused(__builtin_return_address(0)) ? NULL : __libc_memalign(alignment, size);
}

PUBLIC void *memalign(size_t alignment, size_t size)
{
    return is_refused(__builtin_return_address(0)) ? NULL : __libc_memalign(alignment, size);
}

PUBLIC int posix_memalign(void **memory, size_t alignment, size_t size)
{
    if (is_refused(__builtin_return_address(0))) {
        return ENOMEM;
    }
    *memory = __libc_memalign(alignment, size);
    return *memory == NULL ? ENOMEM : 0;
}

/* --- files ---------------------------------------------------------------------------------------
 */

#define CALLER __builtin_return_address(0)

static int open_one(int folder, const char *path, int flags, mode_t mode, const void *caller)
{
    bool is_writing = (flags & O_ACCMODE) != O_RDONLY;
    if (plan.is_named && (flags & O_TMPFILE) == O_TMPFILE) {
        errno = EOPNOTSUPP;
        return -1;
    }
    if (judge(is_writing ? CREATE : OPEN, caller) == FAIL) {
        return -1;
    }
    return (int)syscall(SYS_openat, folder, path, flags, mode);
}

#define GET_MODE(flags)                                                                            \
    mode_t mode = 0;                                                                               \
    if (((flags) & (O_CREAT | O_TMPFILE)) != 0) {                                                  \
        va_list more;                                                                              \
        va_start(more, flags);                                                                     \
        mode = va_arg(more, mode_t);                                                               \
        va_end(more);                                                                              \
    }

PUBLIC int open(const char *path, int flags, ...)
{
    GET_MODE(flags)
    return open_one(AT_FDCWD, path, flags, mode, CALLER);
}

PUBLIC int open64(const char *path, int flags, ...)
{
    GET_MODE(flags)
    return open_one(AT_FDCWD, path, flags, mode, CALLER);
}

PUBLIC int openat(int folder, const char *path, int flags, ...)
{
    GET_MODE(flags)
    return open_one(folder, path, flags, mode, CALLER);
}

PUBLIC int __open_2(const char *path, int flags);
PUBLIC int __open_2(const char *path, int flags)
{
    return open_one(AT_FDCWD, path, flags, 0, CALLER);
}

PUBLIC int __open64_2(const char *path, int flags);
PUBLIC int __open64_2(const char *path, int flags)
{
    return open_one(AT_FDCWD, path, flags, 0, CALLER);
}

static size_t get_half(size_t count)
{
    return count > 1 ? count / 2 : count;
}

PUBLIC ssize_t read(int file, void *bytes, size_t count)
{
    enum action action = judge(READ, CALLER);
    if (action == FAIL) {
        return -1;
    }
    return syscall(SYS_read, file, bytes, action == SHORT ? get_half(count) : count);
}

PUBLIC ssize_t __read_chk(int file, void *bytes, size_t count, size_t room);
PUBLIC ssize_t __read_chk(int file, void *bytes, size_t count, size_t room)
{
    if (count > room) {
        abort();
    }
    return read(file, bytes, count);
}

PUBLIC ssize_t pread(int file, void *bytes, size_t count, off_t place)
{
    enum action action = judge(READ, CALLER);
    if (action == FAIL) {
        return -1;
    }
    return syscall(SYS_pread64, file, bytes, action == SHORT ? get_half(count) : count, place);
}

PUBLIC ssize_t pread64(int file, void *bytes, size_t count, off_t place)
{
    return pread(file, bytes, count, place);
}

/* Standard error is left alone: what is told there is looked at. */
PUBLIC ssize_t write(int file, const void *bytes, size_t count)
{
    enum action action = file == STDERR_FILENO ? PASS : judge(WRITE, CALLER);
    if (action == FAIL) {
        return -1;
    }
    return syscall(SYS_write, file, bytes, action == SHORT ? get_half(count) : count);
}

PUBLIC ssize_t pwrite(int file, const void *bytes, size_t count, off_t place)
{
    enum action action = judge(WRITE, CALLER);
    if (action == FAIL) {
        return -1;
    }
    return syscall(SYS_pwrite64, file, bytes, action == SHORT ? get_half(count) : count, place);
}

PUBLIC ssize_t pwrite64(int file, const void *bytes, size_t count, off_t place)
{
    return pwrite(file, bytes, count, place);
}

PUBLIC int fsync(int file)
{
    return judge(SYNC, CALLER) == FAIL ? -1 : (int)syscall(SYS_fsync, file);
}

PUBLIC int fdatasync(int file)
{
    return judge(SYNC, CALLER) == FAIL ? -1 : (int)syscall(SYS_fdatasync, file);
}

PUBLIC int ftruncate(int file, off_t length)
{
    return judge(CUT, CALLER) == FAIL ? -1 : (int)syscall(SYS_ftruncate, file, length);
}

PUBLIC int ftruncate64(int file, off_t length)
{
    return judge(CUT, CALLER) == FAIL ? -1 : (int)syscall(SYS_ftruncate, file, length);
}

/* The kernel closes the file even when it tells of a failure. Of files that are only read nobody
 * wants to know. */
PUBLIC int close(int file)
{
    long flags = syscall(SYS_fcntl, file, F_GETFL);
    bool is_written = flags >= 0 && (flags & O_ACCMODE) != O_RDONLY;
    bool is_failing = is_written && judge(CLOSE, CALLER) == FAIL;
    int reason = errno;
    int result = (int)syscall(SYS_close, file);
    if (is_failing) {
        errno = reason;
        return -1;
    }
    return result;
}

PUBLIC int rename(const char *from, const char *to)
{
    return judge(RENAME, CALLER) == FAIL
               ? -1
               : (int)syscall(SYS_renameat2, AT_FDCWD, from, AT_FDCWD, to, 0);
}

PUBLIC int linkat(int from_folder, const char *from, int to_folder, const char *to, int flags)
{
    return judge(LINK, CALLER) == FAIL
               ? -1
               : (int)syscall(SYS_linkat, from_folder, from, to_folder, to, flags);
}

PUBLIC int mkdir(const char *path, mode_t mode)
{
    return judge(FOLDER, CALLER) == FAIL ? -1 : (int)syscall(SYS_mkdirat, AT_FDCWD, path, mode);
}

/* --- processes -----------------------------------------------------------------------------------
 */

typedef int create_thread(pthread_t *, const pthread_attr_t *, void *(*)(void *), void *);
typedef pid_t create_process(void);

/* ISO C knows no way from an object's address to a function's: the bytes are copied. */
static void find_next(const char *name, void *function)
{
    void *found = dlsym(RTLD_NEXT, name);
    if (found == NULL) {
        abort();
    }
    memcpy(function, &found, sizeof found);
}

PUBLIC int pthread_create(
    pthread_t *thread, const pthread_attr_t *about, void *(*run)(void *), void *argument)
{
    create_thread *next;
    find_next("pthread_create", &next);
    return judge(THREAD, CALLER) == FAIL ? errno : next(thread, about, run, argument);
}

PUBLIC pid_t fork(void)
{
    create_process *next;
    find_next("fork", &next);
    if (judge(FORK, CALLER) == FAIL) {
        return -1;
    }
    pid_t child = next();
    is_child = is_child || child == 0;
    return child;
}

PUBLIC int pipe(int ends[2])
{
    return judge(PIPE, CALLER) == FAIL ? -1 : (int)syscall(SYS_pipe2, ends, 0);
}
