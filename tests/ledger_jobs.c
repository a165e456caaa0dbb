// SPDX-License-Identifier: GPL-3.0-or-later
#include "ledger_jobs.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/memory.h"
#include "ledger/care.h"
#include "ledger/check.h"
#include "ledger/document.h"
#include "ledger/find.h"
#include "ledger/folder.h"
#include "ledger/kind.h"
#include "ledger/source.h"
#include "ledger_sample.h"
#include "scarce_base.h"
#include "scratch.h"
#include "suites.h"

#define NORTHGATE "Northgate Foundry"
#define ABC "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad" /* of "abc" */

static const struct ledger_sample samples[] = {{1, NORTHGATE, "H1", "R-1", 18000},
    {2, NORTHGATE, "H1", "R-2", 18300}, {3, "Calder & Sons", "C7", "R-3", 19000},
    {2, NORTHGATE, "H1", "R-2", 18400}};
static const struct ledger_sample known = {1, NORTHGATE, "H1", "R-1", 18000};
static const struct ledger_sample other = {1, NORTHGATE, "H1", "R-1", 18050};
static const struct ledger_sample new = {7, "Foundry of the South", "S1", "R-9", 17000};

static const char series_json[] =
    "{\"schema\": \"lodecard-series/1\", \"name\": \"S\", \"loops\": [{\"sha256\": "
    "\"0000000000000000000000000000000000000000000000000000000000000001\"}, {\"sha256\": "
    "\"0000000000000000000000000000000000000000000000000000000000000002\"}]}";
static const char card_json[] = "{\"schema\": \"lodecard-card/1\", \"identity\": {\"alloy\": "
                                "\"RS-36\"}}";
static const char verdict_json[] =
    "{\"schema\": \"lodecard-verdict/1\", \"verdict\": \"accepted\", \"limits\": {\"name\": "
    "\"RS-36\"}, \"loops\": [{\"sha256\": "
    "\"0000000000000000000000000000000000000000000000000000000000000001\"}]}";

uint64_t ledger_jobs_sum;

static void note_bytes(const void *bytes, size_t count)
{
    const unsigned char *list = bytes;
    for (size_t i = 0; i < count; i++) {
        ledger_jobs_sum = (ledger_jobs_sum ^ list[i]) * 1099511628211u; /* FNV-1a */
    }
}

static void note(const char *words)
{
    note_bytes(words != NULL ? words : "-", words != NULL ? strlen(words) + 1 : 1);
}

static void note_number(double value)
{
    note_bytes(&value, sizeof value);
}

/* --- adding --------------------------------------------------------------------------------------
 */

/* Its JSON, which is made once, while memory is not scarce. */
static const char *write_sample(const struct ledger_sample *sample)
{
    static struct {
        const struct ledger_sample *sample;
        char *json;
    } made[16];
    size_t at = 0;
    while (made[at].sample != NULL && made[at].sample != sample) {
        at++;
    }
    if (made[at].sample == NULL) {
        made[at].json = ledger_sample_write(sample);
        made[at].sample = sample;
    }
    return made[at].json;
}

static enum status add_sample(
    struct ledger *ledger, const struct ledger_sample *sample, struct error *err)
{
    struct ledger_loop loop;
    enum ledger_outcome outcome = LEDGER_OUTCOMES;
    long long id = 0;
    const char *json = write_sample(sample);
    enum status status = ledger_loop_read("sample", json, strlen(json), &loop, err);
    if (status == STATUS_OK) {
        status = ledger_add_loop(ledger, &loop, &outcome, &id, err);
        ledger_loop_clear(&loop);
    }
    return status;
}

static enum status add_new(struct ledger *ledger, struct error *err)
{
    return add_sample(ledger, &new, err);
}

static enum status add_known(struct ledger *ledger, struct error *err)
{
    return add_sample(ledger, &known, err);
}

static enum status replace(struct ledger *ledger, struct error *err)
{
    return add_sample(ledger, &other, err);
}

static char *copy(const char *words, bool *has_memory)
{
    char *made = memory_copy_text(words);
    *has_memory = *has_memory && made != NULL;
    return made;
}

