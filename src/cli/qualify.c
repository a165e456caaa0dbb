// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/qualify.h"

#include <string.h>

#include "base/version.h"
#include "cli/command.h"
#include "cli/common_options.h"
#include "cli/output.h"

static const struct verb *const verb_list[] = {
    &qualify_compare, &qualify_chart, &qualify_gauge, &qualify_parts, &qualify_plan, NULL};

#define AT(member) .offset = offsetof(struct qualify_command, member)
const struct option judging_options[] = {
    {.name = "limits",
        .letter = 'l',
        .value = "FILE",
        .type = OPTION_TEXT,
        AT(limits),
        .help = "the acceptance file (docs/qualify.md)"},
    {.name = "by",
        .value = "WORD",
        .type = OPTION_TEXT,
        AT(by),
        .help = "compare: what the two sides differ in, supplier or heat (default: whichever has "
                "two); gauge: what the conditions are, rig (default), heat or supplier"},
    {.name = "confidence",
        .value = "C",
        .type = OPTION_QUANTITY,
        .dimension = DIMENSION_NUMBER,
        .least = 0.5,
        .most = 0.999999,
        AT(confidence),
        .help = "of intervals and tests (default: 95 %)"},
    {0},
};

static const struct option qualify_table[] = {
    {.name = "", .help = "What is asked"},
    {.table = judging_options},
    {.name = "figure",
        .letter = 'f',
        .value = "NAME",
        .type = OPTION_TEXT,
        AT(figure),
        .help = "the figure that is looked at, such as coercivity"},
    {.name = "at",
        .value = "'PEAK VALUE'",
        .type = OPTION_TEXT,
        AT(at),
        .help = "interpolate each specimen's figures to this peak, such as 'field_peak 30 kA/m'"},
    {.name = "margin",
        .value = "VALUE",
        .type = OPTION_TEXT,
        AT(margin),
        .help = "compare: the largest difference that does not matter, such as '0.5 kA/m'"},
    {.name = "kind",
        .value = "WORD",
        .type = OPTION_TEXT,
        AT(kind),
        .help =
            "chart: individuals, ranges or deviations (default: by how many values a heat has)"},
    {.name = "", .help = "Of plan"},
    {.name = "good",
        .value = "SHARE",
        .type = OPTION_QUANTITY,
        .dimension = DIMENSION_NUMBER,
        .most = 0.5,
        AT(good),
        .help = "share nonconforming that should be accepted, such as '1 %' (default)"},
    {.name = "bad",
        .value = "SHARE",
        .type = OPTION_QUANTITY,
        .dimension = DIMENSION_NUMBER,
        .most = 0.5,
        AT(bad),
        .help = "share that should be rejected (default: 10 %)"},
    {.name = "producer",
        .value = "RISK",
        .type = OPTION_QUANTITY,
        .dimension = DIMENSION_NUMBER,
        .most = 0.5,
        AT(producer),
        .help = "risk that a good lot is rejected (default: 5 %)"},
    {.name = "consumer",
        .value = "RISK",
        .type = OPTION_QUANTITY,
        .dimension = DIMENSION_NUMBER,
        .most = 0.5,
        AT(consumer),
        .help = "risk that a bad lot is accepted (default: 10 %)"},
    {.name = "known",
        .type = OPTION_FLAG,
        AT(is_known),
        .help = "the standard deviation of the steel is known"},
    {.name = "", .help = "From the ledger, instead of or beside IN"},
    {.table = ledger_file_options, AT(choice)},
    {.table = ledger_choice_options, AT(choice)},
    {.name = "keep",
        .type = OPTION_FLAG,
        AT(is_kept),
        .help = "put the verdict into the ledger, with its limits and references to the loops"},
    {.name = "date",
        .value = "DATE",
        .type = OPTION_TEXT,
        AT(day),
        .help = "with --keep: the day of the verdict, such as 2026-11-25 (default: none: the "
                "program asks no clock)"},
    {.name = "person",
        .value = "NAME",
        .type = OPTION_TEXT,
        AT(person),
        .help = "with --keep: who decided"},
    {.name = "", .help = "Reading and writing"},
    {.table = setup_options, AT(setup)},
    {.table = json_options, AT(json)},
    {.name = "plot",
        .letter = 'p',
        .value = "FILE",
        .type = OPTION_TEXT,
        AT(plot),
        .help = "draw it: .svg, .png or .pdf"},
    {0},
};

