// SPDX-License-Identifier: GPL-3.0-or-later
#include "ledger/document.h"

#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "base/memory.h"
#include "base/tree.h"
#include "ledger/journal.h"
#include "ledger/kind_part.h"

static const struct {
    const char *schema;
    enum ledger_kind kind;
} schemas[] = {
    {"lodecard-loop/1", LEDGER_KIND_LOOP},
    {"lodecard-series/1", LEDGER_KIND_SERIES},
    {"lodecard-card/1", LEDGER_KIND_CARD},
    {"lodecard-verdict/1", LEDGER_KIND_VERDICT},
};

static enum ledger_kind find_kind(const struct tree *tree)
{
    const char *words = tree_get_text(tree_get(tree_get_root(tree), "schema"));
    for (size_t i = 0; words != NULL && i < sizeof schemas / sizeof schemas[0]; i++) {
        if (strcmp(words, schemas[i].schema) == 0) {
            return schemas[i].kind;
        }
    }
    return LEDGER_KIND_COUNT;
}

enum ledger_kind ledger_find_schema(const char *bytes, size_t length)
{
    struct tree *tree = NULL;
    enum ledger_kind kind = LEDGER_KIND_COUNT;
    if (tree_read_bytes("", bytes, length, &tree, NULL) == STATUS_OK) {
        kind = find_kind(tree);
    }
    tree_destroy(tree);
    return kind;
}

static bool is_digest(const char *words)
{
    return words != NULL && strlen(words) == DIGEST_TEXT_SIZE - 1 &&
           strspn(words, "0123456789abcdef") == DIGEST_TEXT_SIZE - 1;
}

/* Every member "sha256" at any depth; each once. */
static bool find_hashes(struct ledger_document *document, const struct tree_value *value)
{
    const enum tree_kind kind = tree_get_kind(value);
    for (size_t i = 0; i < tree_get_count(value); i++) {
        const struct tree_value *member = tree_get_at(value, i);
        const char *key = kind == TREE_OBJECT ? tree_get_key_at(value, i) : "";
        const char *words = strcmp(key, "sha256") == 0 ? tree_get_text(member) : NULL;
        bool is_known = !is_digest(words);
        for (size_t j = 0; j < document->hash_count && !is_known; j++) {
            is_known = strcmp(document->hashes[j], words) == 0;
        }
        if (!is_known) {
            char(*hashes)[DIGEST_TEXT_SIZE] =
                memory_resize(document->hashes, document->hash_count + 1, sizeof *hashes);
            if (hashes == NULL) {
                return false;
            }
            document->hashes = hashes;
            memcpy(document->hashes[document->hash_count++], words, DIGEST_TEXT_SIZE);
        }
        if (!find_hashes(document, member)) {
            return false;
        }
    }
    return true;
}

/* What people would call it: its own name, that of its limits, its alloy, its specimen. */
static const char *find_name(const struct tree_value *root)
{
    static const char *const keys[] = {"name", "limits", "alloy", "steel", "specimen", "identity"};
    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++) {
        const struct tree_value *value = tree_get(root, keys[i]);
        if (tree_get_text(value) != NULL) {
            return tree_get_text(value);
        }
        if (tree_get_text(tree_get(value, "name")) != NULL) {
            return tree_get_text(tree_get(value, "name"));
        }
        if (tree_get_text(tree_get(value, "alloy")) != NULL) {
            return tree_get_text(tree_get(value, "alloy"));
        }
    }
    return "";
}

