// SPDX-License-Identifier: GPL-3.0-or-later
#include "fuzz.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

#include "base/memory.h"
#include "base/text.h"

void fuzz_need(bool holds, const char *what)
{
    if (!holds) {
        fprintf(stderr, "does not hold: %s\n", what);
        abort();
    }
}

/* A message goes to terminals and into JSON: characters in UTF-8, no controls but new lines. */
static bool is_clean(const char *words)
{
    size_t length = strlen(words);
    for (size_t at = 0; at < length;) {
        uint32_t code = 0;
        size_t taken = text_read_character(words + at, length - at, &code);
        if (taken == 0 || (code < ' ' && code != '\n') || (code >= 0x7F && code < 0xA0)) {
            return false;
        }
        at += taken;
    }
    return true;
}

bool fuzz_judge(enum status status, const struct error *err)
{
    if (status == STATUS_OK) {
        return true;
    }
    bool is_told = status == err->status && err->message[0] != '\0';
    bool is_of_input = status == STATUS_INPUT || status == STATUS_CAPTURE || status == STATUS_USAGE;
    if (!is_told || !is_of_input || !is_clean(err->message) || !is_clean(err->hint)) {
        fprintf(stderr, "status %d, of the error %d: '%s', hint '%s'\n", (int)status,
            (int)err->status, err->message, err->hint);
        abort();
    }
    return false;
}

const char *fuzz_set_file(const uint8_t *data, size_t size)
{
    static int file = -1;
    static char path[40];
    if (file < 0) {
        file = memfd_create("fuzz", MFD_CLOEXEC);
        snprintf(path, sizeof path, "/proc/self/fd/%d", file);
    }
    fuzz_need(file >= 0 && ftruncate(file, (off_t)size) == 0 &&
                  pwrite(file, data, size, 0) == (ssize_t)size,
        "a file in memory can be written");
    return path;
}

char *fuzz_copy_text(const uint8_t *data, size_t size)
{
    char *words = memory_create(size + 1, 1);
    fuzz_need(words != NULL, "there is memory");
    memcpy(words, data, size);
    return words;
}

size_t fuzz_split(const uint8_t *data, size_t size, uint8_t mark, const uint8_t **rest)
{
    const uint8_t *found = size > 0 ? memchr(data, mark, size) : NULL;
    *rest = found != NULL ? found + 1 : data + size;
    return found != NULL ? (size_t)(found - data) : size;
}
