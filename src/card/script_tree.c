// SPDX-License-Identifier: GPL-3.0-or-later
/* A read-only table is an empty one in front of the real one: reading goes through __index, every
 * write finds no key and meets __newindex. The keys stand in a list beside it, since Lua's own
 * order of keys changes from run to run. */
#include "card/script_tree.h"

#include <lauxlib.h>

static int refuse_write(lua_State *lua)
{
    return luaL_error(lua, "the card is read-only: copy what you want to change");
}

/* Pushes a member of the metatable of the table at index 1. */
static void push_part(lua_State *lua, const char *name)
{
    if (luaL_getmetafield(lua, 1, name) == LUA_TNIL)
        luaL_error(lua, "not a part of the card");
}

static int get_length(lua_State *lua)
{
    push_part(lua, "__index");
    lua_pushinteger(lua, (lua_Integer)lua_rawlen(lua, -1));
    return 1;
}

/* The iterator of `pairs`; its state is in upvalues: table, keys, place. */
static int get_next(lua_State *lua)
{
    lua_Integer place = lua_tointeger(lua, lua_upvalueindex(3)) + 1;
    lua_pushinteger(lua, place);
    lua_replace(lua, lua_upvalueindex(3));
    if (lua_rawgeti(lua, lua_upvalueindex(2), place) == LUA_TNIL)
        return 1;
    lua_pushvalue(lua, -1);
    lua_rawget(lua, lua_upvalueindex(1));
    return 2;
}

static int get_pairs(lua_State *lua)
{
    push_part(lua, "__index");
    push_part(lua, "keys");
    lua_pushinteger(lua, 0);
    lua_pushcclosure(lua, get_next, 3);
    return 1;
}

/* Takes the table and the list of keys on top of the stack, leaves the read-only table. */
static void push_guarded(lua_State *lua)
{
    lua_createtable(lua, 0, 6);
    lua_insert(lua, -3);
    lua_setfield(lua, -3, "keys");
    lua_setfield(lua, -2, "__index");
    lua_pushcfunction(lua, refuse_write);
    lua_setfield(lua, -2, "__newindex");
    lua_pushcfunction(lua, get_length);
    lua_setfield(lua, -2, "__len");
    lua_pushcfunction(lua, get_pairs);
    lua_setfield(lua, -2, "__pairs");
    lua_pushliteral(lua, "read-only");
    lua_setfield(lua, -2, "__metatable");
    lua_createtable(lua, 0, 0);
    lua_insert(lua, -2);
    lua_setmetatable(lua, -2);
}

static void push_members(lua_State *lua, const struct tree_value *value, bool is_array)
{
    int count = (int)tree_get_count(value);
    luaL_checkstack(lua, 8, "the card is nested too deeply");
    lua_createtable(lua, is_array ? count : 0, is_array ? 0 : count);
    lua_createtable(lua, count, 0);
    for (int i = 0; i < count; i++) {
        if (is_array)
            lua_pushinteger(lua, i + 1);
        else
            lua_pushstring(lua, tree_get_key_at(value, (size_t)i));
        lua_pushvalue(lua, -1);
        lua_rawseti(lua, -3, i + 1);
        script_tree_push(lua, tree_get_at(value, (size_t)i));
        lua_rawset(lua, -4);
    }
    push_guarded(lua);
}

void script_tree_push(lua_State *lua, const struct tree_value *value)
{
    double number = 0.0;
    bool is_true = false;
    switch (tree_get_kind(value)) {
    case TREE_OBJECT:
        push_members(lua, value, false);
        return;
    case TREE_ARRAY:
        push_members(lua, value, true);
        return;
    case TREE_NUMBER:
        (void)tree_get_number(value, &number);
        lua_pushnumber(lua, number);
        return;
    case TREE_TEXT:
        lua_pushstring(lua, tree_get_text(value));
        return;
    case TREE_BOOL:
        (void)tree_get_bool(value, &is_true);
        lua_pushboolean(lua, is_true);
        return;
    case TREE_NULL:
    case TREE_NONE:
        break;
    }
    lua_pushnil(lua);
}
