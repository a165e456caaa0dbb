// SPDX-License-Identifier: GPL-3.0-or-later
/* cairo 1.16 writes a plain cross-reference table, one catalog, and a structure element for each
 * tag; it has no way to set a language, alternative texts or an attachment. They are added behind
 * its last byte, as ISO 32000-1, 7.5.6, lets anybody do. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "paper/document_part.h"

/* What is known of the file, and what is added. */
struct update {
    const char *pdf; /* as it was */
    size_t length;
    long root, info, size, xref; /* object numbers, count of objects, offset of the table */
    struct text out;             /* the new objects */
    struct {
        long number;
        size_t offset;
    } * made;
    size_t count;
};

static const char *find_last(const char *bytes, size_t length, const char *words)
{
    const size_t wanted = strlen(words);
    for (size_t i = length >= wanted ? length - wanted + 1 : 0; i-- > 0;) {
        if (memcmp(bytes + i, words, wanted) == 0) {
            return bytes + i;
        }
    }
    return NULL;
}

static long read_number_behind(const char *from, const char *words)
{
    const char *at = from == NULL ? NULL : strstr(from, words);
    return at == NULL ? -1 : strtol(at + strlen(words), NULL, 10);
}

static bool read_trailer(struct update *update)
{
    const char *trailer = find_last(update->pdf, update->length, "trailer");
    update->root = read_number_behind(trailer, "/Root ");
    update->info = read_number_behind(trailer, "/Info ");
    update->size = read_number_behind(trailer, "/Size ");
    update->xref = read_number_behind(trailer, "startxref");
    return update->root > 0 && update->info > 0 && update->size > 0 && update->xref > 0;
}

/* The dictionary of an object, from behind its "<<" to ahead of the last ">>". */
static bool find_dictionary(
    const struct update *update, long number, const char **begin, const char **end)
{
    char head[40];
    snprintf(head, sizeof head, "\n%ld 0 obj\n<<", number);
    const char *at = memmem(update->pdf, update->length, head, strlen(head));
    const char *close = at == NULL ? NULL : strstr(at, "\n>>\nendobj");
    if (close == NULL) {
        return false;
    }
    *begin = at + strlen(head);
    *end = close;
    return true;
}

static void begin_object(struct update *update, long number)
{
    update->made[update->count].number = number;
    update->made[update->count++].offset = update->length + update->out.length;
    text_add_format(&update->out, "%ld 0 obj\n", number);
}

/* Text as UTF-16, big end first, with its mark: 7.9.2.2. */
static void add_text(struct text *out, const char *words)
{
    text_add(out, "<FEFF");
    for (size_t left = strlen(words), size; left > 0; left -= size, words += size) {
        uint32_t code = 0xFFFD;
        size = text_read_character(words, left, &code);
        size = size > 0 ? size : 1;
        if (code < 0x10000) {
            text_add_format(out, "%04" PRIX32, code);
        } else {
            text_add_format(out, "%04" PRIX32 "%04" PRIX32, 0xD800 + ((code - 0x10000) >> 10),
                0xDC00 + ((code - 0x10000) & 0x3FF));
        }
    }
    text_add(out, ">");
}

/* Alternative texts: the objects of figures are rewritten in their order. */
static void add_alternatives(struct update *update, const struct pdf_update *wanted)
{
    const char *const kind = "<< /Type /StructElem\n   /S /Figure";
    const char *at = update->pdf, *const end = update->pdf + update->length;
    for (size_t i = 0; i < wanted->count; i++) {
        at = memmem(at, (size_t)(end - at), kind, strlen(kind));
        if (at == NULL) {
            return;
        }
        const char *line = at - 1; /* "N 0 obj\n" stands ahead */
        while (line > update->pdf && line[-1] != '\n') {
            line--;
        }
        const long number = strtol(line, NULL, 10);
        const char *close = strstr(at, "\n>>\nendobj");
        if (close == NULL) {
            return;
        }
        begin_object(update, number);
        text_add_bytes(&update->out, at, (size_t)(close - at));
        text_add(&update->out, "\n   /Alt ");
        add_text(&update->out, wanted->alternatives[i]);
        text_add(&update->out, "\n>>\nendobj\n");
        at = close;
    }
}

