// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_REPORT_VERIFY_H
#define LODECARD_CLI_REPORT_VERIFY_H

#include "cli/report_agreement.h"
#include "paper/report_data.h"

/* What `report verify` finds, and how it is told. */

/* A result that ledgers keep: "verdict" or "series" of the content. */
enum kept_state {
    KEPT_NONE,  /* the report has no such result */
    KEPT_SAME,  /* the ledger has it, to the last byte */
    KEPT_OTHER, /* it has another one on the same loops */
    KEPT_NOT,   /* it has none on them */
};

struct verification {
    const char *file;
    struct report_envelope envelope;
    struct tree *tree; /* of the content */
    struct agreement_loop *loops;
    size_t count;
    size_t counts[AGREEMENT_UNKNOWN + 1];
    const char *result; /* "verdict", "series"; NULL: none that a ledger keeps */
    enum kept_state kept;
    long long row;      /* of the result in the ledger; 0 */
    const char *word;   /* of the report's verdict; "" */
    char kept_word[24]; /* of the other one */
};

bool verification_has_difference(const struct verification *made);
bool verification_is_complete(const struct verification *made); /* all could be compared */

/* For people; and the "lodecard-verification/1" object. */
void verification_add_page(struct text *out, const struct verification *made);
void verification_write_json(struct text *out, const struct verification *made);

#endif
