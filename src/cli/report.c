// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/report.h"

#include <string.h>

#include "cli/command.h"
#include "cli/common_options.h"
#include "cli/output.h"
#include "setup/date.h"

static const struct verb *const verb_list[] = {&report_loop, &report_series, &report_lot,
    &report_compare, &report_gauge, &report_verify, NULL};

static const char *const page_names[] = {[DOCUMENT_A4] = "a4", [DOCUMENT_LETTER] = "letter"};

#define AT(member) .offset = offsetof(struct report_command, member)
static const struct option report_table[] = {
    {.name = "", .help = "What is written"},
    {.name = "output",
        .letter = 'o',
        .value = "FILE",
        .type = OPTION_TEXTS,
        AT(outputs),
        .help = "the report: .pdf or .html; give it twice for both"},
    {.name = "page",
        .value = "SIZE",
        .type = OPTION_TEXT,
        AT(page),
        .help = "the paper of a PDF: a4 (default) or letter"},
    {.name = "", .help = "What stands at its head and its end"},
    {.name = "title",
        .value = "TEXT",
        .type = OPTION_TEXT,
        AT(title),
        .help = "instead of the kind's own title"},
    {.name = "number",
        .value = "TEXT",
        .type = OPTION_TEXT,
        AT(number),
        .help = "the number under which the report is filed"},
    {.name = "date",
        .value = "DATE",
        .type = OPTION_TEXT,
        AT(date),
        .help = "its day, such as 2026-11-25 (default: none, so that the same input gives the same "
                "bytes)"},
    {.name = "laboratory",
        .value = "TEXT",
        .type = OPTION_TEXT,
        AT(laboratory),
        .help = "who measured: the laboratory and where it is"},
    {.name = "order",
        .value = "TEXT",
        .type = OPTION_TEXT,
        AT(order),
        .help = "the order or delivery that the rings belong to"},
    {.name = "prepared-by",
        .value = "NAME",
        .type = OPTION_TEXT,
        AT(prepared_by),
        .help = "the name below the first line to sign on"},
    {.name = "remark",
        .value = "TEXT",
        .type = OPTION_TEXTS,
        AT(remarks),
        .help = "a paragraph ahead of the signatures; may be given several times"},
    {.name = "", .help = "What is read"},
    {.table = judging_options, AT(asked)},
    {.name = "figure",
        .letter = 'f',
        .value = "NAME",
        .type = OPTION_TEXTS,
        AT(figures),
        .help = "the figure that is looked at, such as coercivity; may be given several times "
                "(default: those of --limits)"},
    {.name = "margin",
        .value = "VALUE",
        .type = OPTION_TEXTS,
        AT(margins),
        .help = "compare: the largest difference that does not matter, such as '0.5 kA/m', for "
                "each --figure in their order"},
    {.name = "at",
        .value = "'PEAK VALUE'",
        .type = OPTION_TEXT,
        AT(asked.at),
        .help = "interpolate figures to this peak: 'field_peak 30 kA/m', each specimen's; with "
                "'series' '30 kA/m' or '1 T'"},
    {.table = setup_options, AT(asked.setup)},
    {.name = "", .help = "What a series is worked out from"},
    {.table = steel_options, AT(wants.options)},
    {.table = series_choice_options, AT(wants.options)},
    {.table = separation_options, AT(wants)},
    {.table = model_options, AT(wants.models)},
    {.name = "", .help = "How captures are read"},
    {.table = today_options, AT(reading)},
    {.table = excerpt_options, AT(reading.capture)},
    {.table = fit_options, AT(reading)},
    {.table = jobs_options, AT(threads)},
    {.name = "", .help = "From the ledger, instead of or beside IN"},
    {.table = ledger_file_options, AT(asked.choice)},
    {.table = ledger_choice_options, AT(asked.choice)},
    {.name = "", .help = "Of verify"},
    {.table = json_options, AT(asked.json)},
    {0},
};

