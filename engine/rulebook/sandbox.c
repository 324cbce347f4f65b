/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <lauxlib.h>
#include <stdlib.h>
#include <string.h>

#include "rulebook/sandbox_inside.h"

size_t sandbox_length(lua_State *lua, int index)
{
    lua_Unsigned length = lua_rawlen(lua, index);
    if (length > SANDBOX_LIST_MOST)
        luaL_error(lua, "a list has holes, or is too long");
    return length;
}

lua_Number sandbox_number(lua_State *lua, int index)
{
    if (lua_type(lua, index) != LUA_TNUMBER)
        luaL_error(lua, "number expected, got %s", luaL_typename(lua, index));
    return lua_tonumber(lua, index);
}

lua_Number sandbox_number_or(lua_State *lua, int index, lua_Number otherwise)
{
    return lua_isnoneornil(lua, index) ? otherwise : sandbox_number(lua, index);
}

lua_Integer sandbox_whole(lua_State *lua, int index)
{
    sandbox_number(lua, index);
    return luaL_checkinteger(lua, index);
}

void sandbox_check_own(lua_State *lua, int index)
{
    luaL_checktype(lua, index, LUA_TFUNCTION);
    if (lua_iscfunction(lua, index))
        luaL_error(lua, "a function of the rule's own expected");
}

struct sandbox *sandbox_new(void)
{
    struct sandbox *sandbox = memory_new(sizeof *sandbox);
    sandbox->budget = SANDBOX_SITE_BUDGET;
    sandbox->lua = lua_newstate(limits_allocate, sandbox);
    if (!sandbox->lua)
        abort();
    *(struct sandbox **)lua_getextraspace(sandbox->lua) = sandbox;
    lua_pushcfunction(sandbox->lua, sandbox_build_allowed);
    lua_call(sandbox->lua, 0, 1);
    sandbox->allowed = luaL_ref(sandbox->lua, LUA_REGISTRYINDEX);
    lua_sethook(sandbox->lua, limits_count, LUA_MASKCOUNT, HOOK_EVERY);
    return sandbox;
}

void sandbox_free(struct sandbox *sandbox)
{
    if (!sandbox)
        return;
    lua_close(sandbox->lua);
    memory_free(sandbox);
}

lua_State *sandbox_lua(struct sandbox *sandbox) { return sandbox->lua; }

void sandbox_offer(struct sandbox *sandbox, const char *name, lua_CFunction function, void *upvalue)
{
    lua_State *lua = sandbox->lua;
    lua_rawgeti(lua, LUA_REGISTRYINDEX, sandbox->allowed);
    lua_pushlightuserdata(lua, upvalue);
    lua_pushcclosure(lua, function, 1);
    lua_setfield(lua, -2, name);
    lua_pop(lua, 1);
}

void sandbox_offer_in(struct sandbox *sandbox, const char *library, const char *name, lua_CFunction function,
                      void *upvalue)
{
    lua_State *lua = sandbox->lua;
    lua_rawgeti(lua, LUA_REGISTRYINDEX, sandbox->allowed);
    luaL_getsubtable(lua, -1, library);
    lua_pushlightuserdata(lua, upvalue);
    lua_pushcclosure(lua, function, 1);
    lua_setfield(lua, -2, name);
    lua_pop(lua, 2);
}

/* Copies the table at the top: its functions as they are, its libraries each into a new table. */
static void copy_table(lua_State *lua, bool deep)
{
    int from = lua_gettop(lua);
    lua_newtable(lua);
    lua_pushnil(lua);
    while (lua_next(lua, from)) {
        lua_pushvalue(lua, -2);
        lua_insert(lua, -2);
        if (deep && lua_istable(lua, -1)) {
            copy_table(lua, false);
        }
        lua_settable(lua, from + 1);
    }
    lua_remove(lua, from);
}

void sandbox_push_environment(lua_State *lua)
{
    lua_rawgeti(lua, LUA_REGISTRYINDEX, sandbox_of(lua)->allowed);
    copy_table(lua, true);
}