/* A loop with its files: those of the rig turn up for a version that is there already. */
static enum status add_with_files(struct ledger *ledger, struct error *err)
{
    struct ledger_loop loop;
    enum ledger_outcome outcome = LEDGER_OUTCOMES;
    long long id = 0;
    bool has_memory = true;
    const char *json = write_sample(&known);
    enum status status = ledger_loop_read("sample", json, strlen(json), &loop, err);
    if (status != STATUS_OK) {
        return status;
    }
    memcpy(loop.sha256, ABC, sizeof ABC);
    loop.path = copy("abc.wav", &has_memory);
    loop.points = copy("{\"time_s\": [0, 1]}", &has_memory);
    loop.rig_source = copy("name: bench 2\n", &has_memory);
    loop.specimen_source = copy("name: R-1\n", &has_memory);
    loop.settings = copy("{}", &has_memory);
    status = has_memory ? ledger_add_loop(ledger, &loop, &outcome, &id, err) : fail_memory(err);
    if (status == STATUS_OK) {
        status = ledger_add_bytes(ledger, ABC, "abc", 3, err);
    }
    ledger_loop_clear(&loop);
    return status;
}

static enum status add_document(struct ledger *ledger, const char *json, struct error *err)
{
    struct ledger_document document = {0};
    enum ledger_outcome outcome = LEDGER_OUTCOMES;
    long long id = 0;
    enum status status = ledger_document_read("d.json", json, strlen(json), &document, err);
    if (status == STATUS_OK) {
        status = ledger_add_document(ledger, &document, &outcome, &id, err);
        ledger_document_clear(&document);
    }
    note_number((double)outcome);
    return status;
}

static enum status add_series(struct ledger *ledger, struct error *err)
{
    return add_document(ledger, series_json, err);
}

static enum status add_verdict_again(struct ledger *ledger, struct error *err)
{
    return add_document(ledger, verdict_json, err);
}

static enum status add_verdict_of_loops(struct ledger *ledger, struct error *err)
{
    static const char json[] = "{\"schema\": \"lodecard-verdict/1\", \"verdict\": \"undecided\"}";
    static long long loops[] = {1, 3};
    struct ledger_document document = {0};
    enum ledger_outcome outcome;
    long long id = 0;
    enum status status = ledger_document_read("v.json", json, strlen(json), &document, err);
    if (status == STATUS_OK) {
        document.loops = loops;
        document.loop_count = 2;
        status = ledger_add_document(ledger, &document, &outcome, &id, err);
        document.loops = NULL;
        ledger_document_clear(&document);
    }
    return status;
}

static enum status add_remark(struct ledger *ledger, struct error *err)
{
    return ledger_add_remark(ledger, LEDGER_KIND_HEAT, 1, "looks fine", err);
}

static enum status add_tag(struct ledger *ledger, struct error *err)
{
    bool was_there = false;
    return ledger_add_tag(ledger, LEDGER_KIND_LOOP, 1, "odd", &was_there, err);
}

static enum status remove_tag(struct ledger *ledger, struct error *err)
{
    bool was_there = false;
    return ledger_remove_tag(ledger, LEDGER_KIND_HEAT, 1, "golden", &was_there, err);
}

/* Takes back a loop that was replaced, and rows that were added. */
static enum status undo(struct ledger *ledger, struct error *err)
{
    struct ledger_undone undone = {0};
    const enum status status = ledger_undo(ledger, &undone, err);
    note(undone.command);
    return status;
}

static enum status import_folder(struct ledger *ledger, struct error *err)
{
    size_t rows = 0;
    const enum status status = ledger_import_folder(ledger, "folder", &rows, err);
    note_number((double)rows);
    return status;
}

/* --- reading -------------------------------------------------------------------------------------
 */

static enum status note_row(const struct ledger_row *row, void *user, struct error *err)
{
    (void)user;
    (void)err;
    note(row->file);
    note(row->specimen);
    note(row->heat);
    note(row->supplier);
    note_number(row->figures.list[FIGURE_COERCIVITY].value);
    return STATUS_OK;
}

