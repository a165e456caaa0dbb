// SPDX-License-Identifier: GPL-3.0-or-later
#include "card/check.h"

#include <string.h>

#include "base/memory.h"
#include "cli/card.h"
#include "cli/output.h"

/* The card's own folder, where captures often lie; free with memory_destroy. */
static char *get_folder(const char *path)
{
    struct text folder = {0};
    const size_t length = (size_t)(text_base_name(path) - path);
    text_add_bytes(&folder, path, length);
    text_add(&folder, length ? "." : "./.");
    return folder.bytes;
}

static size_t add_findings(struct text *out, const struct card_findings *findings)
{
    static const char *const words[] = {
        [CARD_PASSED] = "ok     ", [CARD_FAILED] = "FAILED ", [CARD_SKIPPED] = "-      "};
    size_t failed = 0;
    for (size_t i = 0; i < findings->count; i++) {
        const struct card_finding *finding = &findings->list[i];
        text_add_format(
            out, "%s%s: %s\n", words[finding->outcome], finding->rule, finding->message);
        failed += finding->outcome == CARD_FAILED;
    }
    return failed;
}

static int run_check(const struct card_command *options, int count, char **words, struct error *err)
{
    struct card card;
    struct card_findings findings = {0};
    struct text out = {0};
    size_t failed = 0;
    if (count != 1)
        return (int)fail(err, STATUS_USAGE, "'lodecard card check card.json'",
            "'card check' needs one card, and there are %d", count);
    enum status status = card_read(words[0], &card, err);
    if (status)
        return (int)status;
    char *own = get_folder(words[0]);
    const char *folders[OPTION_TEXTS_MOST + 1] = {own};
    for (size_t i = 0; i < options->captures.count; i++)
        folders[i + 1] = options->captures.list[i];
    status = own ? card_check(&card, folders, options->captures.count + 1, &findings, err)
                 : fail_memory(err);
    if (!status)
        failed = add_findings(&out, &findings);
    if (!status)
        status = output_print(&out, err);
    if (!status && failed)
        status = fail(err, STATUS_INPUT,
            "make the card anew from its captures, or look at what they were measured with",
            "'%s' fails %zu of %zu checks", words[0], failed, findings.count);
    memory_destroy(own);
    memory_destroy(findings.list);
    text_clear(&out);
    card_clear(&card);
    return (int)status;
}

static const char *const own_options[] = {"captures", NULL};
const struct card_verb card_check_verb = {
    .name = "check", .options = own_options, .run = run_check};
