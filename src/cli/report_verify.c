// SPDX-License-Identifier: GPL-3.0-or-later
/* Whether the numbers that a report carries still agree with a ledger: first they must be those
 * that were written (their digest), then each loop is looked up by the hash of its capture, then
 * the verdict or series by its own. */
#include <stdio.h>
#include <string.h>
#include <strings.h>

#include "base/memory.h"
#include "cli/help.h"
#include "cli/output.h"
#include "cli/report.h"
#include "cli/report_verify.h"
#include "ledger/document.h"

#define SIZE_LIMIT ((size_t)1 << 28)

static const char *const options_of_verify[] = {"ledger", "json", NULL};

static void verification_clear(struct verification *made)
{
    for (size_t i = 0; made->loops != NULL && i < made->count; i++) {
        agreement_loop_clear(&made->loops[i]);
    }
    memory_destroy(made->loops);
    tree_destroy(made->tree);
    *made = (struct verification){0};
}

/* --- the report --------------------------------------------------------------------------------
 */

static bool begins(const char *bytes, size_t length, const char *words)
{
    return length >= strlen(words) && strncasecmp(bytes, words, strlen(words)) == 0;
}

static enum status refuse_file(
    const char *name, const char *bytes, size_t length, struct error *err)
{
    if (begins(bytes, length, "%PDF-") || begins(bytes, length, "<!doctype html")) {
        return fail(err, STATUS_INPUT,
            "reports of 'lodecard report' carry them; was it printed or saved anew by another "
            "program, or cut off?",
            "'%s' carries no numbers of a report", name);
    }
    return fail(err, STATUS_INPUT, "give the .pdf or .html that 'lodecard report' wrote",
        "'%s' is neither a PDF nor an HTML page of a report", name);
}

static enum status read_report(const char *name, const char *bytes, size_t length,
    struct verification *made, struct error *err)
{
    const char *json;
    size_t json_length;
    if (document_find_data(name, bytes, length, &json, &json_length, NULL) != STATUS_OK) {
        return refuse_file(name, bytes, length, err);
    }
    enum status status = report_data_read(name, json, json_length, &made->envelope, err);
    if (status == STATUS_OK && !made->envelope.is_unchanged) {
        status = fail(err, STATUS_INPUT, "take the report as it was signed, or make it again",
            "the numbers in '%s' were changed since it was written: they do not have the SHA-256 "
            "that stands with them",
            name);
    }
    if (status == STATUS_OK) {
        status =
            tree_read_bytes(name, made->envelope.content, made->envelope.length, &made->tree, err);
    }
    return status;
}

/* --- loops -------------------------------------------------------------------------------------
 */

static enum status compare_loops(
    struct verification *made, struct ledger *ledger, struct error *err)
{
    const struct tree_value *inputs = tree_get(tree_get_root(made->tree), "inputs");
    const size_t count = tree_get_count(inputs);
    if (count == 0) {
        return fail(err, STATUS_INPUT, "make the report again",
            "the report '%s' names no loops that could be compared", made->file);
    }
    made->loops = memory_create(count, sizeof *made->loops);
    if (made->loops == NULL) {
        return fail_memory(err);
    }
    for (size_t i = 0; i < count; i++) {
        const enum status status =
            agreement_loop_init(&made->loops[i], ledger, tree_get_at(inputs, i), err);
        if (status != STATUS_OK) {
            return status;
        }
        made->counts[made->loops[made->count++].state]++;
    }
    return STATUS_OK;
}

/* --- verdict or series -------------------------------------------------------------------------
 */

/* As the ledger keeps documents: on one line. */
static enum status find_same(struct ledger *ledger, enum ledger_kind kind,
    const struct tree_value *value, long long *row, struct error *err)
{
    struct text words = {0};
    struct json json;
    json_init(&json, &words, 0);
    tree_write_json(&json, NULL, value);
    const enum status status =
        words.failed ? fail_memory(err)
                     : ledger_find_document(ledger, kind, words.bytes, words.length, row, err);
    text_clear(&words);
    return status;
}