static enum status find_some(struct ledger *ledger, struct error *err)
{
    struct ledger_where *where = ledger_where_create();
    struct ledger_search search = {
        .where = where, .sort = FIGURE_COERCIVITY, .is_falling = true, .limit = 5};
    size_t count = 0;
    enum status status = where == NULL ? fail_memory(err)
                                       : ledger_where_add(where,
                                             "coercivity > 1 kA/m and (tag = golden or heat = C*) "
                                             "and note != clipped",
                                             err);
    if (status == STATUS_OK) {
        status = ledger_where_add_text(where, "rig", "bench 2", err);
    }
    if (status == STATUS_OK) {
        status = ledger_where_add_row(where, LEDGER_KIND_ALLOY, 1, err);
    }
    if (status == STATUS_OK) {
        status = ledger_count_loops(ledger, &search, &count, err);
    }
    if (status == STATUS_OK) {
        status = ledger_visit_loops(ledger, &search, note_row, NULL, err);
    }
    note_number((double)count);
    ledger_where_destroy(where);
    return status;
}

static enum status read_all(struct ledger *ledger, struct error *err)
{
    const struct ledger_search search = {.has_old = true, .sort = FIGURE_COUNT, .is_falling = true};
    struct ledger_rows rows = {0};
    const enum status status = ledger_read_loops(ledger, &search, &rows, err);
    for (size_t i = 0; i < rows.count; i++) {
        (void)!note_row(&rows.list[i], NULL, err);
    }
    ledger_rows_clear(&rows);
    return status;
}

static enum status get_one(struct ledger *ledger, struct error *err)
{
    struct ledger_row row = {0};
    const enum status status = ledger_get_loop(ledger, 2, &row, err);
    note_number(row.figures.list[FIGURE_COERCIVITY].value);
    return status;
}

static enum status sum_up(struct ledger *ledger, struct error *err)
{
    struct ledger_where *where = ledger_where_create();
    struct ledger_lots lots = {0};
    enum status status =
        where == NULL ? fail_memory(err) : ledger_where_add(where, "remanence > 0.1 T", err);
    for (int i = 0; i < 2 && status == STATUS_OK; i++) {
        status = ledger_read_lots(ledger, i == 0 ? NULL : where, FIGURE_COERCIVITY, &lots, err);
        note_number(status == STATUS_OK ? lots.all.mean : 0);
        for (size_t j = 0; j < lots.count; j++) {
            note(lots.list[j].heat);
            note_number(lots.list[j].mean);
        }
        ledger_lots_clear(&lots);
    }
    ledger_where_destroy(where);
    return status;
}

static enum status note_cells(
    const char *const *names, const char *const *cells, size_t count, void *user, struct error *err)
{
    (void)user;
    (void)err;
    for (size_t i = 0; i < count; i++) {
        note(names[i]);
        note(cells[i]);
    }
    return STATUS_OK;
}

static enum status list_kinds(struct ledger *ledger, struct error *err)
{
    enum status status = ledger_visit_counts(ledger, note_cells, NULL, err);
    for (int kind = 0; kind < LEDGER_KIND_COUNT && status == STATUS_OK; kind++) {
        if (kind != LEDGER_KIND_LOOP) {
            status = ledger_visit_kind(ledger, (enum ledger_kind)kind, note_cells, NULL, err);
        }
    }
    return status;
}

static enum status show_rows(struct ledger *ledger, struct error *err)
{
    enum status status = STATUS_OK;
    for (int kind = 0; kind < LEDGER_KIND_COUNT && status == STATUS_OK; kind++) {
        status = ledger_visit_row(ledger, (enum ledger_kind)kind, 1, note_cells, NULL, err);
    }
    if (status == STATUS_OK) {
        status = ledger_visit_remarks(ledger, LEDGER_KIND_HEAT, 1, note_cells, NULL, err);
    }
    if (status == STATUS_OK) {
        status = ledger_visit_tags(ledger, LEDGER_KIND_HEAT, 1, note_cells, NULL, err);
    }
    return status;
}

