// SPDX-License-Identifier: GPL-3.0-or-later
/* Lua with guard rails. The pitfalls that shaped it:
 *   - a script that loops over pcall swallows the error of the instruction hook: once the share is
 *     used up, the hook comes with every instruction and raises again until nothing is left to
 * catch;
 *   - finalizers and the handlers of xpcall run where the hook is off: there are none here;
 *   - a pattern runs inside C, where no hook looks: the process around it has a limit;
 *   - random numbers, and the order of Lua's own `next`, change from run to run: they are left out,
 *     and `pairs` sorts (prelude.lua). */
#include "card/script_state.h"

#include <lauxlib.h>
#include <lualib.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/version.h"
#include "card/exporter_list.h"
#include "card/script_tree.h"

#define HOOK_INTERVAL 1000

/* What the callbacks need; found through Lua's allocator. */
struct guard {
    const struct script *script;
    const struct script_input *input;
    struct text *out;
    size_t memory;
    long instructions;
    char refusal[1024]; /* the script's own words */
    char hint[256];
    enum status refused; /* what the refusal is: of the card, or of an option */
};

static struct guard *get_guard(lua_State *lua)
{
    void *guard = NULL;
    (void)lua_getallocf(lua, &guard);
    return guard;
}

static void *allocate(void *data, void *old, size_t old_size, size_t size)
{
    struct guard *guard = data;
    size_t held = old ? old_size : 0;
    if (size == 0) {
        guard->memory -= held;
        memory_destroy(old);
        return NULL;
    }
    if (size > held && size - held > SCRIPT_MEMORY - guard->memory)
        return NULL;
    void *memory = memory_resize(old, size, 1);
    if (memory)
        guard->memory += size - held;
    return memory;
}

static void count_instructions(lua_State *lua, lua_Debug *place)
{
    struct guard *guard = get_guard(lua);
    guard->instructions += HOOK_INTERVAL;
    if (guard->instructions <= SCRIPT_INSTRUCTIONS)
        return;
    lua_sethook(lua, count_instructions, LUA_MASKCOUNT, 1);
    lua_getinfo(lua, "Sl", place);
    luaL_error(lua, "%s:%d: used more than its share of time, %d million instructions",
        place->short_src, place->currentline, (int)(SCRIPT_INSTRUCTIONS / 1000000));
}

/* --- functions for scripts ---------------------------------------------------------------------
 */

/* number(x): the shortest decimal form that reads back to the same double. */
static int get_number_text(lua_State *lua)
{
    char buffer[TEXT_NUMBER_SIZE];
    lua_pushstring(lua, text_number(buffer, luaL_checknumber(lua, 1)));
    return 1;
}

/* refuse(message, hint, is_usage): this card does not serve, or these options. */
static int refuse(lua_State *lua)
{
    struct guard *guard = get_guard(lua);
    /* With a precision, for else texts of megabytes are walked through to their ends. */
    (void)snprintf(guard->refusal, sizeof guard->refusal, "%.*s", (int)sizeof guard->refusal - 1,
        luaL_checkstring(lua, 1));
    (void)snprintf(guard->hint, sizeof guard->hint, "%.*s", (int)sizeof guard->hint - 1,
        luaL_optstring(lua, 2, ""));
    guard->refused = lua_toboolean(lua, 3) ? STATUS_USAGE : STATUS_INPUT;
    lua_pushlightuserdata(lua, guard);
    return lua_error(lua);
}

static void set_text(lua_State *lua, const char *key, const char *words)
{
    lua_pushstring(lua, words);
    lua_setfield(lua, -2, key);
}

/* about = {file, sha256, version, exporter}, and the options of the command line for the prelude.
 */
static void push_about(lua_State *lua, const struct guard *guard)
{
    lua_newtable(lua);
    set_text(lua, "file", guard->input->file);
    set_text(lua, "sha256", guard->input->sha256);
    set_text(lua, "version", LODECARD_VERSION);
    set_text(lua, "exporter", guard->script->name);
}

static void push_options(lua_State *lua, const struct script_input *input)
{
    lua_newtable(lua);
    for (size_t i = 0; i < input->option_count; i++)
        set_text(lua, input->options[i].key, input->options[i].value);
}

/* --- the course --------------------------------------------------------------------------------
 */

static void open_libraries(lua_State *lua)
{
    luaL_requiref(lua, LUA_GNAME, luaopen_base, 1);
    luaL_requiref(lua, LUA_STRLIBNAME, luaopen_string, 1);
    luaL_requiref(lua, LUA_TABLIBNAME, luaopen_table, 1);
    luaL_requiref(lua, LUA_MATHLIBNAME, luaopen_math, 1);
    lua_settop(lua, 0);
    lua_pushcfunction(lua, get_number_text);
    lua_setglobal(lua, "number");
    lua_pushcfunction(lua, refuse);
    lua_setglobal(lua, "refuse");
}

static void remove_member(lua_State *lua, const char *library, const char *name)
{
    if (lua_getglobal(lua, library) != LUA_TTABLE)
        luaL_error(lua, "there is no library '%s'", library);
    lua_pushnil(lua);
    lua_setfield(lua, -2, name);
    lua_pop(lua, 1);
}

static void close_doors(lua_State *lua)
{
    static const char *const names[] = {"load", "loadfile", "dofile", "print", "warn", "require",
        "collectgarbage", "next", "rawset", "rawget", "rawlen", "rawequal", "xpcall", NULL};
    for (const char *const *name = names; *name; name++)
        remove_member(lua, LUA_GNAME, *name);
    remove_member(lua, LUA_STRLIBNAME, "dump");
    remove_member(lua, LUA_MATHLIBNAME, "random");
    remove_member(lua, LUA_MATHLIBNAME, "randomseed");
    lua_pushliteral(lua, "");
    lua_getmetatable(lua, -1);
    set_text(lua, "__metatable", "read-only");
    lua_settop(lua, 0);
}

