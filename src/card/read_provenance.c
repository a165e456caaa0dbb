// SPDX-License-Identifier: GPL-3.0-or-later
/* Where the numbers of a card that is read came from. */
#include <string.h>

#include "card/reader.h"

#define SOURCES_MOST 1000 /* each is looked for by its key */

/* 64 lower-case hexadecimal digits. */
static void read_digest(struct card_reader *reader, const struct tree_value *object, bool is_needed,
    char digest[DIGEST_TEXT_SIZE])
{
    const char *words =
        tree_get_text(card_reader_get(reader, object, "sha256", TREE_TEXT, is_needed));
    if (words == NULL) {
        return;
    }
    if (strlen(words) != DIGEST_TEXT_SIZE - 1 ||
        strspn(words, "0123456789abcdef") != DIGEST_TEXT_SIZE - 1) {
        card_reader_fail(reader, tree_get(object, "sha256"), "is no SHA-256 in hexadecimal");
        return;
    }
    memcpy(digest, words, DIGEST_TEXT_SIZE);
}

/* A name alone: what a card names must not lead out of the folder it is looked for in. */
static const char *read_file(struct card_reader *reader, const struct tree_value *object)
{
    const char *file = card_reader_get_text(reader, object, "file", true);
    if (file != NULL && strpbrk(file, "/\\") != NULL) {
        card_reader_fail(reader, tree_get(object, "file"), "must be a file's name without folders");
    }
    return file;
}

static void read_captures(struct card_reader *reader, const struct tree_value *block)
{
    struct card *card = reader->card;
    const struct tree_value *array = card_reader_get(reader, block, "captures", TREE_ARRAY, true);
    const size_t count = tree_get_count(array);
    card->captures = array == NULL ? NULL : card_create_array(card, count, sizeof *card->captures);
    for (size_t i = 0; card->captures != NULL && i < count && reader->status == STATUS_OK; i++) {
        const struct tree_value *from = tree_get_at(array, i);
        struct card_capture *capture = &card->captures[i];
        capture->file = read_file(reader, from);
        const size_t row = card_reader_get_count(reader, from, "row", false);
        capture->row = row != CARD_NONE ? row : 0;
        read_digest(reader, from, false, capture->sha256);
        capture->specimen = card_reader_get_text(reader, from, "specimen", false);
        capture->setup = card_reader_get_count(reader, from, "setup", false);
        if (capture->setup != CARD_NONE && capture->setup >= card->setup_count) {
            card_reader_fail(reader, tree_get(from, "setup"),
                "is setup %zu, and "
                "provenance.setups has %zu",
                capture->setup, card->setup_count);
        }
        capture->notes = card_reader_get_notes(reader, from, true);
        card->capture_count = i + 1;
    }
}

static void read_setups(struct card_reader *reader, const struct tree_value *block)
{
    struct card *card = reader->card;
    const struct tree_value *array = card_reader_get(reader, block, "setups", TREE_ARRAY, true);
    const size_t count = tree_get_count(array);
    card->setups = array == NULL ? NULL : card_create_array(card, count, sizeof *card->setups);
    for (size_t i = 0; card->setups != NULL && i < count && reader->status == STATUS_OK; i++) {
        card->setups[i].rig = card_reader_copy_json(
            reader, card_reader_get(reader, tree_get_at(array, i), "rig", TREE_OBJECT, false));
        card->setups[i].specimen = card_reader_copy_json(
            reader, card_reader_get(reader, tree_get_at(array, i), "specimen", TREE_OBJECT, false));
        card->setup_count = i + 1;
    }
}

static void read_sources(struct card_reader *reader, const struct tree_value *block)
{
    struct card *card = reader->card;
    const struct tree_value *object = card_reader_get(reader, block, "sources", TREE_OBJECT, true);
    const size_t count = tree_get_count(object);
    if (count > SOURCES_MOST) {
        card_reader_fail(
            reader, object, "has %zu members; at most %d are read", count, SOURCES_MOST);
    }
    card->sources = object == NULL || reader->status != STATUS_OK
                        ? NULL
                        : card_create_array(card, count, sizeof *card->sources);
    for (size_t i = 0; card->sources != NULL && i < count && reader->status == STATUS_OK; i++) {
        const char *key = tree_get_key_at(object, i);
        card->sources[i].block = card_copy_text(card, key);
        const struct tree_value *array = tree_get_at(object, i);
        if (tree_get_kind(array) != TREE_ARRAY) {
            card_reader_fail(reader, array, "must be a list of captures' numbers");
            return;
        }
        card->sources[i].captures = card_reader_get_indices(reader, object, key, true);
        card->source_count = i + 1;
    }
}

static void read_parts(struct card_reader *reader, const struct tree_value *block)
{
    struct card *card = reader->card;
    const struct tree_value *array = card_reader_get(reader, block, "cards", TREE_ARRAY, false);
    const size_t count = tree_get_count(array);
    card->parts = array == NULL ? NULL : card_create_array(card, count, sizeof *card->parts);
    for (size_t i = 0; card->parts != NULL && i < count && reader->status == STATUS_OK; i++) {
        const struct tree_value *from = tree_get_at(array, i);
        struct card_part *part = &card->parts[i];
        part->file = read_file(reader, from);
        read_digest(reader, from, true, part->sha256);
        part->specimens =
            card_reader_get_texts(reader, from, "specimens", false, &part->specimen_count);
        card->part_count = i + 1;
    }
}

void card_reader_read_provenance(struct card_reader *reader, const struct tree_value *root)
{
    const struct tree_value *block = card_reader_get(reader, root, "provenance", TREE_OBJECT, true);
    if (block == NULL) {
        return;
    }
    read_setups(reader, block);
    read_captures(reader, block);
    read_sources(reader, block);
    read_parts(reader, block);
}