static enum status find_names(struct ledger *ledger, struct error *err)
{
    static const struct {
        enum ledger_kind kind;
        const char *word;
    } list[] = {{LEDGER_KIND_HEAT, "C7"}, {LEDGER_KIND_LOOP, "2"}, {LEDGER_KIND_CAPTURE, ABC},
        {LEDGER_KIND_CAPTURE, "ba7816bf"}};
    enum status status = STATUS_OK;
    for (size_t i = 0; i < sizeof list / sizeof list[0] && status == STATUS_OK; i++) {
        long long id = 0;
        status = ledger_find_row(ledger, list[i].kind, list[i].word, &id, err);
        note_number((double)id);
    }
    return status;
}

static enum status note_event(const struct ledger_event *event, void *user, struct error *err)
{
    (void)user;
    (void)err;
    note(event->kind);
    note(event->before);
    note(event->after);
    return STATUS_OK;
}

static enum status tell_history(struct ledger *ledger, struct error *err)
{
    enum status status = ledger_visit_history(ledger, LEDGER_KIND_LOOP, 2, note_event, NULL, err);
    return status != STATUS_OK
               ? status
               : ledger_visit_history(ledger, LEDGER_KIND_HEAT, 1, note_event, NULL, err);
}

static enum status note_source(const struct ledger_source *source, void *user, struct error *err)
{
    struct text *out = user;
    note(source->rig_source);
    note_bytes(source->bytes, source->byte_count);
    return ledger_source_write(source, out, err);
}

static enum status write_sources(struct ledger *ledger, struct error *err)
{
    struct text out = {0};
    const enum status status =
        ledger_visit_sources(ledger, &LEDGER_SEARCH_ALL, note_source, &out, err);
    note(out.bytes);
    text_clear(&out);
    return status;
}

static enum status find_documents(struct ledger *ledger, struct error *err)
{
    static const long long loops[] = {1, 1};
    long long id = 0, verdict = 0;
    char *document = NULL;
    enum status status =
        ledger_find_document(ledger, LEDGER_KIND_CARD, card_json, strlen(card_json), &id, err);
    if (status == STATUS_OK) {
        status = ledger_find_verdict(ledger, loops, 2, &verdict, err);
    }
    if (status == STATUS_OK) {
        status = ledger_get_document(ledger, LEDGER_KIND_VERDICT, 1, &document, err);
    }
    note(document);
    note_number((double)id);
    note_number((double)verdict);
    memory_destroy(document);
    return status;
}

static void note_fault(const char *words, void *user)
{
    (void)user;
    note(words);
}

static enum status check_all(struct ledger *ledger, struct error *err)
{
    const struct ledger_check_options options = {.reads_captures = true, .tell = note_fault};
    struct ledger_check check;
    const enum status status = ledger_check(ledger, &options, &check, err);
    ck_assert_msg(status != STATUS_OK || check.faults == 0, "%zu faults", check.faults);
    note(check.head);
    return status;
}

static enum status export_folder(struct ledger *ledger, struct error *err)
{
    return ledger_export_folder(ledger, "again", err);
}

static enum status back_up(struct ledger *ledger, struct error *err)
{
    const enum status status = ledger_backup(ledger, "backup.ledger", err);
    ck_assert(file_exists("backup.ledger") == (status == STATUS_OK));
    unlink("backup.ledger");
    return status;
}

static enum status compare_paths(struct ledger *ledger, struct error *err)
{
    char *relative = ledger_get_relative(ledger, "folder/../abc.wav");
    char *absolute = relative != NULL ? ledger_get_absolute(ledger, relative) : NULL;
    const enum status status = absolute != NULL ? STATUS_OK : fail_memory(err);
    note(absolute);
    memory_destroy(relative);
    memory_destroy(absolute);
    return status;
}