/* Does it have a NUL, or an escape that makes one? In a comment, too: whoever needs one there can live without. */
static bool makes_nul(struct text source)
{
    static const char *const escapes[] = {"\\0", "\\x00", "\\u{0"};
    if (source.size > 0 && memchr(source.data, '\0', source.size))
        return true;
    for (size_t i = 0; i < source.size; i++)
        for (size_t e = 0; source.data[i] == '\\' && e < sizeof escapes / sizeof *escapes; e++)
            if (text_starts((struct text){source.data + i, source.size - i}, escapes[e]))
                return true;
    return false;
}

bool sandbox_takes(const char *shown, struct text source, struct fault *fault)
{
    if (source.size > SANDBOX_SOURCE_MOST)
        return fault_set(fault, FAULT_RULE, "%s: more than 32 KiB are no rule", shown);
    if (makes_nul(source))
        return fault_set(fault, FAULT_RULE, "%s: a NUL (\\0, \\x00) is not to be had; %%z matches one", shown);
    return true;
}

bool sandbox_compile(struct sandbox *sandbox, const char *shown, struct text source, struct sandbox_program *out,
                     struct fault *fault)
{
    lua_State *lua = sandbox->lua;
    char name[256];
    snprintf(name, sizeof name, "@%s", shown);
    sandbox->tripped = TRIPPED_NONE;
    sandbox->longest = 0;
    sandbox->held_at_first = sandbox->held;
    if (!sandbox_takes(shown, source, fault))
        return false;
    if (luaL_loadbufferx(lua, source.data, source.size, name, "t") != LUA_OK) {
        fault_set(fault, FAULT_RULE, "%s", lua_tostring(lua, -1));
        lua_pop(lua, 1);
        return false;
    }
    *out = (struct sandbox_program){.shown = shown,
                                    .chunk = luaL_ref(lua, LUA_REGISTRYINDEX),
                                    .longest = sandbox->longest,
                                    .left = SANDBOX_ALL_BUDGET,
                                    .time_left = SANDBOX_MICROSECONDS,
                                    .keys_most = SANDBOX_KEYS,
                                    .bytes_most = SANDBOX_BYTES};
    return true;
}

enum { REASON_SIZE = 64 };

/* NULL: what the error itself says. */
static const char *reason_of(enum tripped tripped, int status, size_t bytes_most, char reason[REASON_SIZE])
{
    switch (tripped) {
    case TRIPPED_MEMORY:
        snprintf(reason, REASON_SIZE, "used more than %zu MiB of memory", bytes_most >> 20);
        return reason;
    case TRIPPED_KEPT:
        return "kept more than 1 MiB of memory for its next call";
    case TRIPPED_KEYS:
        return "made a table of more keys than there is need for";
    case TRIPPED_STRING:
        return "made a string of more than 256 KiB";
    case TRIPPED_BUDGET:
        return status == LUA_ERRMEM || status == LUA_OK ? SANDBOX_OUT_OF_BUDGET : NULL;
    default:
        return NULL;
    }
}

bool sandbox_call(struct sandbox *sandbox, struct sandbox_program *program, int arguments, int results, int64_t budget,
                  struct fault *fault)
{
    lua_State *lua = sandbox->lua;
    if (budget > program->left)
        budget = program->left;
    limits_begin(sandbox, program, budget);
    int status = lua_pcall(lua, arguments, results, 0);
    limits_end(sandbox, budget);
    if (status == LUA_ERRMEM && sandbox->tripped == TRIPPED_NONE) /* it could not look for garbage */
        sandbox->tripped = TRIPPED_MEMORY;
    if (status == LUA_OK && sandbox->tripped == TRIPPED_NONE)
        return true;
    if (status == LUA_OK) {
        lua_pop(lua, results);
        lua_pushliteral(lua, "went beyond its limits");
    }
    char reason[REASON_SIZE];
    const char *text = reason_of(sandbox->tripped, status, program->bytes_most, reason);
    if (text == NULL)
        text = lua_type(lua, -1) == LUA_TSTRING ? lua_tostring(lua, -1) : "stopped with an error that is no text";
    bool is_named = text_starts(text_of(text), program->shown); /* Lua's own messages begin with file and line */
    fault_set(fault, FAULT_RULE, "%s%s%s", is_named ? "" : program->shown, is_named ? "" : ": ", text);
    lua_pop(lua, 1);
    lua_gc(lua, LUA_GCCOLLECT);
    return false;
}