static const struct example qualify_examples[] = {
    {"lodecard qualify --limits limits.yaml loops/*.json", "a verdict on each ring and on the lot"},
    {"lodecard qualify --limits limits.yaml --at 'field_peak 30 kA/m' h2291/*/*.flac --json "
     "verdict.json",
        "the same from captures at several amplitudes, each ring taken at 30 kA/m"},
    {"lodecard qualify --limits limits.yaml --heat H2291 --keep --date 2026-11-25 --person 'A. "
     "Technician'",
        "on the loops of a heat that the ledger holds; the verdict is kept there"},
    {"lodecard qualify compare --figure coercivity --margin '0.5 kA/m' old/*.json new/*.json",
        "is the new supplier as good as the present one?"},
    {"lodecard qualify chart --figure remanence heats/*.json --plot chart.pdf",
        "a control chart over heats, in the order given"},
    {"lodecard qualify gauge --figure coercivity --limits limits.yaml study/*.json",
        "what the bench itself scatters, against the limits"},
    {"lodecard qualify plan --good '1 %' --bad '10 %'", "how many rings to measure of a lot"},
    {0},
};

void qualify_begin_json(struct json *json, struct text *out, const char *schema)
{
    json_init(json, out, 2);
    json_begin_object(json, NULL);
    json_add_text(json, "schema", schema);
    json_add_text(json, "version", LODECARD_VERSION);
}

void qualify_end_json(struct json *json)
{
    json_end_object(json);
    json_finish(json);
}

enum status qualify_show_result(
    const struct qualify_command *options, struct text *page, struct text *json, struct error *err)
{
    enum status status = STATUS_OK;
    if (options->json != NULL) {
        status = output_write(options->json, json, err);
    }
    if (status == STATUS_OK && (options->json == NULL || strcmp(options->json, "-") != 0)) {
        status = output_print(page, err);
    }
    return status;
}

static bool get_verb(size_t index, struct command_verb *verb)
{
    return verb_get(verb_list, &qualify_lots, index, verb);
}

static int run_qualify(const struct command *command, int count, char **words, struct error *err)
{
    static const struct qualify_command untouched;
    struct qualify_command options = untouched;
    return verb_run(command, verb_list, &qualify_lots, &options, &untouched, count, words, err);
}

const struct command command_qualify = {
    .name = "qualify",
    .group = "From loops to decisions",
    .purpose = "verdicts on rings and lots; two suppliers side by side",
    .synopsis = "[VERB] [OPTION]... [IN]...",
    .description =
        "Decides whether rings and lots meet the limits of an acceptance file, given the "
        "uncertainty of what was measured. IN is what 'series' takes: captures, loop JSON, JSON "
        "lines, tables of measured loops. Each loop tells its specimen, heat and supplier. "
        "Loops that a ledger holds are named by conditions instead.\n\n"
        "Without a VERB: the verdict. The exit status is 0 (accepted), 10 (rejected) or 11 "
        "(undecided).\n\n"
        "compare: two suppliers or two heats, figure by figure: difference, interval, "
        "equivalence.\n\n"
        "chart: a control chart over heats, with the usual tests.\n\n"
        "gauge: repeatability and reproducibility of the bench.\n\n"
        "parts: how the scatter is shared by suppliers, heats, rings and repeats.\n\n"
        "plan: how many rings to measure, and what that lets pass.\n\n"
        "docs/qualify.md explains all of it, with its sources.",
    .options = qualify_table,
    .examples = qualify_examples,
    .get_verb = get_verb,
    .run = run_qualify,
};
