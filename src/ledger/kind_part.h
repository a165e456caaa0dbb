// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LEDGER_KIND_PART_H
#define LODECARD_LEDGER_KIND_PART_H

#include "ledger/kind.h"
#include "ledger/table.h"

enum table kind_get_table(enum ledger_kind kind);

#endif
