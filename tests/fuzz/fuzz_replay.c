// SPDX-License-Identifier: GPL-3.0-or-later
/* Replays the files of seeds/READER/ through their targets, with any compiler:
 *
 *     replay FOLDER        all targets; ends in "N passed, N failed"
 *     replay READER FILE   one file, in this process: for a debugger
 *
 * Each file has a process of its own, so that a crash or a leak is pinned on it. */
#include <dirent.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/file.h"
#include "base/memory.h"

#define SIZE_MOST ((size_t)1 << 24)
#define SECONDS 60

/* make compiles each target under the name of its file. */
typedef int run_target(const uint8_t *data, size_t size);
#define TARGETS(X)                                                                                 \
    X(audio)                                                                                       \
    X(card)                                                                                        \
    X(edit)                                                                                        \
    X(exporter)                                                                                    \
    X(header)                                                                                      \
    X(initial_curve)                                                                               \
    X(json)                                                                                        \
    X(ledger_import)                                                                               \
    X(ledger_record)                                                                               \
    X(limits)                                                                                      \
    X(list)                                                                                        \
    X(loop_json)                                                                                   \
    X(manifest)                                                                                    \
    X(quantity)                                                                                    \
    X(report)                                                                                      \
    X(rig)                                                                                         \
    X(ring)                                                                                        \
    X(series_table)                                                                                \
    X(specimen)                                                                                    \
    X(table)                                                                                       \
    X(where)

#define DECLARE(name) run_target fuzz_##name;
TARGETS(DECLARE)

static const struct target {
    const char *name;
    run_target *run;
} targets[] = {
#define LIST(name) {#name, fuzz_##name},
    TARGETS(LIST){NULL, NULL},
};

static int run_file(run_target *run, const char *path)
{
    char *bytes = NULL;
    size_t length = 0;
    struct error err = {0};
    if (file_read(path, SIZE_MOST, &bytes, &length, &err) != STATUS_OK) {
        fprintf(stderr, "%s\n", err.message);
        return 1;
    }
    /* Without the zero byte behind them, so that reading beyond the end is noticed. */
    uint8_t *exact = malloc(length > 0 ? length : 1);
    if (exact == NULL) {
        return 1;
    }
    memcpy(exact, bytes, length);
    memory_destroy(bytes);
    run(exact, length);
    free(exact);
    return 0;
}

static bool replay(run_target *run, const char *path)
{
    int end = 0;
    fflush(NULL);
    pid_t child = fork();
    if (child == 0) {
        alarm(SECONDS);
        exit(run_file(run, path));
    }
    bool is_right = child > 0 && waitpid(child, &end, 0) == child && end == 0;
    if (!is_right) {
        printf("FAILED  %s (status %d)\n", path, end);
    }
    return is_right;
}

static int is_file(const struct dirent *entry)
{
    return entry->d_name[0] != '.';
}

static void replay_folder(const char *folder, const struct target *target, int counts[2])
{
    char path[600];
    struct dirent **list;
    snprintf(path, sizeof path, "%s/%s", folder, target->name);
    int count = scandir(path, &list, is_file, alphasort);
    if (count < 1) {
        printf("FAILED  %s has no seeds\n", path);
        counts[1]++;
    }
    for (int i = 0; i < count; i++) {
        snprintf(path, sizeof path, "%s/%s/%s", folder, target->name, list[i]->d_name);
        counts[replay(target->run, path) ? 0 : 1]++;
        free(list[i]);
    }
    if (count >= 0) {
        free(list);
    }
}

int main(int count, char **words)
{
    int counts[2] = {0};
    if (count < 2 || count > 3) {
        return 1;
    }
    for (const struct target *target = targets; target->name != NULL; target++) {
        if (count == 3 && strcmp(target->name, words[1]) == 0) {
            return run_file(target->run, words[2]);
        }
        if (count == 2) {
            replay_folder(words[1], target, counts);
        }
    }
    printf("%d passed, %d failed\n", counts[0], counts[1]);
    return counts[0] == 0 || counts[1] > 0;
}