const struct ledger_job ledger_jobs[LEDGER_JOBS] = {
    {.name = "add a loop", .run = add_new, .changes = true},
    {.name = "add a known loop", .run = add_known, .changes = true},
    {.name = "replace a loop", .run = replace, .changes = true},
    {.name = "add a loop with its files", .run = add_with_files, .changes = true},
    {.name = "add a series", .run = add_series, .changes = true},
    {.name = "add a known verdict", .run = add_verdict_again, .changes = true},
    {.name = "add a verdict of loops", .run = add_verdict_of_loops, .changes = true},
    {.name = "add a remark", .run = add_remark, .changes = true},
    {.name = "add a tag", .run = add_tag, .changes = true},
    {.name = "remove a tag", .run = remove_tag, .changes = true},
    {.name = "undo", .run = undo, .changes = true},
    {.name = "import a folder", .run = import_folder, .is_new = true},
    {.name = "add to a new ledger", .run = add_new, .changes = true, .is_new = true},
    {.name = "find some loops", .run = find_some},
    {.name = "read all loops", .run = read_all},
    {.name = "get one loop", .run = get_one},
    {.name = "sum up heats", .run = sum_up},
    {.name = "list all kinds", .run = list_kinds},
    {.name = "show rows", .run = show_rows},
    {.name = "find rows by name", .run = find_names},
    {.name = "tell a history", .run = tell_history},
    {.name = "write sources", .run = write_sources},
    {.name = "find documents", .run = find_documents},
    {.name = "check", .run = check_all},
    {.name = "export a folder", .run = export_folder},
    {.name = "back up", .run = back_up},
    {.name = "sum up a new ledger", .run = sum_up, .is_new = true},
    {.name = "compare paths", .run = compare_paths},
};

enum status ledger_job_run(const struct ledger_job *job, struct ledger *ledger, struct error *err)
{
    enum status status = job->changes ? ledger_begin(ledger, err) : STATUS_OK;
    if (status == STATUS_OK) {
        status = job->run(ledger, err);
    }
    if (status == STATUS_OK && job->changes) {
        return ledger_commit(ledger, err);
    }
    ledger_rollback(ledger);
    return status;
}

/* --- the ledger they are done with ---------------------------------------------------------------
 */

static char *kept;
static size_t kept_length;

static enum status fill(struct ledger *ledger, struct error *err)
{
    enum status status = STATUS_OK;
    bool was_there;
    for (size_t i = 0; i < sizeof samples / sizeof samples[0] && status == STATUS_OK; i++) {
        status = add_sample(ledger, &samples[i], err);
    }
    if (status == STATUS_OK) {
        status = add_document(ledger, card_json, err);
    }
    if (status == STATUS_OK) {
        status = add_document(ledger, verdict_json, err);
    }
    return status != STATUS_OK
               ? status
               : ledger_add_tag(ledger, LEDGER_KIND_HEAT, 1, "golden", &was_there, err);
}

/* What `undo` takes back: files that turned up, and a tag that was taken away. */
static enum status fill_more(struct ledger *ledger, struct error *err)
{
    bool was_there;
    enum status status = ledger_add_tag(ledger, LEDGER_KIND_HEAT, 2, "odd", &was_there, err);
    if (status == STATUS_OK) {
        status = add_with_files(ledger, err);
    }
    if (status == STATUS_OK) {
        status = add_sample(ledger, &samples[1], err); /* loop 2 again: replaces loop 4 */
    }
    return status != STATUS_OK
               ? status
               : ledger_remove_tag(ledger, LEDGER_KIND_HEAT, 2, "odd", &was_there, err);
}

void ledger_jobs_prepare(void)
{
    static const struct ledger_sample *const list[] = {&known, &other, &new};
    const struct ledger_job jobs[] = {{.name = "fill", .run = fill, .changes = true},
        {.name = "fill more", .run = fill_more, .changes = true}};
    struct error err = {0};
    scratch_write("abc.wav", "abc", 3);
    base_spare_disk();
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        (void)write_sample(list[i]);
    }
    for (size_t i = 0; i < 2; i++) {
        struct ledger *ledger = ledger_sample_open(LEDGER_CREATE, jobs[i].name);
        ck_assert_msg(ledger_job_run(&jobs[i], ledger, &err) == STATUS_OK, "%s", err.message);
        if (i == 1) {
            ck_assert_int_eq(ledger_export_folder(ledger, "folder", &err), STATUS_OK);
        }
        ledger_close(ledger);
    }
    ck_assert_int_eq(file_read("test.ledger", 1 << 24, &kept, &kept_length, &err), STATUS_OK);
}

void ledger_jobs_restore(bool is_new)
{
    unlink("test.ledger-wal");
    unlink("test.ledger-shm");
    if (is_new) {
        unlink("test.ledger");
    } else {
        scratch_write("test.ledger", kept, kept_length);
    }
}