static enum status read_members(
    const struct tree *tree, struct ledger_document *document, struct error *err)
{
    const struct tree_value *root = tree_get_root(tree);
    const char *word = tree_get_text(tree_get(root, "verdict"));
    struct text out = {0};
    struct json json;
    document->kind = find_kind(tree);
    if (document->kind == LEDGER_KIND_COUNT || document->kind == LEDGER_KIND_LOOP) {
        return fail(err, STATUS_INPUT,
            "a ledger takes loops, series, cards and verdicts as Lodecard writes them",
            "'%s' is not of a kind that a ledger keeps (its \"schema\")", tree_get_name(tree));
    }
    if (document->kind == LEDGER_KIND_VERDICT && word == NULL) {
        return fail(err, STATUS_INPUT, "take the JSON that 'lodecard qualify' writes",
            "'%s' is a verdict without its word (\"verdict\")", tree_get_name(tree));
    }
    json_init(&json, &out, 0);
    tree_write_json(&json, NULL, root);
    document->document = out.bytes;
    document->name = memory_copy_text(find_name(root));
    bool has_memory = !out.failed && document->name != NULL && find_hashes(document, root);
    if (document->kind == LEDGER_KIND_VERDICT) {
        document->word = memory_copy_text(word);
        has_memory = has_memory && document->word != NULL;
    }
    return has_memory ? STATUS_OK : fail_memory(err);
}

enum status ledger_document_read(const char *name, const char *bytes, size_t length,
    struct ledger_document *document, struct error *err)
{
    struct tree *tree = NULL;
    struct ledger_document made = {0};
    enum status status = tree_read_bytes(name, bytes, length, &tree, err);
    if (status != STATUS_OK) {
        return status;
    }
    status = read_members(tree, &made, err);
    tree_destroy(tree);
    if (status != STATUS_OK) {
        ledger_document_clear(&made);
        return status;
    }
    *document = made;
    return STATUS_OK;
}

void ledger_document_clear(struct ledger_document *document)
{
    memory_destroy(document->name);
    memory_destroy(document->document);
    memory_destroy(document->word);
    memory_destroy(document->limits);
    memory_destroy(document->hashes);
    memory_destroy(document->loops);
    *document = (struct ledger_document){0};
}

/* The loops that it was made from. */
struct sources {
    long long *loops;
    size_t count, capacity;
    long long heat; /* 0: none, or several */
};

static enum status add_source(
    struct sources *sources, long long loop, long long heat, struct error *err)
{
    long long *loops =
        memory_reserve(sources->loops, &sources->capacity, sources->count + 1, sizeof *loops);
    if (loops == NULL) {
        return fail_memory(err);
    }
    sources->loops = loops;
    sources->heat = sources->count == 0 || sources->heat == heat ? heat : 0;
    sources->loops[sources->count++] = loop;
    return STATUS_OK;
}

/* The loops that a question answers with, and their heats. */
static enum status add_sources(struct query *query, struct sources *sources, struct error *err)
{
    bool has_row = false;
    enum status status = query_step(query, &has_row, err);
    while (status == STATUS_OK && has_row) {
        status = add_source(sources, query_get_integer(query, 0), query_get_integer(query, 1), err);
        if (status == STATUS_OK) {
            status = query_step(query, &has_row, err);
        }
    }
    query_end(query);
    return status;
}

static enum status find_sources(struct ledger *ledger, const struct ledger_document *document,
    struct sources *sources, struct error *err)
{
    const bool is_told = document->loops != NULL;
    const size_t count = is_told ? document->loop_count : document->hash_count;
    enum status status = STATUS_OK;
    for (size_t i = 0; i < count && status == STATUS_OK; i++) {
        struct query query;
        const size_t before = sources->count;
        if (is_told) {
            query_begin(&query, ledger, "SELECT id, heat_id FROM loop WHERE id = ?");
            query_add_integer(&query, document->loops[i]);
        } else {
            query_begin(&query, ledger,
                "SELECT loop.id, loop.heat_id FROM loop JOIN capture ON capture.id = "
                "loop.capture_id WHERE capture.sha256 = ? AND loop.is_current = 1 ORDER BY "
                "loop.id");
            query_add_text(&query, document->hashes[i]);
        }
        status = add_sources(&query, sources, err);
        if (status == STATUS_OK && is_told && sources->count == before) {
            status = fail(err, STATUS_INPUT, "'lodecard ledger find' shows the loops",
                "there is no loop %lld in the ledger", document->loops[i]);
        }
    }
    return status;
}

