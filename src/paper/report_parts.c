// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/report_parts.h"

#include <string.h>

#include "base/memory.h"
#include "base/version.h"
#include "paper/markup.h"

enum status report_begin(const struct report_words *words, const char *title, const char *subtitle,
    struct document **document, struct error *err)
{
    struct text head = {0}, line = {0};
    markup_add(&head, words->title != NULL ? words->title : title);
    markup_add(&line, subtitle);
    const struct document_options options = {
        .title = head.bytes, .subtitle = line.bytes, .language = "en", .page = words->page};
    enum status status =
        head.failed || line.failed ? fail_memory(err) : document_create(&options, document, err);
    text_clear(&head);
    text_clear(&line);
    return status;
}

static void add_row(struct report_table *identity, const char *name, const char *value)
{
    if (value != NULL && value[0] != '\0') {
        report_table_add(identity, "%s", name);
        report_table_add(identity, "%s", value);
    }
}

enum status report_begin_titled(const struct report_words *words, struct text *title,
    const char *subtitle, struct document **document, struct error *err)
{
    const enum status status = title->failed
                                   ? fail_memory(err)
                                   : report_begin(words, title->bytes, subtitle, document, err);
    text_clear(title);
    return status;
}

enum status report_finish(struct document *made, enum status status, struct document **document)
{
    if (status == STATUS_OK) {
        *document = made;
    } else {
        document_destroy(made);
    }
    return status;
}

void report_add_identity(struct report_table *identity, const struct report_words *words)
{
    add_row(identity, "Report", words->number);
    add_row(identity, "Date", words->date);
    add_row(identity, "Laboratory", words->laboratory);
    add_row(identity, "Order", words->order);
}

void report_add_program(struct report_table *identity)
{
    report_table_add(identity, "Worked out by");
    report_table_add(identity, "Lodecard " LODECARD_VERSION);
}

/* --- recordings --------------------------------------------------------------------------------
 */

static bool is_same_rig(const struct report_input *a, const struct report_input *b)
{
    return strcmp(a->rig, b->rig) == 0 && strcmp(a->rig_calibrated, b->rig_calibrated) == 0;
}

/* Which of the different rigs, from 0, this input's is; `*is_new`: it comes here first. */
static size_t find_rig(const struct report_input *inputs, size_t at, bool *is_new)
{
    size_t number = 0;
    for (size_t i = 0; i <= at; i++) {
        size_t first = 0;
        while (!is_same_rig(&inputs[first], &inputs[i])) {
            first++;
        }
        if (is_same_rig(&inputs[i], &inputs[at])) {
            *is_new = i == at;
            return number;
        }
        number += first == i;
    }
    return number;
}

/* A, B ... Z, AA: numbers would look like measured ones. */
static const char *get_letters(size_t number, char out[8])
{
    char *at = out + 7;
    *at = '\0';
    for (number++; number > 0 && at > out; number = (number - 1) / 26) {
        *--at = (char)('A' + (number - 1) % 26);
    }
    return at;
}

static void add_rigs(struct document *document, const struct report_input *inputs, size_t count)
{
    static const char *const headings[] = {"rig", "name", "calibrated"};
    static const bool is_number[] = {false, false, false};
    struct report_table table = {.columns = 3, .headings = headings, .is_number = is_number};
    for (size_t i = 0; i < count; i++) {
        bool is_new = false;
        char letters[8];
        const size_t number = find_rig(inputs, i, &is_new);
        if (is_new) {
            report_table_add(&table, "%s", get_letters(number, letters));
            report_table_add(&table, "%s", inputs[i].rig);
            report_table_add(&table, "%s",
                inputs[i].rig_calibrated[0] != '\0' ? inputs[i].rig_calibrated : "not stated");
        }
    }
    report_table_finish(&table, document, NULL);
}

void report_add_inputs(struct document *document, const struct report_input *inputs, size_t count)
{
    static const char *const headings[] = {"specimen", "file", "rig", "SHA-256 of the recording"};
    static const bool is_number[] = {false, false, false, false};
    struct report_table table = {.columns = 4, .headings = headings, .is_number = is_number};
    document_add_heading(document, "Recordings");
    add_rigs(document, inputs, count);
    for (size_t i = 0; i < count; i++) {
        bool is_new;
        char letters[8];
        report_table_add(&table, "%s", inputs[i].specimen);
        report_table_add(&table, "%s", inputs[i].name);
        report_table_add(&table, "%s", get_letters(find_rig(inputs, i, &is_new), letters));
        report_table_add(&table, "%s", inputs[i].capture_sha256);
    }
    report_table_finish(&table, document, NULL);
}

/* --- the end -----------------------------------------------------------------------------------
 */

void report_add_notes(struct document *document, const struct notes *notes)
{
    for (size_t i = 0; i < notes->count; i++) {
        const struct note *note = &notes->list[i];
        struct text message = {0}, hint = {0}, heading = {0};
        text_add_format(&heading, "%s (%s):", note->code, note_level_get_name(note->level));
        markup_add(&message, note->message);
        markup_add(&hint, note->hint);
        if (heading.failed || message.failed || hint.failed) {
            document_set_failed(document);
        } else {
            document_add_note(document, heading.bytes, message.bytes, hint.bytes);
        }
        text_clear(&heading);
        text_clear(&message);
        text_clear(&hint);
    }
    if (notes->count == 0) {
        document_add_paragraph(document, "None: nothing odd was found.");
    }
}

void report_add_remarks(struct document *document, const struct report_words *words)
{
    for (size_t i = 0; i < words->remark_count; i++) {
        struct text markup = {0};
        if (i == 0) {
            document_add_heading(document, "Remarks");
        }
        markup_add(&markup, words->remarks[i]);
        if (markup.failed) {
            document_set_failed(document);
        } else if (markup.length > 0) {
            document_add_paragraph(document, markup.bytes);
        }
        text_clear(&markup);
    }
}

void report_add_signatures(struct document *document, const struct report_words *words)
{
    struct text first = {0};
    if (words->prepared_by != NULL) {
        text_add(&first, "Prepared: ");
        markup_add(&first, words->prepared_by);
        text_add(&first, ", date");
    } else {
        text_add(&first, "Prepared: name, date");
    }
    const char *const roles[] = {first.bytes, "Checked: name, date", "Released: name, date"};
    if (first.failed) {
        document_set_failed(document);
    } else {
        document_add_signatures(document, roles, 3);
    }
    text_clear(&first);
}

void report_add_caution(struct document *document)
{
    document_add_caution(document,
        "<b>Safety.</b> Rings, windings and shunts get hot within seconds. Limit the current, "
        "switch off at the source and let everything discharge before you touch a ring; never open "
        "a driven winding. Connect nothing that is tied to the mains to a sound card. Local codes "
        "and qualified persons decide what may be built and run.");
}
