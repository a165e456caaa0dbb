// SPDX-License-Identifier: GPL-3.0-or-later
#include "ledger/table.h"

#include <string.h>

#define STATEMENTS(name)                                                                           \
    {                                                                                              \
        name, "SELECT * FROM " name " WHERE id = ?", "DELETE FROM " name " WHERE id = ?",          \
            "SELECT * FROM " name " ORDER BY id"                                                   \
    }

const struct table_entry table_list[TABLE_COUNT] = {
    [TABLE_CHANGE_SET] = STATEMENTS("change_set"),
    [TABLE_SUPPLIER] = STATEMENTS("supplier"),
    [TABLE_ALLOY] = STATEMENTS("alloy"),
    [TABLE_HEAT] = STATEMENTS("heat"),
    [TABLE_SPECIMEN] = STATEMENTS("specimen"),
    [TABLE_SPECIMEN_VERSION] = STATEMENTS("specimen_version"),
    [TABLE_RIG] = STATEMENTS("rig"),
    [TABLE_RIG_VERSION] = STATEMENTS("rig_version"),
    [TABLE_CAPTURE] = STATEMENTS("capture"),
    [TABLE_CAPTURE_BYTES] = STATEMENTS("capture_bytes"),
    [TABLE_LOOP] = STATEMENTS("loop"),
    [TABLE_LOOP_POINTS] = STATEMENTS("loop_points"),
    [TABLE_SERIES] = STATEMENTS("series"),
    [TABLE_CARD] = STATEMENTS("card"),
    [TABLE_VERDICT] = STATEMENTS("verdict"),
    [TABLE_MADE_FROM] = STATEMENTS("made_from"),
    [TABLE_REMARK] = STATEMENTS("remark"),
    [TABLE_TAG] = STATEMENTS("tag"),
};

enum table table_find(const char *name)
{
    for (enum table i = 0; i < TABLE_COUNT; i++) {
        if (strcmp(name, table_list[i].name) == 0) {
            return i;
        }
    }
    return TABLE_COUNT;
}
