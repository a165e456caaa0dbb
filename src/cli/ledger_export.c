// SPDX-License-Identifier: GPL-3.0-or-later
/* `ledger export` and `import`. */
#include <stdio.h>
#include <string.h>

#include "cli/ledger.h"
#include "cli/ledger_find.h"
#include "cli/output.h"
#include "ledger/folder.h"
#include "ledger/source.h"

struct writing {
    struct output output;
    struct text line;
};

static enum status write_loop(const struct ledger_source *source, void *user, struct error *err)
{
    struct writing *writing = user;
    writing->line.length = 0;
    enum status status = ledger_source_write(source, &writing->line, err);
    if (!status)
        output_add(&writing->output, writing->line.bytes, writing->line.length);
    return status;
}

static enum status write_lines(
    struct ledger *ledger, const struct ledger_search *search, const char *path, struct error *err)
{
    struct writing writing = {.output = {.path = path}};
    enum status status = output_check(&path, 1, NULL, 0, err);
    if (!status)
        status = ledger_visit_sources(ledger, search, write_loop, &writing, err);
    if (!status && !output_is_stdout(&writing.output))
        text_add(&writing.output.kept, ""); /* no loop: an empty file */
    if (!status)
        status = output_finish(&writing.output, err);
    output_clear(&writing.output);
    text_clear(&writing.line);
    return status;
}

static enum status check_places(const struct ledger_command *options, struct error *err)
{
    bool has_stdout = options->csv && !strcmp(options->csv, "-");
    if (!options->csv && !options->json_lines && !options->folder)
        return fail(err, STATUS_USAGE, "--csv [FILE], --json-lines [FILE] or --folder FOLDER",
            "'ledger export' has no place to write to");
    if (has_stdout && options->json_lines && !strcmp(options->json_lines, "-"))
        return fail(err, STATUS_USAGE, "give one of them a file",
            "CSV and JSON would both go to standard output");
    return STATUS_OK;
}

static int run_export(const struct ledger_command *options, struct ledger *ledger, int count,
    char **words, struct error *err)
{
    struct ledger_search search;
    (void)count;
    (void)words;
    enum status status = check_places(options, err);
    if (status)
        return (int)status;
    struct ledger_where *where = ledger_choice_read_where(&options->choice, err);
    if (!where)
        return (int)err->status;
    status = ledger_read_search(options, where, &search, err);
    search.limit = 0;
    if (!status && options->csv)
        status = ledger_write_csv(ledger, &search, options->csv, err);
    if (!status && options->json_lines)
        status = write_lines(ledger, &search, options->json_lines, err);
    if (!status && options->folder)
        status = ledger_export_folder(ledger, options->folder, err);
    ledger_where_destroy(where);
    return (int)status;
}

static const char *const own[] = {"where", "supplier", "alloy", "heat", "tag", "old", "sort",
    "falling", "csv", "json-lines", "folder", NULL};
const struct ledger_mode ledger_mode_export = {
    .name = "export",
    .options = own,
    .access = LEDGER_READ,
    .needs = "its place as an option",
    .run = run_export,
};

static int run_import(const struct ledger_command *options, struct ledger *ledger, int count,
    char **words, struct error *err)
{
    struct text out = {0};
    size_t rows = 0;
    (void)options;
    (void)count;
    enum status status = ledger_import_folder(ledger, words[0], &rows, err);
    if (status)
        return (int)status;
    text_add_format(&out, "%zu rows, all as they were written\n", rows);
    return (int)ledger_print(&out, err);
}

const struct ledger_mode ledger_mode_import = {
    .name = "import",
    .access = LEDGER_CREATE,
    .least = 1,
    .most = 1,
    .needs = "a folder that 'ledger export --folder' made",
    .run = run_import,
};