static const struct example report_examples[] = {
    {"lodecard report loop ring.flac -o ring.pdf -o ring.html",
        "one loop: figures, uncertainty, notes"},
    {"lodecard report series steel.jsonl --model tellinen -o steel.pdf",
        "the sheet of a steel, with a model of its loops"},
    {"lodecard report lot --limits limits.yaml h2291/*/*.flac -o h2291.pdf",
        "the verdict on a heat, to sign and file"},
    {"lodecard report lot --limits limits.yaml loops.jsonl --number QL-0107 --date 2026-11-25 "
     "-o lot.pdf -o lot.html --page letter",
        "the same from loops, as PDF on Letter paper and as HTML"},
    {"lodecard report lot --limits limits.yaml --ledger lab.ledger --heat H2291 -o h2291.pdf",
        "of the loops of a heat that the ledger holds"},
    {"lodecard report compare --figure coercivity --margin '0.5 kA/m' old/*.json new/*.json -o "
     "compare.pdf",
        "is the new supplier as good as the present one?"},
    {"lodecard report gauge --limits limits.yaml study/*.json -o bench.pdf",
        "what the bench itself scatters, against the limits"},
    {"lodecard report verify h2291.pdf --ledger lodecard.ledger",
        "years later: do its numbers still agree?"},
    {0},
};

static enum status find_page(
    const struct report_command *options, enum document_page *page, struct error *err)
{
    *page = DOCUMENT_A4;
    for (int i = DOCUMENT_A4; i <= DOCUMENT_LETTER && options->page != NULL; i++) {
        if (strcmp(options->page, page_names[i]) == 0) {
            *page = (enum document_page)i;
            return STATUS_OK;
        }
    }
    return options->page == NULL ? STATUS_OK
                                 : fail(err, STATUS_USAGE, "a4 or letter",
                                       "option '--page' does not know '%.80s'", options->page);
}

enum status report_check(
    const struct report_command *options, char *const *inputs, int count, struct error *err)
{
    enum document_page page;
    long day;
    if (options->outputs.count == 0) {
        return fail(
            err, STATUS_USAGE, "add -o FILE.pdf or -o FILE.html", "'report' needs a file to write");
    }
    enum status status = find_page(options, &page, err);
    for (size_t i = 0; i < options->outputs.count && status == STATUS_OK; i++) {
        status = document_check_path(options->outputs.list[i], err);
    }
    if (status == STATUS_OK && options->date != NULL &&
        date_read(options->date, &day, err) != STATUS_OK) {
        status = err->status = STATUS_USAGE;
    }
    if (status == STATUS_OK) {
        status =
            output_check(options->outputs.list, options->outputs.count, inputs, (size_t)count, err);
    }
    return status;
}

enum status report_find_figures(const struct report_command *options, const struct limits *limits,
    struct report_figures *figures, struct error *err)
{
    *figures = (struct report_figures){0};
    for (size_t i = 0; i < options->figures.count; i++) {
        const struct qualify_command one = {.figure = options->figures.list[i]};
        enum figure figure;
        enum status status = qualify_find_figure(&one, &figure, err);
        if (status != STATUS_OK) {
            return status;
        }
        for (size_t k = 0; k < figures->count; k++) {
            if (figures->list[k] == figure) {
                return fail(err, STATUS_USAGE, "give each figure once",
                    "option '--figure' has '%s' twice", figure_table[figure].word);
            }
        }
        figures->list[figures->count++] = figure;
    }
    for (size_t f = 0; f < FIGURE_COUNT && options->figures.count == 0 && limits != NULL; f++) {
        if (limit_is_present(&limits->figures[f])) {
            figures->list[figures->count++] = (enum figure)f;
        }
    }
    return figures->count > 0 ? STATUS_OK
                              : fail(err, STATUS_USAGE, "such as --figure coercivity, or --limits",
                                    "it takes the figures that are looked at");
}

