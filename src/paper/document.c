// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/document.h"

#include <string.h>
#include <strings.h>

#include "base/file.h"
#include "base/memory.h"
#include "paper/document_part.h"

static char *keep(struct document *document, const char *words)
{
    char *copy = memory_copy_text(words);
    document->failed = document->failed || (words != NULL && copy == NULL);
    return copy;
}

enum status document_create(
    const struct document_options *options, struct document **document, struct error *err)
{
    struct document *made = memory_create(1, sizeof *made);
    if (made == NULL) {
        return fail_memory(err);
    }
    made->title = keep(made, options->title);
    made->subtitle = keep(made, options->subtitle);
    made->language = keep(made, options->language);
    made->page = options->page;
    if (made->failed) {
        document_destroy(made);
        return fail_memory(err);
    }
    *document = made;
    return STATUS_OK;
}

static void list_destroy(char **list, size_t count)
{
    for (size_t i = 0; list != NULL && i < count; i++) {
        memory_destroy(list[i]);
    }
    memory_destroy(list);
}

static void block_clear(struct block *block)
{
    memory_destroy(block->words);
    memory_destroy(block->more);
    memory_destroy(block->hint);
    list_destroy(block->headings, block->columns);
    list_destroy(block->cells, block->columns * block->rows);
    memory_destroy(block->is_number);
}

void document_destroy(struct document *document)
{
    if (document == NULL) {
        return;
    }
    for (size_t i = 0; i < document->count; i++) {
        block_clear(&document->blocks[i]);
    }
    for (size_t i = 0; i < document->kept_count; i++) {
        document->kept[i].destroy(document->kept[i].object);
    }
    memory_destroy(document->kept);
    memory_destroy(document->blocks);
    memory_destroy(document->title);
    memory_destroy(document->subtitle);
    memory_destroy(document->language);
    memory_destroy(document->data);
    memory_destroy(document);
}

/* A new block at the end, or NULL. */
static struct block *add(struct document *document, enum block_kind kind, const char *words,
    const char *more, const char *hint)
{
    struct block *blocks =
        memory_reserve(document->blocks, &document->capacity, document->count + 1, sizeof *blocks);
    if (blocks == NULL) {
        document->failed = true;
        return NULL;
    }
    document->blocks = blocks;
    struct block *block = &blocks[document->count++];
    *block = (struct block){.kind = kind};
    block->words = keep(document, words);
    block->more = keep(document, more);
    block->hint = keep(document, hint);
    return block;
}

static char **keep_list(struct document *document, const char *const *words, size_t count)
{
    char **list = memory_create(count + 1, sizeof *list);
    document->failed = document->failed || list == NULL;
    for (size_t i = 0; list != NULL && i < count; i++) {
        list[i] = keep(document, words[i]);
    }
    return list;
}

void document_add_heading(struct document *document, const char *words)
{
    add(document, BLOCK_HEADING, words, NULL, NULL);
}

void document_add_subheading(struct document *document, const char *words)
{
    add(document, BLOCK_SUBHEADING, words, NULL, NULL);
}

void document_add_break(struct document *document)
{
    add(document, BLOCK_BREAK, NULL, NULL, NULL);
}

void document_add_paragraph(struct document *document, const char *words)
{
    add(document, BLOCK_PARAGRAPH, words, NULL, NULL);
}

void document_add_identity(
    struct document *document, const char *const *names, const char *const *values, size_t count)
{
    struct block *block = add(document, BLOCK_IDENTITY, NULL, NULL, NULL);
    if (block == NULL) {
        return;
    }
    block->columns = 2;
    block->rows = count;
    block->cells = memory_create(2 * count + 1, sizeof *block->cells);
    document->failed = document->failed || block->cells == NULL;
    for (size_t i = 0; block->cells != NULL && i < count; i++) {
        block->cells[2 * i] = keep(document, names[i]);
        block->cells[2 * i + 1] = keep(document, values[i]);
    }
}

void document_add_table(struct document *document, const struct document_table *table)
{
    struct block *block = add(document, BLOCK_TABLE, table->caption, NULL, NULL);
    if (block == NULL) {
        return;
    }
    block->columns = table->columns;
    block->rows = table->rows;
    block->headings = keep_list(document, table->headings, table->columns);
    block->cells = keep_list(document, table->cells, table->columns * table->rows);
    block->is_number = memory_create(table->columns, sizeof *block->is_number);
    document->failed = document->failed || block->is_number == NULL;
    for (size_t i = 0; block->is_number != NULL && i < table->columns; i++) {
        block->is_number[i] = table->is_number[i];
    }
}

