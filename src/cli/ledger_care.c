// SPDX-License-Identifier: GPL-3.0-or-later
/* `ledger undo`, `backup`, `remark` and `tag`. */
#include <stdio.h>

#include "cli/ledger.h"
#include "ledger/care.h"
#include "ledger/kind.h"

static int run_undo(const struct ledger_command *options, struct ledger *ledger, int count,
    char **words, struct error *err)
{
    struct ledger_undone undone;
    struct text out = {0};
    (void)options;
    (void)count;
    (void)words;
    enum status status = ledger_begin(ledger, err);
    if (!status)
        status = ledger_undo(ledger, &undone, err);
    if (!status)
        status = ledger_commit(ledger, err);
    if (status)
        return (int)status;
    text_add_format(&out, "took back change %lld: %s", undone.change_id, undone.command);
    if (undone.day[0])
        text_add_format(&out, ", %s", undone.day);
    if (undone.person[0])
        text_add_format(&out, ", %s", undone.person);
    text_add_format(&out, " (%zu row%s)\n", undone.rows, undone.rows == 1 ? "" : "s");
    return (int)ledger_print(&out, err);
}

const struct ledger_mode ledger_mode_undo = {
    .name = "undo",
    .access = LEDGER_WRITE,
    .run = run_undo,
};

static int run_backup(const struct ledger_command *options, struct ledger *ledger, int count,
    char **words, struct error *err)
{
    (void)options;
    (void)count;
    return (int)ledger_backup(ledger, words[0], err);
}

const struct ledger_mode ledger_mode_backup = {
    .name = "backup",
    .access = LEDGER_READ,
    .least = 1,
    .most = 1,
    .needs = "a file",
    .run = run_backup,
};

static enum status write_remark(struct ledger *ledger, enum ledger_kind kind, long long id,
    const char *words, struct error *err)
{
    enum status status = ledger_begin(ledger, err);
    if (!status)
        status = ledger_add_remark(ledger, kind, id, words, err);
    return status ? status : ledger_commit(ledger, err);
}

static int run_remark(const struct ledger_command *options, struct ledger *ledger, int count,
    char **words, struct error *err)
{
    enum ledger_kind kind = LEDGER_KIND_COUNT;
    long long id = 0;
    (void)options;
    (void)count;
    enum status status = ledger_kind_read(words[0], &kind, err);
    if (!status)
        status = ledger_find_row(ledger, kind, words[1], &id, err);
    if (!status)
        status = write_remark(ledger, kind, id, words[2], err);
    return (int)status;
}

const struct ledger_mode ledger_mode_remark = {
    .name = "remark",
    .access = LEDGER_WRITE,
    .least = 3,
    .most = 3,
    .needs = "a kind, a name and the words, such as \"heat H2291 'certificate missing'\"",
    .run = run_remark,
};

static enum status write_tag(struct ledger *ledger, enum ledger_kind kind, long long id,
    const char *word, bool removes, bool *was_there, struct error *err)
{
    enum status status = ledger_begin(ledger, err);
    if (!status)
        status = removes ? ledger_remove_tag(ledger, kind, id, word, was_there, err)
                         : ledger_add_tag(ledger, kind, id, word, was_there, err);
    return status ? status : ledger_commit(ledger, err);
}

static int run_tag(const struct ledger_command *options, struct ledger *ledger, int count,
    char **words, struct error *err)
{
    enum ledger_kind kind = LEDGER_KIND_COUNT;
    long long id = 0;
    bool was_there = false;
    (void)count;
    enum status status = ledger_kind_read(words[0], &kind, err);
    if (!status)
        status = ledger_find_row(ledger, kind, words[1], &id, err);
    if (!status)
        status = write_tag(ledger, kind, id, words[2], options->removes, &was_there, err);
    if (!status && options->removes && !was_there)
        status = fail(err, STATUS_USAGE, "'lodecard ledger show' lists its tags",
            "%s '%.80s' has no tag '%.80s'", words[0], words[1], words[2]);
    return (int)status;
}

static const char *const own[] = {"remove", NULL};
const struct ledger_mode ledger_mode_tag = {
    .name = "tag",
    .options = own,
    .access = LEDGER_WRITE,
    .least = 3,
    .most = 3,
    .needs = "a kind, a name and the tag, such as 'specimen R-17 reference'",
    .run = run_tag,
};
