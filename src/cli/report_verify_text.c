// SPDX-License-Identifier: GPL-3.0-or-later
/* What `report verify` tells: as a page, and as JSON. */
#include "cli/report_verify.h"

#include <math.h>
#include <stdio.h>

#include "cli/columns.h"
#include "cli/qualify.h"
#include "quantity/display.h"

#define DIGITS 6
#define SHOWN (2 * DISPLAY_SIZE + 40)

static const char *const kept_words[] = {
    [KEPT_SAME] = "agrees", [KEPT_OTHER] = "differs", [KEPT_NOT] = "not kept"};

static const char *show(enum figure figure, const struct figure_value *value, char words[SHOWN])
{
    struct display display;
    if (!value->is_present) {
        return "none";
    }
    display_set_figure(&display, figure, value, DIGITS);
    display_join(&display, words, SHOWN);
    return words;
}

static void add_changes(struct columns *table, const struct agreement_loop *loop)
{
    char told[SHOWN], now[SHOWN];
    for (size_t i = 0; i < loop->text_count; i++) {
        columns_add(table, "  %s", loop->texts[i].key);
        columns_add_text(table, loop->texts[i].told[0] != '\0' ? loop->texts[i].told : "none");
        columns_add_text(table, loop->texts[i].now[0] != '\0' ? loop->texts[i].now : "none");
        columns_add(table, " ");
    }
    for (size_t i = 0; i < loop->change_count; i++) {
        const struct agreement_change *change = &loop->changes[i];
        columns_add(table, "  %s", figure_table[change->figure].name);
        columns_add_text(table, show(change->figure, &change->told, told));
        columns_add_text(table, show(change->figure, &change->now, now));
        if (isnan(change->in_u)) {
            columns_add(table, " ");
        } else {
            columns_add(table, "%+.2g u", change->in_u);
        }
    }
}

static void add_loop(struct text *out, const struct agreement_loop *loop)
{
    struct columns title = {.columns = 1}, table = {.columns = 4, .is_right = {[3] = true}};
    char words[120];
    switch (loop->state) {
    case AGREEMENT_SAME:
        snprintf(words, sizeof words, "agrees with loop %lld", loop->loop);
        break;
    case AGREEMENT_RECOMPUTED:
        snprintf(words, sizeof words, "was loop %lld; computed anew since, now loop %lld",
            loop->loop, loop->now);
        break;
    case AGREEMENT_OTHER:
        snprintf(words, sizeof words, "differs from what the ledger holds (loop %lld)",
            loop->loop > 0 ? loop->loop : loop->now);
        break;
    case AGREEMENT_UNKNOWN:
        snprintf(words, sizeof words, "%s",
            loop->sha256[0] != '\0' ? "the ledger has no loop of this capture"
                                    : "the hash of its capture is not told");
        break;
    }
    columns_add(&title, "%s, %s: %s", loop->name[0] != '\0' ? loop->name : "a loop",
        loop->specimen[0] != '\0' ? loop->specimen : "no specimen", words);
    columns_finish(&title, 2, out);
    if (loop->state != AGREEMENT_UNKNOWN && loop->change_count + loop->text_count > 0) {
        columns_add(&table, "  figure");
        columns_add(&table, "report");
        columns_add(&table, "ledger");
        columns_add(&table, "difference");
        add_changes(&table, loop);
        columns_finish(&table, 2, out);
    }
    if (loop->strange_count > 0) {
        text_add_format(out, "    %zu figures that this program does not know were not compared\n",
            loop->strange_count);
    }
}

static void add_result(struct text *out, const struct verification *made)
{
    switch (made->kept) {
    case KEPT_NONE:
        text_add(out, "results: not compared, a ledger keeps loops, series and verdicts\n");
        break;
    case KEPT_SAME:
        text_add_format(out, "%s: %s%sagrees with %s %lld of the ledger\n", made->result,
            made->word, made->word[0] != '\0' ? ", " : "", made->result, made->row);
        break;
    case KEPT_OTHER:
        text_add_format(out,
            "verdict: %s, but verdict %lld of the ledger on the same loops is another one (%s)\n",
            made->word, made->row, made->kept_word);
        break;
    case KEPT_NOT:
        text_add_format(out, "%s: %s%snot kept in the ledger\n", made->result, made->word,
            made->word[0] != '\0' ? ", " : "");
        break;
    }
}