void document_add_chart(struct document *document, const struct chart *chart,
    const char *alternative, const char *caption)
{
    struct block *block = add(document, BLOCK_CHART, caption, alternative, NULL);
    if (block != NULL) {
        block->chart = chart;
    }
}

void document_add_verdict(
    struct document *document, enum document_tone tone, const char *word, const char *sentence)
{
    struct block *block = add(document, BLOCK_VERDICT, word, sentence, NULL);
    if (block != NULL) {
        block->tone = tone;
    }
}

void document_add_note(
    struct document *document, const char *heading, const char *message, const char *hint)
{
    add(document, BLOCK_NOTE, heading, message, hint);
}

void document_add_caution(struct document *document, const char *words)
{
    add(document, BLOCK_CAUTION, words, NULL, NULL);
}

void document_keep(struct document *document, void *object, void (*destroy)(void *object))
{
    void *kept = memory_reserve(
        document->kept, &document->kept_capacity, document->kept_count + 1, sizeof *document->kept);
    if (kept == NULL) {
        document->failed = true;
        destroy(object);
        return;
    }
    document->kept = kept;
    document->kept[document->kept_count].object = object;
    document->kept[document->kept_count++].destroy = destroy;
}

void document_add_signatures(struct document *document, const char *const *roles, size_t count)
{
    struct block *block = add(document, BLOCK_SIGNATURES, NULL, NULL, NULL);
    if (block != NULL) {
        block->columns = 1;
        block->rows = count;
        block->cells = keep_list(document, roles, count);
    }
}

void document_set_data(struct document *document, const char *json)
{
    memory_destroy(document->data);
    document->data = keep(document, json);
}

void document_set_failed(struct document *document)
{
    document->failed = true;
}

static bool has_ending(const char *path, const char *ending)
{
    const size_t length = strlen(path), wanted = strlen(ending);
    return length > wanted && strcasecmp(path + length - wanted, ending) == 0;
}

static bool is_html(const char *path)
{
    return has_ending(path, ".html") || has_ending(path, ".htm");
}

enum status document_check_path(const char *path, struct error *err)
{
    if (is_html(path) || has_ending(path, ".pdf")) {
        return STATUS_OK;
    }
    return fail(err, STATUS_USAGE, "the end of the name chooses the format: .pdf or .html",
        "cannot tell the format of the document '%s'", path);
}

enum status document_write(struct document *document, const char *path, struct error *err)
{
    struct text bytes = {0};
    enum status status = document_check_path(path, err);
    if (status == STATUS_OK && document->failed) {
        status = fail_memory(err);
    }
    if (status == STATUS_OK) {
        status = is_html(path) ? document_write_html(document, &bytes, err)
                               : document_write_pdf(document, &bytes, err);
    }
    if (status == STATUS_OK) {
        status = bytes.failed ? fail_memory(err) : file_write(path, bytes.bytes, bytes.length, err);
    }
    text_clear(&bytes);
    return status;
}

/* Behind this text the JSON begins; it ends ahead of the other. */
static const struct {
    const char *head, *begin, *end;
} data_marks[] = {
    {"%PDF-", "/Subtype /application#2Fjson", "\nendstream"},
    {"<!DOCTYPE html>", "<script type=\"application/json\" id=\"lodecard-report\">", "</script>"},
};

enum status document_find_data(const char *name, const char *bytes, size_t length,
    const char **json, size_t *json_length, struct error *err)
{
    for (size_t i = 0; i < sizeof data_marks / sizeof *data_marks; i++) {
        const size_t head = strlen(data_marks[i].head);
        if (length < head || memcmp(bytes, data_marks[i].head, head) != 0) {
            continue;
        }
        const char *begin = memmem(bytes, length, data_marks[i].begin, strlen(data_marks[i].begin));
        const char *open =
            begin == NULL ? NULL : memchr(begin, '{', length - (size_t)(begin - bytes));
        const char *end = open == NULL ? NULL
                                       : memmem(open, length - (size_t)(open - bytes),
                                             data_marks[i].end, strlen(data_marks[i].end));
        if (end != NULL) {
            *json = open;
            *json_length = (size_t)(end - open);
            return STATUS_OK;
        }
    }
    return fail(err, STATUS_INPUT, "only reports that Lodecard wrote carry their numbers",
        "no numbers of a report in '%s'", name);
}
