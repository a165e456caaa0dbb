// SPDX-License-Identifier: GPL-3.0-or-later
/* Which blocks of instructions were run, in all processes of a test: what gcc calls at the head of
 * each block with -fsanitize-coverage=trace-pc. A byte for each address of the program stands in
 * the file $LODECARD_REACH, which all of them share (tests/tools/reach.py). */
#include <fcntl.h>
#include <stdint.h>
#include <stdlib.h>
#include <sys/mman.h>
#include <unistd.h>

extern const char __executable_start[], etext[];
void __sanitizer_cov_trace_pc(void);

static unsigned char *seen;

__attribute__((constructor)) static void begin(void)
{
    const char *path = getenv("LODECARD_REACH");
    size_t length = (size_t)(etext - __executable_start);
    int file = path ? open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0666) : -1;
    if (file < 0) {
        return;
    }
    if (ftruncate(file, (off_t)length) == 0) {
        void *map = mmap(NULL, length, PROT_READ | PROT_WRITE, MAP_SHARED, file, 0);
        seen = map == MAP_FAILED ? NULL : map;
    }
    close(file);
}

void __sanitizer_cov_trace_pc(void)
{
    if (seen) {
        seen[(uintptr_t)__builtin_return_address(0) - (uintptr_t)__executable_start] = 1;
    }
}
