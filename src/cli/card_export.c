// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/card.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/text.h"
#include "base/tree.h"
#include "card/card.h"
#include "card/exporter.h"
#include "card/script.h"
#include "cli/output.h"

static const char *get_folder(const struct card_command *options)
{
    const char *folder = options->exporters ? options->exporters : getenv("LODECARD_EXPORTERS");
    return folder && folder[0] ? folder : NULL;
}

static enum status print_list(const struct card_command *options, struct error *err)
{
    struct exporter_set set = {0};
    enum status status = exporter_set_read(get_folder(options), &set, err);
    int width = 0;
    for (size_t i = 0; i < set.count; i++)
        width = (int)strlen(set.list[i].name) > width ? (int)strlen(set.list[i].name) : width;
    for (size_t i = 0; i < set.count; i++)
        printf("%-*s  %s%s\n", width, set.list[i].name, set.list[i].purpose,
            set.list[i].is_own ? " (yours)" : "");
    exporter_set_clear(&set);
    return status;
}

/* --- --set KEY=VALUE ---------------------------------------------------------------------------
 */

struct settings {
    char *words[OPTION_TEXTS_MOST]; /* owned; cut at the '=' */
    struct script_option list[OPTION_TEXTS_MOST];
    size_t count;
};

static void clear_settings(struct settings *settings)
{
    for (size_t i = 0; i < settings->count; i++)
        memory_destroy(settings->words[i]);
    settings->count = 0;
}

static enum status read_setting(struct settings *settings, const char *word, struct error *err)
{
    size_t length = strcspn(word, "=");
    if (length == 0 || !word[length])
        return fail(
            err, STATUS_USAGE, "such as --set units=cgs", "'--set %.80s' is no KEY=VALUE", word);
    for (size_t i = 0; i < settings->count; i++)
        if (strlen(settings->list[i].key) == length &&
            !strncmp(settings->list[i].key, word, length))
            return fail(err, STATUS_USAGE, "give it once", "'--set %.*s=' is given twice",
                (int)length, word);
    char *copy = memory_copy_text(word);
    if (!copy)
        return fail_memory(err);
    copy[length] = '\0';
    settings->words[settings->count] = copy;
    settings->list[settings->count++] =
        (struct script_option){.key = copy, .value = copy + length + 1};
    return STATUS_OK;
}

static enum status read_settings(
    struct settings *settings, const struct option_texts *words, struct error *err)
{
    enum status status = STATUS_OK;
    for (size_t i = 0; !status && i < words->count; i++)
        status = read_setting(settings, words->list[i], err);
    return status;
}

/* --- the export --------------------------------------------------------------------------------
 */

/* Kinds, lengths and order of what exporters rely on. */
static enum status check_card(const char *path, const char *bytes, size_t length, struct error *err)
{
    struct card card = {0};
    enum status status = card_read_bytes(path, bytes, length, &card, err);
    card_clear(&card);
    return status;
}

static enum status run_exporter(const struct card_command *options, const struct exporter *exporter,
    const char *path, const char *bytes, size_t length, struct error *err)
{
    struct tree *tree = NULL;
    struct settings settings = {0};
    struct text text = {0};
    char sha256[DIGEST_TEXT_SIZE];
    struct digest *digest = digest_create();
    if (!digest)
        return fail_memory(err);
    digest_add(digest, bytes, length);
    digest_get(digest, sha256);
    digest_destroy(digest);
    enum status status = tree_read_bytes(path, bytes, length, &tree, err);
    if (!status)
        status = check_card(path, bytes, length, err);
    if (!status)
        status = read_settings(&settings, &options->settings, err);
    struct script script = {
        .name = exporter->file, .bytes = exporter->bytes, .length = exporter->length};
    struct script_input input = {.card = tree,
        .file = text_base_name(path),
        .sha256 = sha256,
        .options = settings.list,
        .option_count = settings.count};
    if (!status)
        status = script_run(&script, &input, &text, err);
    if (!status)
        status = output_write(options->output, &text, err);
    text_clear(&text);
    clear_settings(&settings);
    tree_destroy(tree);
    return status;
}

static enum status check(
    const struct card_command *options, int count, char **words, struct error *err)
{
    if (count != 1)
        return fail(err, STATUS_USAGE, "'lodecard card make' makes one",
            "'card export' needs one card, and there are %d", count);
    if (!options->to)
        return fail(err, STATUS_USAGE, "'lodecard card export --list' lists them",
            "'card export' needs to know what for: --to NAME");
    if (!options->output)
        return fail(err, STATUS_USAGE, "add -o FILE, or -o - for standard output",
            "'card export' needs a file to write");
    return output_check(&options->output, 1, words, 1, err);
}

static int run_export(
    const struct card_command *options, int count, char **words, struct error *err)
{
    if (options->is_list && count == 0 && !options->to && !options->output)
        return (int)print_list(options, err);
    if (options->is_list)
        return (int)fail(err, STATUS_USAGE, "'lodecard card export --list'",
            "--list takes no card, no --to and no file to write");
    struct exporter exporter = {0};
    char *bytes = NULL;
    size_t length = 0;
    enum status status = check(options, count, words, err);
    if (!status)
        status = exporter_find(options->to, get_folder(options), &exporter, err);
    if (!status)
        status = file_read(words[0], CARD_BYTES_MOST, &bytes, &length, err);
    if (!status)
        status = run_exporter(options, &exporter, words[0], bytes, length, err);
    memory_destroy(bytes);
    exporter_clear(&exporter);
    return (int)status;
}

static const char *const own[] = {"output", "to", "list", "set", "exporters", NULL};
const struct card_verb card_export = {.name = "export", .options = own, .run = run_export};