const char *report_find_common(const struct series *series, size_t offset)
{
    const char *found = NULL;
    for (size_t i = 0; i < series->count; i++) {
        const size_t setup = series->loops[i].setup;
        const char *words =
            setup == SERIES_NONE
                ? NULL
                : *(char *const *)((const char *)&series->setups[setup].steel + offset);
        if (words == NULL || (found != NULL && strcmp(found, words) != 0)) {
            return "";
        }
        found = words;
    }
    return found != NULL ? found : "";
}

struct report_words report_get_words(const struct report_command *options)
{
    struct report_words words = {.title = options->title,
        .number = options->number,
        .date = options->date,
        .laboratory = options->laboratory,
        .order = options->order,
        .prepared_by = options->prepared_by,
        .remarks = options->remarks.list,
        .remark_count = options->remarks.count};
    if (find_page(options, &words.page, NULL) != STATUS_OK) {
        words.page = DOCUMENT_A4; /* report_check told it */
    }
    return words;
}

enum status report_write(const struct report_command *options, struct document *document,
    const struct text *data, struct error *err)
{
    enum status status = data->failed ? fail_memory(err) : STATUS_OK;
    if (status == STATUS_OK) {
        document_set_data(document, data->bytes);
    }
    for (size_t i = 0; i < options->outputs.count && status == STATUS_OK; i++) {
        status = document_write(document, options->outputs.list[i], err);
    }
    return status;
}

static bool get_verb(size_t index, struct command_verb *verb)
{
    return verb_get(verb_list, NULL, index, verb);
}

static int run_report(const struct command *command, int count, char **words, struct error *err)
{
    static const struct report_command untouched = {.threads = 1};
    struct report_command options = untouched;
    return verb_run(command, verb_list, NULL, &options, &untouched, count, words, err);
}

const struct command command_report = {
    .name = "report",
    .group = "From loops to decisions",
    .purpose = "a PDF or HTML page to sign and file",
    .synopsis = "KIND [OPTION]... IN...",
    .description =
        "Writes a report as PDF or as one HTML file that needs nothing else. IN is what 'series' "
        "and 'qualify' take: captures, loop JSON, JSON lines, tables of measured loops. The "
        "numbers behind the report are kept in its file, with a digest. KIND is\n\n"
        "loop: loops of captures, read as 'loop' reads them: specimen and rig, the loop and its "
        "waveforms, every figure with its expanded uncertainty and what that is made of, the "
        "notes. "
        "Several captures have a table ahead, and a page or more each; one that fails is told "
        "there, and the exit status is the highest of them.\n\n"
        "series: the sheet of a steel from what 'series' takes: normal curve, all loops, "
        "separation "
        "of losses with residuals, power law, saturation, and models where --model asks for "
        "them.\n\n"
        "lot: the verdict on the rings and lots of an acceptance file: each ring with its "
        "uncertainty, what may be said of the lot, charts, and the recordings by their SHA-256. "
        "Exit status as of 'qualify': 0 (accepted), 10 (rejected) or 11 (undecided); the report "
        "is written all the same.\n\n"
        "compare: two suppliers or two heats: difference, interval, equivalence, scatter.\n\n"
        "gauge: repeatability and reproducibility of the bench, from rings measured several times "
        "on one bench or more.\n\n"
        "verify FILE: whether the numbers that a report carries are still those of a ledger: that "
        "nobody changed them since they were written (their SHA-256), each loop by the hash of its "
        "capture, and its verdict or series, if the ledger keeps one. Results that a ledger does "
        "not keep are not compared, and what is printed on the pages is not read. A SHA-256 is no "
        "signature: who changes the numbers together with it is found by the ledger alone. Exit "
        "status 0 (all agree), 10 (something differs, or was computed "
        "anew since) or 11 (captures that the ledger does not have).\n\n"
        "docs/report.md tells what each kind holds, and how to sign and file it.",
    .options = report_table,
    .examples = report_examples,
    .get_verb = get_verb,
    .run = run_report,
};
