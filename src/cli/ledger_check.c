// SPDX-License-Identifier: GPL-3.0-or-later
/* `ledger check`: is everything as it was written? Exit status 2 when it is not. */
#include "cli/ledger.h"
#include "ledger/check.h"

static void tell_fault(const char *words, void *user)
{
    text_add_format(user, "fault: %s\n", words);
}

static int run_check(const struct ledger_command *options, struct ledger *ledger, int count,
    char **words, struct error *err)
{
    struct text out = {0};
    struct ledger_check check;
    const struct ledger_check_options checked = {.head = options->head,
        .reads_captures = options->reads_captures,
        .tell = tell_fault,
        .user = &out};
    (void)count;
    (void)words;
    enum status status = ledger_check(ledger, &checked, &check, err);
    if (status)
        return text_clear(&out), (int)status;
    if (options->reads_captures)
        text_add_format(
            &out, "%zu captures read, %zu not where they lay\n", check.captures, check.missing);
    text_add_format(&out, "%zu rows and %zu lines of the journal: ", check.rows, check.lines);
    if (check.faults == 0)
        text_add(&out, "all as written\n");
    else
        text_add_format(&out, "%zu fault%s\n", check.faults, check.faults == 1 ? "" : "s");
    text_add_format(&out, "head %s\n", check.head);
    status = ledger_print(&out, err);
    if (!status && check.faults > 0)
        status = fail(err, STATUS_INPUT,
            "keep the file as it is, look who wrote to it, and go back to a backup",
            "'%s' is not as it was written", ledger_get_path(ledger));
    return (int)status;
}

static const char *const own[] = {"head", "captures", NULL};
const struct ledger_mode ledger_mode_check = {
    .name = "check",
    .options = own,
    .access = LEDGER_READ,
    .run = run_check,
};