/* The data as an embedded file, 7.11.4; not compressed, so that it can be found without a PDF
 * reader. */
static long add_data(struct update *update, const char *data)
{
    const long stream = update->size++, file = update->size++;
    begin_object(update, stream);
    text_add_format(&update->out,
        "<< /Type /EmbeddedFile\n   /Subtype /application#2Fjson\n   /Length %zu\n>>\nstream\n",
        strlen(data));
    text_add(&update->out, data);
    text_add(&update->out, "\nendstream\nendobj\n");
    begin_object(update, file);
    text_add_format(&update->out,
        "<< /Type /Filespec\n   /F (" DOCUMENT_DATA_NAME ")\n   /UF (" DOCUMENT_DATA_NAME
        ")\n   /EF << /F %ld 0 R >>\n   /AFRelationship /Data\n>>\nendobj\n",
        stream);
    return file;
}

static bool add_catalog(struct update *update, const char *language, long file)
{
    const char *begin, *end;
    if (!find_dictionary(update, update->root, &begin, &end)) {
        return false;
    }
    begin_object(update, update->root);
    text_add(&update->out, "<<");
    text_add_bytes(&update->out, begin, (size_t)(end - begin));
    text_add_format(&update->out,
        "\n   /Lang (%s)\n   /ViewerPreferences << /DisplayDocTitle true >>\n   /MarkInfo << "
        "/Marked true >>",
        language);
    if (file > 0) {
        text_add_format(&update->out,
            "\n   /Names << /EmbeddedFiles << /Names [ (" DOCUMENT_DATA_NAME ") %ld 0 R ] >> >>",
            file);
    }
    text_add(&update->out, "\n>>\nendobj\n");
    return true;
}

static void add_table(struct update *update)
{
    const size_t offset = update->length + update->out.length;
    text_add(&update->out, "xref\n");
    for (size_t i = 0; i < update->count; i++) {
        text_add_format(&update->out, "%ld 1\n%010zu 00000 n \n", update->made[i].number,
            update->made[i].offset);
    }
    text_add_format(&update->out,
        "trailer\n<< /Size %ld\n   /Root %ld 0 R\n   /Info %ld 0 R\n   /Prev %ld\n>>\nstartxref\n"
        "%zu\n%%%%EOF\n",
        update->size, update->root, update->info, update->xref, offset);
}

static int compare(const void *a, const void *b)
{
    const long *left = a, *right = b; /* the number is the first member */
    return (*left > *right) - (*left < *right);
}

enum status pdf_update_add(struct text *pdf, const struct pdf_update *wanted, struct error *err)
{
    struct update update = {.pdf = pdf->bytes, .length = pdf->length};
    update.made = memory_create(wanted->count + 3, sizeof *update.made);
    if (update.made == NULL) {
        return fail_memory(err);
    }
    enum status status = STATUS_OK;
    if (!read_trailer(&update)) {
        status = fail(err, STATUS_FAULT, "", "cannot find the trailer of the PDF");
    } else {
        add_alternatives(&update, wanted);
        const long file = wanted->data != NULL ? add_data(&update, wanted->data) : 0;
        if (!add_catalog(&update, wanted->language, file)) {
            status = fail(err, STATUS_FAULT, "", "cannot find the catalog of the PDF");
        }
        qsort(update.made, update.count, sizeof *update.made, compare);
        add_table(&update);
    }
    if (status == STATUS_OK) {
        text_add_bytes(pdf, update.out.bytes, update.out.length);
        status = pdf->failed || update.out.failed ? fail_memory(err) : STATUS_OK;
    }
    text_clear(&update.out);
    memory_destroy(update.made);
    return status;
}
