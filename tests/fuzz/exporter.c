// SPDX-License-Identifier: GPL-3.0-or-later
/* An exporter's script with a small card. Fuzzed, it runs in this process and with smaller shares
 * of time and memory; replayed, in a child process as always. */
#include <string.h>

#include "card/script.h"
#include "card/script_state.h"
#include "fuzz.h"

static const char card_words[] =
    "{\"schema\": \"lodecard-card/1\", \"name\": \"RS-36\", \"figures\": {\"remanence_T\": 1.05},"
    "\"normal_curve\": {\"field_peak_A_per_m\": [1e3, 2e3], \"flux_density_peak_T\": [0.2, 0.5]},"
    "\"solver\": {\"curve\": {\"field_A_per_m\": [0, 1e3], \"flux_density_T\": [0, 1],"
    "\"slope_H_per_m\": [1e-3, 1e-3]}}, \"loops\": []}";

static const struct tree *get_card(void)
{
    static struct tree *card;
    struct error err = {0};
    if (card == NULL) {
        enum status status =
            tree_read_bytes("card.json", card_words, strlen(card_words), &card, &err);
        fuzz_need(status == STATUS_OK, err.message);
    }
    return card;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const struct script script = {"own.lua", (const char *)data, size};
    const struct script_option option = {"table", "curve"};
    const struct script_input input = {
        .card = get_card(),
        .file = "card.json",
        .sha256 = "0000000000000000000000000000000000000000000000000000000000000000",
        .options = &option,
        .option_count = size % 2,
    };
    struct text out = {0};
    struct error err = {0};
#ifdef FUZZING_BUILD_MODE_UNSAFE_FOR_PRODUCTION
    (void)fuzz_judge(script_state_run(&script, &input, &out, &err), &err);
#else
    (void)fuzz_judge(script_run(&script, &input, &out, &err), &err);
#endif
    text_clear(&out);
    return 0;
}