static void load(lua_State *lua, const char *name, const char *bytes, size_t length)
{
    lua_pushfstring(lua, "=%s", name);
    if (luaL_loadbufferx(lua, bytes, length, lua_tostring(lua, -1), "t") != LUA_OK)
        lua_error(lua);
    lua_remove(lua, -2);
}

/* The prelude gives a function that is called behind the script. */
static void run_prelude(lua_State *lua, const struct guard *guard)
{
    size_t length = (size_t)(exporter_prelude.end - exporter_prelude.bytes);
    load(lua, "prelude.lua", exporter_prelude.bytes, length);
    push_options(lua, guard->input);
    lua_call(lua, 1, 1);
}

static void add_piece(lua_State *lua, struct guard *guard, lua_Integer place)
{
    size_t length = 0;
    if (lua_type(lua, -1) != LUA_TSTRING && place > 0)
        luaL_error(lua, "%s: piece %I of the result is a %s, not a text", guard->script->name,
            (LUAI_UACINT)place, luaL_typename(lua, -1));
    if (lua_type(lua, -1) != LUA_TSTRING)
        luaL_error(lua, "%s: the result is a %s, not a text or a list of texts",
            guard->script->name, luaL_typename(lua, -1));
    const char *bytes = lua_tolstring(lua, -1, &length);
    if (length > SCRIPT_RESULT - guard->out->length)
        luaL_error(lua, "%s: the result is longer than %d MiB", guard->script->name,
            (int)(SCRIPT_RESULT >> 20));
    text_add_bytes(guard->out, bytes, length);
}

static void take_result(lua_State *lua, struct guard *guard)
{
    if (lua_type(lua, -1) != LUA_TTABLE) {
        add_piece(lua, guard, 0);
        return;
    }
    if (luaL_getmetafield(lua, -1, "keys") != LUA_TNIL)
        luaL_error(lua, "%s: the result is a part of the card, not a text or a list of texts",
            guard->script->name);
    lua_Integer count = (lua_Integer)lua_rawlen(lua, -1);
    for (lua_Integer i = 1; i <= count; i++) {
        lua_rawgeti(lua, -1, i);
        add_piece(lua, guard, i);
        lua_pop(lua, 1);
    }
}

static int run_all(lua_State *lua)
{
    struct guard *guard = get_guard(lua);
    open_libraries(lua);
    script_tree_push(lua, tree_get_root(guard->input->card));
    lua_setglobal(lua, "card");
    push_about(lua, guard);
    lua_setglobal(lua, "about");
    run_prelude(lua, guard);
    lua_Integer finish = luaL_ref(lua, LUA_REGISTRYINDEX);
    close_doors(lua);
    load(lua, guard->script->name, guard->script->bytes, guard->script->length);
    lua_sethook(lua, count_instructions, LUA_MASKCOUNT, HOOK_INTERVAL);
    lua_call(lua, 0, 1);
    lua_rawgeti(lua, LUA_REGISTRYINDEX, finish);
    lua_call(lua, 0, 0);
    take_result(lua, guard);
    return 0;
}

/* An error that is no text becomes one that says where it was raised. */
static int explain(lua_State *lua)
{
    if (lua_type(lua, 1) == LUA_TSTRING || lua_type(lua, 1) == LUA_TLIGHTUSERDATA)
        return 1;
    const char *where = "";
    for (int level = 1; level < 4 && !where[0]; level++) {
        luaL_where(lua, level);
        where = lua_tostring(lua, -1);
    }
    lua_pushfstring(lua, "%sthe script raised a %s, not a text", where, luaL_typename(lua, 1));
    return 1;
}

/* Lua's messages begin with the script's name and line where they have one. */
static enum status tell(lua_State *lua, const struct guard *guard, int result, struct error *err)
{
    static const char hint[] = "docs/exporters.md tells what an exporter finds and must give";
    const char *name = guard->script->name;
    if (result == LUA_ERRMEM)
        return fail(err, STATUS_INPUT, hint, "%s: needs more than its share of memory, %d MiB",
            name, (int)(SCRIPT_MEMORY >> 20));
    if (lua_type(lua, -1) == LUA_TLIGHTUSERDATA)
        return fail(err, guard->refused, guard->hint, "%s%s", guard->refusal,
            guard->refusal[0] ? "" : "the exporter refuses without a word");
    const char *words = lua_type(lua, -1) == LUA_TSTRING ? lua_tostring(lua, -1) : "no words";
    bool is_named = strncmp(words, name, strlen(name)) == 0 || strstr(words, ".lua:") != NULL;
    return fail(
        err, STATUS_INPUT, hint, "%s%s%.1023s", is_named ? "" : name, is_named ? "" : ": ", words);
}

enum status script_state_run(const struct script *script, const struct script_input *input,
    struct text *out, struct error *err)
{
    struct guard guard = {.script = script, .input = input, .out = out};
    lua_State *lua = lua_newstate(allocate, &guard);
    if (!lua)
        return fail_memory(err);
    lua_pushcfunction(lua, explain);
    lua_pushcfunction(lua, run_all);
    int result = lua_pcall(lua, 0, 0, 1);
    enum status status = result == LUA_OK ? STATUS_OK : tell(lua, &guard, result, err);
    if (!status && out->failed)
        status = fail_memory(err);
#ifdef FUZZING_BUILD_MODE_UNSAFE_FOR_PRODUCTION /* many scripts in one process */
    lua_close(lua);
#endif
    /* Else not: the process ends, and the script's own wishes for that moment do not count. */
    return status;
}
