// SPDX-License-Identifier: GPL-3.0-or-later
#include "card/merge.h"

#include "base/memory.h"
#include "cli/card.h"
#include "cli/output.h"

static enum status read_card(
    const char *path, struct card *card, struct card_part *part, struct error *err)
{
    char *bytes = NULL;
    size_t length = 0;
    enum status status = file_read(path, CARD_BYTES_MOST, &bytes, &length, err);
    part->file = text_base_name(path);
    if (!status)
        digest_bytes(bytes, length, part->sha256);
    if (!status)
        status = card_read_bytes(path, bytes, length, card, err);
    memory_destroy(bytes);
    return status;
}

static int run_merge(const struct card_command *options, int count, char **words, struct error *err)
{
    if (count < 2)
        return (int)fail(err, STATUS_USAGE, "'lodecard card merge a.json b.json -o heat.json'",
            "'card merge' needs two cards or more, and there are %d", count);
    if (!options->output)
        return (int)fail(err, STATUS_USAGE, "add -o FILE, or -o - for standard output",
            "'card merge' needs a file to write");
    struct card *cards = memory_create((size_t)count, sizeof *cards);
    struct card_part *parts = memory_create((size_t)count, sizeof *parts);
    enum status status = cards && parts
                             ? output_check(&options->output, 1, words, (size_t)count, err)
                             : fail_memory(err);
    size_t merged = 0;
    for (int i = 0; !status && i < count; i++)
        status = read_card(words[i], &cards[i], &parts[i], err);
    if (!status)
        status = card_merge(cards, parts, (size_t)count, &merged, err);
    if (!status)
        status = card_write_output(options, &cards[merged], err);
    for (int i = 0; cards && i < count; i++)
        card_clear(&cards[i]);
    memory_destroy(cards);
    memory_destroy(parts);
    return (int)status;
}

static const char *const own_options[] = {"output", NULL};
const struct card_verb card_merge_verb = {
    .name = "merge", .options = own_options, .run = run_merge};