static enum status add_row(struct ledger *ledger, const struct ledger_document *document,
    const char *digest, long long heat, long long id, struct error *err)
{
    static const char *const sql[] = {
        "INSERT INTO series (id, sha256, name, document, heat_id) VALUES (?, ?, ?, ?, ?)",
        "INSERT INTO card (id, sha256, name, document, heat_id) VALUES (?, ?, ?, ?, ?)",
        ("INSERT INTO verdict (id, sha256, name, document, heat_id, word, limits, day, person) "
         "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)")};
    struct query query;
    query_begin(&query, ledger, sql[document->kind - LEDGER_KIND_SERIES]);
    query_add_integer(&query, id);
    query_add_text(&query, digest);
    query_add_text(&query, document->name);
    query_add_text(&query, document->document);
    if (heat > 0) {
        query_add_integer(&query, heat);
    } else {
        query_add_null(&query);
    }
    if (document->kind == LEDGER_KIND_VERDICT) {
        query_add_text(&query, document->word);
        query_add_text(&query, document->limits);
        query_add_text(&query, ledger->day);
        query_add_text(&query, ledger->person);
    }
    return journal_run_add(&query, kind_get_table(document->kind), id, err);
}

static enum status add_reference(struct ledger *ledger, const struct ledger_document *document,
    long long id, long long loop, struct error *err)
{
    struct query query;
    long long reference = 0;
    enum status status = journal_next_id(ledger, TABLE_MADE_FROM, &reference, err);
    if (status != STATUS_OK) {
        return status;
    }
    query_begin(&query, ledger,
        "INSERT INTO made_from (id, subject, subject_id, loop_id) VALUES (?, ?, ?, ?)");
    query_add_integer(&query, reference);
    query_add_text(&query, table_list[kind_get_table(document->kind)].name);
    query_add_integer(&query, id);
    query_add_integer(&query, loop);
    return journal_run_add(&query, TABLE_MADE_FROM, reference, err);
}

static enum status find_known(struct ledger *ledger, enum ledger_kind kind, const char *digest,
    long long *id, struct error *err)
{
    static const char *const sql[] = {"SELECT id FROM series WHERE sha256 = ?",
        "SELECT id FROM card WHERE sha256 = ?", "SELECT id FROM verdict WHERE sha256 = ?"};
    struct query query;
    query_begin(&query, ledger, sql[kind - LEDGER_KIND_SERIES]);
    query_add_text(&query, digest);
    return query_run_integer(&query, id, err);
}

enum status ledger_add_document(struct ledger *ledger, const struct ledger_document *document,
    enum ledger_outcome *outcome, long long *id, struct error *err)
{
    char digest[DIGEST_TEXT_SIZE];
    struct sources sources = {0};
    long long made = 0;
    digest_bytes(document->document, strlen(document->document), digest);
    enum status status = find_known(ledger, document->kind, digest, &made, err);
    if (status != STATUS_OK || made != 0) {
        *outcome = LEDGER_KNOWN;
        *id = made;
        return status;
    }
    status = find_sources(ledger, document, &sources, err);
    if (status == STATUS_OK) {
        status = journal_next_id(ledger, kind_get_table(document->kind), &made, err);
    }
    if (status == STATUS_OK) {
        status = add_row(ledger, document, digest, sources.heat, made, err);
    }
    for (size_t i = 0; i < sources.count && status == STATUS_OK; i++) {
        status = add_reference(ledger, document, made, sources.loops[i], err);
    }
    memory_destroy(sources.loops);
    if (status == STATUS_OK) {
        *outcome = LEDGER_ADDED;
        *id = made;
    }
    return status;
}

