/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lua's patterns with a price. The matcher works in C, where no instruction is counted, and may try each repetition at
 * each length: a pattern of m bytes with k repetitions over n bytes takes about m n^(k+1) steps. That many instructions
 * are charged before it starts, so that a pattern that could run for minutes is refused at once, the same on every
 * machine. */
#include <string.h>

#include <lauxlib.h>

#include "rulebook/sandbox.h"

static double repetitions(const char *pattern, size_t size)
{
    double count = 0;
    for (size_t i = 0; i < size; i++) {
        if (pattern[i] == '%') {
            char next = i + 1 < size ? pattern[++i] : '\0';
            if (next == 'b' || (next >= '1' && next <= '9'))
                count++;
        } else if (strchr("*+-?", pattern[i])) {
            count++;
        }
    }
    return count;
}

enum { COST_OF_A_REPLACEMENT = 100 }; /* which may be a number to be written */

/* gsub's, for each match: a string is read anew, a table or a function asked. */
static double replacement_cost(lua_State *lua)
{
    int type = lua_type(lua, 3);
    if (type == LUA_TTABLE || type == LUA_TFUNCTION)
        return COST_OF_A_REPLACEMENT;
    return type == LUA_TSTRING ? (double)lua_rawlen(lua, 3) : 0;
}

int sandbox_pattern(lua_State *lua)
{
    if (lua_isfunction(lua, 3))
        sandbox_check_own(lua, 3);
    size_t subject, size;
    luaL_checklstring(lua, 1, &subject);
    const char *pattern = luaL_checklstring(lua, 2, &size);
    double price = (double)(subject + 1) * (double)(size + 1); /* all of it may be tried at each place */
    for (double count = repetitions(pattern, size); count > 0 && price < 1e15; count--)
        price *= (double)(subject + 1);
    price += (double)(subject + 1) * replacement_cost(lua);
    for (int i = 3; i <= 4; i++) /* a number, which Lua reads out of a string, too */
        price += lua_type(lua, i) == LUA_TSTRING ? (double)lua_rawlen(lua, i) : 0;
    sandbox_charge(lua, (int64_t)price);
    int count = lua_gettop(lua);
    lua_pushvalue(lua, lua_upvalueindex(1));
    lua_insert(lua, 1);
    lua_call(lua, count, LUA_MULTRET);
    return lua_gettop(lua);
}

/* Lua's own looks through all of the rest again each time that it is asked behind the last match. */
static int next_match(lua_State *lua)
{
    sandbox_charge(lua, 1);
    lua_settop(lua, 0);
    if (lua_isnil(lua, lua_upvalueindex(1)))
        return 0;
    lua_pushvalue(lua, lua_upvalueindex(1));
    lua_call(lua, 0, LUA_MULTRET);
    if (lua_isnoneornil(lua, 1)) {
        lua_pushnil(lua);
        lua_replace(lua, lua_upvalueindex(1));
    }
    return lua_gettop(lua);
}

int sandbox_matches(lua_State *lua)
{
    sandbox_pattern(lua);
    lua_settop(lua, 1);
    lua_pushcclosure(lua, next_match, 1);
    return 1;
}
