// SPDX-License-Identifier: GPL-3.0-or-later
/* What an earlier run noted as done. A record whose digest or key begins with '?' gets the right
 * one, for no mutation finds these. */
#include "cli/loop_manifest.h"

#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "fuzz.h"

#define HEX ((size_t)(DIGEST_TEXT_SIZE - 1))
#define SUM_AT strlen("{\"check\": \"")
#define CHECKED_AT (SUM_AT + HEX + strlen("\", "))
#define KEY_AT (CHECKED_AT + strlen("\"key\": \""))

static const struct loop_origin origin = {.capture = "a.wav",
    .sha256 = "00",
    .rig_sha256 = "11",
    .specimen_sha256 = "22",
    .options = "{}"};

/* As it is written for `origin`. */
static const char *get_key(void)
{
    static char key[DIGEST_TEXT_SIZE];
    if (key[0] == '\0') {
        char words[] = "{\"capture\": {\"file\": \"a.wav\"}}", *bytes = NULL;
        const struct text result = {.bytes = words, .length = strlen(words)};
        const char *path = fuzz_set_file((const uint8_t *)"", 0);
        struct loop_manifest *manifest = NULL;
        struct error err = {0};
        size_t length = 0;
        enum status status = loop_manifest_open(path, NULL, 0, &manifest, &err);
        fuzz_need(status == STATUS_OK, err.message);
        status = loop_manifest_add(manifest, &origin, STATUS_OK, &result, &err);
        fuzz_need(status == STATUS_OK, err.message);
        loop_manifest_close(manifest);
        status = file_read(path, 1 << 20, &bytes, &length, &err);
        fuzz_need(status == STATUS_OK, err.message);
        const char *line = strchr(bytes, '\n') + 1;
        fuzz_need(strlen(line) > KEY_AT + HEX, "there is a record");
        memcpy(key, line + KEY_AT, HEX);
        memory_destroy(bytes);
    }
    return key;
}

static void set_right(uint8_t *line, size_t length)
{
    char sum[DIGEST_TEXT_SIZE];
    if (length <= KEY_AT + HEX) {
        return;
    }
    if (line[KEY_AT] == '?') {
        memcpy(line + KEY_AT, get_key(), HEX);
    }
    if (line[SUM_AT] == '?') {
        digest_bytes((const char *)line + CHECKED_AT, length - CHECKED_AT, sum);
        memcpy(line + SUM_AT, sum, HEX);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    (void)get_key();
    uint8_t *bytes = malloc(size + 1);
    fuzz_need(bytes != NULL, "there is memory");
    if (size > 0) {
        memcpy(bytes, data, size);
    }
    const uint8_t *next;
    for (size_t at = 0; at < size; at = (size_t)(next - bytes)) {
        set_right(bytes + at, fuzz_split(bytes + at, size - at, '\n', &next));
    }
    const char *path = fuzz_set_file(bytes, size);
    struct loop_manifest *manifest = NULL;
    struct text result = {0};
    struct error err = {0};
    bool is_found = false;
    if (fuzz_judge(loop_manifest_open(NULL, &path, 1, &manifest, &err), &err) &&
        fuzz_judge(loop_manifest_find(manifest, &origin, &result, &is_found, &err), &err)) {
        fuzz_need(!is_found || !loop_manifest_is_empty(manifest), "what is found is there");
        fuzz_need(!is_found || (result.length > 0 && result.length < size + 100),
            "a result is a part of the file");
    }
    text_clear(&result);
    loop_manifest_close(manifest);
    free(bytes);
    return 0;
}