/* A verdict on exactly the report's loops, and its word. */
static enum status find_other(struct verification *made, struct ledger *ledger, struct error *err)
{
    long long *loops = memory_create(made->count, sizeof *loops);
    char *document = NULL;
    struct tree *tree = NULL;
    if (loops == NULL) {
        return fail_memory(err);
    }
    for (size_t i = 0; i < made->count; i++) {
        loops[i] = made->loops[i].loop;
    }
    enum status status = ledger_find_verdict(ledger, loops, made->count, &made->row, err);
    if (status == STATUS_OK && made->row > 0) {
        status = ledger_get_document(ledger, LEDGER_KIND_VERDICT, made->row, &document, err);
    }
    if (document != NULL) {
        status = tree_read_bytes("verdict", document, strlen(document), &tree, err);
        const char *word = tree_get_text(tree_get(tree_get_root(tree), "verdict"));
        snprintf(made->kept_word, sizeof made->kept_word, "%s", word != NULL ? word : "");
        made->kept = KEPT_OTHER;
    }
    tree_destroy(tree);
    memory_destroy(document);
    memory_destroy(loops);
    return status;
}

static enum status compare_result(
    struct verification *made, struct ledger *ledger, struct error *err)
{
    const struct tree_value *root = tree_get_root(made->tree);
    const struct tree_value *verdict = tree_get(root, "verdict");
    const struct tree_value *series = tree_get(root, "series");
    const enum ledger_kind kind = verdict != NULL ? LEDGER_KIND_VERDICT : LEDGER_KIND_SERIES;
    const char *word = tree_get_text(tree_get(verdict, "verdict"));
    made->word = word != NULL ? word : "";
    if (verdict == NULL && series == NULL) {
        return STATUS_OK;
    }
    made->result = verdict != NULL ? "verdict" : "series";
    made->kept = KEPT_NOT;
    enum status status =
        find_same(ledger, kind, verdict != NULL ? verdict : series, &made->row, err);
    if (status == STATUS_OK && made->row > 0) {
        made->kept = KEPT_SAME;
    } else if (status == STATUS_OK && verdict != NULL) {
        status = find_other(made, ledger, err);
    }
    return status;
}

/* --- the verb ----------------------------------------------------------------------------------
 */

static enum status tell(
    const struct report_command *options, const struct verification *made, struct error *err)
{
    struct text page = {0}, words = {0};
    verification_add_page(&page, made);
    verification_write_json(&words, made);
    const enum status status = qualify_show_result(&options->asked, &page, &words, err);
    text_clear(&page);
    text_clear(&words);
    return status;
}

static enum status compare_with_ledger(
    const struct report_command *options, struct verification *made, struct error *err)
{
    struct ledger *ledger = NULL;
    enum status status = ledger_open(
        ledger_choice_get_path(&options->asked.choice), LEDGER_READ, NULL, &ledger, err);
    if (status == STATUS_OK) {
        status = compare_loops(made, ledger, err);
    }
    if (status == STATUS_OK) {
        status = compare_result(made, ledger, err);
    }
    ledger_close(ledger);
    return status;
}

static int run_verify(const void *data, int count, char **words, struct error *err)
{
    const struct report_command *options = data;
    struct verification made = {0};
    char *bytes = NULL;
    size_t length = 0;
    if (count != 1) {
        return (int)fail(err, STATUS_USAGE, "such as 'lodecard report verify lot.pdf'",
            "'report verify' takes one report, and there are %d files", count);
    }
    made.file = text_base_name(words[0]);
    enum status status = output_check(&options->asked.json, 1, words, 1, err);
    if (status == STATUS_OK) {
        status = file_read(words[0], SIZE_LIMIT, &bytes, &length, err);
    }
    if (status == STATUS_OK) {
        status = read_report(words[0], bytes, length, &made, err);
    }
    if (status == STATUS_OK) {
        status = compare_with_ledger(options, &made, err);
    }
    if (status == STATUS_OK) {
        status = tell(options, &made, err);
    }
    const int exit_status = status != STATUS_OK                  ? (int)status
                            : verification_has_difference(&made) ? QUALIFY_REJECTED
                            : !verification_is_complete(&made)   ? QUALIFY_UNDECIDED
                                                                 : STATUS_OK;
    verification_clear(&made);
    memory_destroy(bytes);
    return exit_status;
}

const struct verb report_verify = {"verify", options_of_verify, run_verify};