bool verification_has_difference(const struct verification *made)
{
    return made->counts[AGREEMENT_RECOMPUTED] + made->counts[AGREEMENT_OTHER] > 0 ||
           made->kept == KEPT_OTHER;
}

bool verification_is_complete(const struct verification *made)
{
    size_t strange = 0;
    for (size_t i = 0; i < made->count; i++) {
        strange += made->loops[i].strange_count;
    }
    return made->counts[AGREEMENT_UNKNOWN] == 0 && strange == 0;
}

static const char *get_outcome(const struct verification *made)
{
    return verification_has_difference(made) ? "differs"
           : !verification_is_complete(made) ? "cannot tell"
                                             : "agrees";
}

void verification_add_page(struct text *out, const struct verification *made)
{
    struct columns title = {.columns = 1};
    columns_add(&title, "%s: report of kind '%s', its numbers are those that were written",
        made->file, made->envelope.kind);
    columns_finish(&title, 0, out);
    for (size_t i = 0; i < made->count; i++) {
        add_loop(out, &made->loops[i]);
    }
    text_add_format(out, "loops: %zu agree, %zu computed anew, %zu differ, %zu unknown\n",
        made->counts[AGREEMENT_SAME], made->counts[AGREEMENT_RECOMPUTED],
        made->counts[AGREEMENT_OTHER], made->counts[AGREEMENT_UNKNOWN]);
    add_result(out, made);
    text_add_format(out, "report and ledger: %s\n", get_outcome(made));
}

static void add_value(struct json *json, const char *key, const struct figure_value *value)
{
    json_begin_object(json, key);
    if (value->is_present) {
        json_add_number(json, "value", value->value);
    }
    if (value->has_u) {
        json_add_number(json, "u", value->u);
    }
    json_end_object(json);
}

static void write_loop(struct json *json, const struct agreement_loop *loop)
{
    json_begin_object(json, NULL);
    json_add_text(json, "name", loop->name);
    json_add_text(json, "capture_sha256", loop->sha256);
    json_add_text(json, "state", agreement_get_name(loop->state));
    if (loop->loop > 0) {
        json_add_integer(json, "loop", loop->loop);
    }
    if (loop->now > 0) {
        json_add_integer(json, "current_loop", loop->now);
    }
    json_begin_array(json, "changes");
    for (size_t i = 0; i < loop->text_count; i++) {
        json_begin_object(json, NULL);
        json_add_text(json, "text", loop->texts[i].key);
        json_add_text(json, "report", loop->texts[i].told);
        json_add_text(json, "ledger", loop->texts[i].now);
        json_end_object(json);
    }
    for (size_t i = 0; i < loop->change_count; i++) {
        const struct agreement_change *change = &loop->changes[i];
        json_begin_object(json, NULL);
        json_add_text(json, "figure", figure_table[change->figure].key);
        add_value(json, "report", &change->told);
        add_value(json, "ledger", &change->now);
        if (!isnan(change->in_u)) {
            json_add_number(json, "difference_u", change->in_u);
        }
        json_end_object(json);
    }
    json_end_array(json);
    json_end_object(json);
}

void verification_write_json(struct text *out, const struct verification *made)
{
    struct json json;
    qualify_begin_json(&json, out, "lodecard-verification/1");
    json_add_text(&json, "file", made->file);
    json_add_text(&json, "kind", made->envelope.kind);
    json_add_text(&json, "sha256", made->envelope.sha256);
    json_add_text(&json, "outcome", get_outcome(made));
    json_begin_array(&json, "loops");
    for (size_t i = 0; i < made->count; i++) {
        write_loop(&json, &made->loops[i]);
    }
    json_end_array(&json);
    if (made->result != NULL) {
        json_begin_object(&json, made->result);
        json_add_text(&json, "state", kept_words[made->kept]);
        if (made->row > 0) {
            json_add_integer(&json, "number", made->row);
        }
        json_end_object(&json);
    }
    qualify_end_json(&json);
}
