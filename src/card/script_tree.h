// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CARD_SCRIPT_TREE_H
#define LODECARD_CARD_SCRIPT_TREE_H

#include <lua.h>

#include "base/tree.h"

/* Pushes a value of a tree: objects and arrays as tables that cannot be written to, whose `pairs`
 * gives members in the order of the file; null as nil. Raises Lua's errors. */
void script_tree_push(lua_State *lua, const struct tree_value *value);

#endif