enum status ledger_find_document(struct ledger *ledger, enum ledger_kind kind, const char *bytes,
    size_t length, long long *id, struct error *err)
{
    char digest[DIGEST_TEXT_SIZE];
    digest_bytes(bytes, length, digest);
    return find_known(ledger, kind, digest, id, err);
}

static int compare_ids(const void *first, const void *second)
{
    const long long a = *(const long long *)first, b = *(const long long *)second;
    return (a > b) - (a < b);
}

/* Whether a verdict's loops are these, which rise. */
static enum status has_loops(struct ledger *ledger, long long verdict, const long long *loops,
    size_t count, bool *answer, struct error *err)
{
    struct query query;
    size_t found = 0;
    bool has_row = false, is_same = true;
    query_begin(&query, ledger,
        "SELECT loop_id FROM made_from WHERE subject = 'verdict' AND subject_id = ? ORDER BY "
        "loop_id");
    query_add_integer(&query, verdict);
    enum status status = query_step(&query, &has_row, err);
    while (status == STATUS_OK && has_row) {
        is_same = is_same && found < count && loops[found] == query_get_integer(&query, 0);
        found++;
        status = query_step(&query, &has_row, err);
    }
    query_end(&query);
    *answer = is_same && found == count;
    return status;
}

static enum status find_verdict(
    struct ledger *ledger, const long long *loops, size_t count, long long *id, struct error *err)
{
    struct query query;
    bool has_row = false, is_it = false;
    query_begin(&query, ledger,
        "SELECT subject_id FROM made_from WHERE loop_id = ? AND subject = 'verdict' ORDER BY "
        "subject_id DESC");
    query_add_integer(&query, loops[0]);
    enum status status = query_step(&query, &has_row, err);
    while (status == STATUS_OK && has_row && !is_it) {
        const long long verdict = query_get_integer(&query, 0);
        status = has_loops(ledger, verdict, loops, count, &is_it, err);
        *id = is_it ? verdict : 0;
        if (status == STATUS_OK) {
            status = query_step(&query, &has_row, err);
        }
    }
    query_end(&query);
    return status;
}

enum status ledger_find_verdict(
    struct ledger *ledger, const long long *loops, size_t count, long long *id, struct error *err)
{
    long long *sorted = memory_create(count + 1, sizeof *sorted), found = 0;
    size_t kept = 0;
    enum status status = STATUS_OK;
    if (sorted == NULL) {
        return fail_memory(err);
    }
    memcpy(sorted, loops, count * sizeof *sorted);
    qsort(sorted, count, sizeof *sorted, compare_ids);
    for (size_t i = 0; i < count; i++) {
        if (kept == 0 || sorted[i] != sorted[kept - 1]) {
            sorted[kept++] = sorted[i];
        }
    }
    if (kept > 0) {
        status = find_verdict(ledger, sorted, kept, &found, err);
    }
    memory_destroy(sorted);
    if (status == STATUS_OK) {
        *id = found;
    }
    return status;
}

enum status ledger_get_document(
    struct ledger *ledger, enum ledger_kind kind, long long id, char **document, struct error *err)
{
    static const char *const sql[] = {"SELECT document FROM series WHERE id = ?",
        "SELECT document FROM card WHERE id = ?", "SELECT document FROM verdict WHERE id = ?"};
    struct query query;
    bool has_row = false;
    query_begin(&query, ledger, sql[kind - LEDGER_KIND_SERIES]);
    query_add_integer(&query, id);
    enum status status = query_step(&query, &has_row, err);
    if (status == STATUS_OK && !has_row) {
        status = fail(err, STATUS_INPUT, "'lodecard ledger list' shows what there is",
            "there is no %s %lld in the ledger", ledger_kind_get_name(kind), id);
    }
    if (status == STATUS_OK) {
        char *copy = memory_copy_text(query_get_text(&query, 0));
        *document = copy != NULL ? copy : *document;
        status = copy != NULL ? STATUS_OK : fail_memory(err);
    }
    query_end(&query);
    return status;
}
