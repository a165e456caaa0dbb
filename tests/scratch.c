// SPDX-License-Identifier: GPL-3.0-or-later
#include "scratch.h"

#include <dirent.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "suites.h"

static char folder[] = "/tmp/lodecard-test-XXXXXX";

void scratch_enter(void)
{
    ck_assert_ptr_nonnull(mkdtemp(folder));
    ck_assert_int_eq(chdir(folder), 0);
}

static int remove_entry(const char *path, const struct stat *about, int kind, struct FTW *place)
{
    (void)about;
    (void)kind;
    (void)place;
    return remove(path);
}

void scratch_leave(void)
{
    ck_assert_int_eq(chdir("/"), 0);
    ck_assert_int_eq(nftw(folder, remove_entry, 8, FTW_DEPTH | FTW_PHYS), 0);
}

void scratch_write(const char *name, const char *bytes, size_t count)
{
    FILE *file = fopen(name, "wb");
    ck_assert_ptr_nonnull(file);
    ck_assert_uint_eq(fwrite(bytes, 1, count, file), count);
    ck_assert_int_eq(fclose(file), 0);
}

int scratch_holds(const char *name, const char *bytes)
{
    char found[256] = {0};
    FILE *file = fopen(name, "rb");
    if (file == NULL) {
        return 0;
    }
    size_t count = fread(found, 1, sizeof found, file);
    fclose(file);
    return count == strlen(bytes) && memcmp(found, bytes, count) == 0;
}

size_t scratch_count(void)
{
    size_t count = 0;
    DIR *here = opendir(".");
    ck_assert_ptr_nonnull(here);
    while (readdir(here) != NULL) {
        count++;
    }
    closedir(here);
    return count - 2; /* "." and ".." */
}
