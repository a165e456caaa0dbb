// SPDX-License-Identifier: GPL-3.0-or-later
/* A ledger's folder of text files, all of them in one: a line "== specimen.jsonl" begins each. */
#include "ledger/folder.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "fuzz.h"

#define NAMES 17
static const char *const names[NAMES] = {"ledger.json", "journal.jsonl", "change_set.jsonl",
    "supplier.jsonl", "alloy.jsonl", "heat.jsonl", "specimen.jsonl", "specimen_version.jsonl",
    "rig.jsonl", "rig_version.jsonl", "capture.jsonl", "capture_bytes.jsonl", "loop.jsonl",
    "loop_points.jsonl", "verdict.jsonl", "remark.jsonl", "tag.jsonl"};

static char folder[64], ledger_path[80];
static struct ledger *ledger;

static const char *write_path(const char *name)
{
    static char path[160];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    return path;
}

static void write_file(const char *name, const uint8_t *bytes, size_t size)
{
    int file = open(write_path(name), O_WRONLY | O_CREAT | O_TRUNC, 0600);
    fuzz_need(file >= 0 && write(file, bytes, size) == (ssize_t)size, "a file can be written");
    close(file);
}

static void remove_all(void)
{
    ledger_close(ledger);
    ledger = NULL;
    for (size_t i = 0; i < NAMES; i++) {
        unlink(write_path(names[i]));
    }
    unlink(ledger_path);
    rmdir(folder);
}

static void open_new(void)
{
    const struct ledger_change change = {.command = "import"};
    struct error err = {0};
    unlink(ledger_path);
    enum status status = ledger_open(ledger_path, LEDGER_CREATE, &change, &ledger, &err);
    fuzz_need(status == STATUS_OK, err.message);
}

static void begin(void)
{
    snprintf(folder, sizeof folder, "/dev/shm/fuzz-import-XXXXXX");
    fuzz_need(mkdtemp(folder) != NULL, "there is a folder");
    snprintf(ledger_path, sizeof ledger_path, "%s/l", folder);
    atexit(remove_all);
    open_new();
}

/* The file that a line "== NAME" begins, or NAMES. */
static size_t find_name(const uint8_t *line, size_t length)
{
    size_t i = 0;
    while (i < NAMES && (length != strlen(names[i]) + 3 || memcmp(line, "== ", 3) != 0 ||
                            memcmp(line + 3, names[i], length - 3) != 0)) {
        i++;
    }
    return i;
}

static void write_files(const uint8_t *data, size_t size)
{
    const uint8_t *from[NAMES] = {NULL}, *end = data + size;
    size_t counts[NAMES] = {0}, now = NAMES;
    for (const uint8_t *at = data, *next; at < end; at = next) {
        const size_t length = fuzz_split(at, (size_t)(end - at), '\n', &next);
        const size_t found = find_name(at, length);
        if (found < NAMES) {
            now = found;
            from[now] = next;
            counts[now] = 0;
        } else if (now < NAMES) {
            counts[now] += (size_t)(next - at);
        }
    }
    for (size_t i = 0; i < NAMES; i++) {
        if (from[i] != NULL) {
            write_file(names[i], from[i], counts[i]);
        } else {
            unlink(write_path(names[i]));
        }
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct error err = {0};
    size_t count = 0;
    if (ledger == NULL) {
        begin();
    }
    write_files(data, size);
    enum status status = ledger_import_folder(ledger, folder, &count, &err);
    if (status == STATUS_IO && strncmp(err.message, "cannot read", 11) == 0) {
        return 0; /* a file that the bytes do not have */
    }
    if (fuzz_judge(status, &err)) {
        ledger_close(ledger);
        open_new();
    }
    return 0;
}
