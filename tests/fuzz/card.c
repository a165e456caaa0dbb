// SPDX-License-Identifier: GPL-3.0-or-later
/* A material card: read, checked, written, read again; and taken as the steel of a motor. */
#include "card/card.h"

#include <string.h>

#include "base/memory.h"
#include "card/check.h"
#include "fuzz.h"
#include "motor/steel.h"

static void write_again(const struct card *card)
{
    struct text out = {0}, twice = {0};
    struct card again = {0};
    struct error err = {0};
    fuzz_need(card_write(card, &out, &err) == STATUS_OK, "a card that was read can be written");
    fuzz_need(card_read_bytes("b.json", out.bytes, out.length, &again, &err) == STATUS_OK,
        "a card that was written can be read");
    fuzz_need(card_write(&again, &twice, &err) == STATUS_OK, "and written");
    fuzz_need(out.length == twice.length && memcmp(out.bytes, twice.bytes, out.length) == 0,
        "and is the same");
    card_clear(&again);
    text_clear(&out);
    text_clear(&twice);
}

static void use_for_motor(const char *bytes, size_t size)
{
    struct tree *tree = NULL;
    struct motor_steel steel = {0};
    struct error err = {0};
    const struct motor_wanted wanted = {.kind = WANTED_LARGEST};
    struct steel_state state;
    if (tree_read_bytes("a.json", bytes, size, &tree, &err) == STATUS_OK &&
        fuzz_judge(motor_steel_read_tree(tree, &steel, &err), &err)) {
        (void)fuzz_judge(motor_steel_find(&steel, &wanted, &state, &err), &err);
    }
    motor_steel_clear(&steel);
    tree_destroy(tree);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct card card = {0};
    struct card_findings findings = {0};
    struct error err = {0};
    if (fuzz_judge(card_read_bytes("a.json", (const char *)data, size, &card, &err), &err)) {
        (void)fuzz_judge(card_check(&card, NULL, 0, &findings, &err), &err);
        memory_destroy(findings.list);
        write_again(&card);
        card_clear(&card);
    }
    use_for_motor((const char *)data, size);
    return 0;
}
