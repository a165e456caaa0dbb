// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/drawing.h"

#include <dlfcn.h>
#include <pthread.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

/* The one that needs all the others. */
#define LIBRARY "libpangocairo-1.0.so.0"

struct drawing drawing;

static pthread_once_t once = PTHREAD_ONCE_INIT;
static bool is_loaded;
static char reason[160];

static void load(void)
{
    static const struct {
        const char *name;
        void *pointer; /* in `drawing` */
    } functions[] = {
#define ENTRY(function) {#function, &drawing.at_##function},
        DRAWING_FUNCTIONS(ENTRY)
#undef ENTRY
    };
    void *library = dlopen(LIBRARY, RTLD_NOW | RTLD_LOCAL);
    is_loaded = library != NULL;
    for (size_t i = 0; is_loaded && i < sizeof functions / sizeof *functions; i++) {
        void *found = dlsym(library, functions[i].name);
        /* ISO C has no conversion from an object's to a function's address, POSIX demands it */
        memcpy(functions[i].pointer, &found, sizeof found);
        is_loaded = found != NULL;
    }
    if (!is_loaded) {
        const char *words = dlerror();
        snprintf(reason, sizeof reason, "%s", words != NULL ? words : LIBRARY);
    }
}

enum status drawing_load(struct error *err)
{
    pthread_once(&once, load);
    return is_loaded
               ? STATUS_OK
               : fail(err, STATUS_IO, "install pango with cairo (Debian: libpangocairo-1.0-0)",
                     "cannot load what draws pictures: %s", reason);
}
