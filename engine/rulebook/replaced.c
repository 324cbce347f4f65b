/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The functions that rules get in place of the library's: those that work long in C have a price, those that would tell
 * addresses or the order of a table do not. Each has the library's own function as its first upvalue. */
#include <math.h>
#include <string.h>

#include <lauxlib.h>

#include "rulebook/sandbox.h"

enum {
    COST_OF_WRITING = 100, /* of a number, or what may be one */
    COST_OF_DIGITS = 2000, /* up to 400 of them */
    FLAGS_FEW = 3,
};

#define LARGE 1e15

/* Where Lua wants a number it also takes a string, and reads it digit by digit. */
static void charge_strings(lua_State *lua, int first, int last)
{
    for (int i = first; i <= last && i <= lua_gettop(lua); i++)
        if (lua_type(lua, i) == LUA_TSTRING)
            sandbox_charge(lua, (int64_t)lua_rawlen(lua, i));
}

/* Keys in the order numbers, then strings by their bytes; other keys are an error, for their order would be an address.
 */
static int key_before(lua_State *lua)
{
    int a = lua_type(lua, 1), b = lua_type(lua, 2);
    if (a != b)
        lua_pushboolean(lua, a == LUA_TNUMBER);
    else
        lua_pushboolean(lua, lua_compare(lua, 1, 2, LUA_OPLT));
    return 1;
}

static int next_sorted(lua_State *lua)
{
    lua_Integer at = lua_tointeger(lua, lua_upvalueindex(2)) + 1;
    lua_pushinteger(lua, at);
    lua_replace(lua, lua_upvalueindex(2));
    if (lua_geti(lua, lua_upvalueindex(1), at) == LUA_TNIL)
        return 1;
    lua_pushvalue(lua, -1);
    lua_gettable(lua, lua_upvalueindex(3));
    return 2;
}

static int sorted_pairs(lua_State *lua)
{
    luaL_checktype(lua, 1, LUA_TTABLE);
    lua_settop(lua, 1);
    sandbox_charge_walk(lua);
    lua_newtable(lua); /* keys */
    lua_Integer count = 0;
    lua_pushnil(lua);
    while (lua_next(lua, 1)) {
        lua_pop(lua, 1);
        int type = lua_type(lua, -1);
        if (type != LUA_TNUMBER && type != LUA_TSTRING)
            return luaL_error(lua, "pairs: keys must be numbers or strings");
        lua_pushvalue(lua, -1);
        lua_seti(lua, 2, ++count);
    }
    sandbox_charge(lua, sandbox_cost_of_order(lua, (size_t)count));
    lua_pushcfunction(lua, key_before);
    sandbox_sort(lua, 2, 3);
    lua_pop(lua, 1);
    lua_pushinteger(lua, 0);
    lua_pushvalue(lua, 1);
    lua_pushcclosure(lua, next_sorted, 3);
    return 1;
}

static int plain_tostring(lua_State *lua)
{
    luaL_checkany(lua, 1);
    int type = lua_type(lua, 1);
    if (type == LUA_TNUMBER)
        sandbox_charge(lua, COST_OF_WRITING);
    if (type == LUA_TSTRING || type == LUA_TNUMBER || type == LUA_TBOOLEAN || type == LUA_TNIL)
        luaL_tolstring(lua, 1, NULL);
    else
        lua_pushstring(lua, luaL_typename(lua, 1));
    return 1;
}

/* With a wide field, many decimals or a large number before the point it takes hundreds of digits. */
static bool writes_much(lua_State *lua, size_t flags, int argument)
{
    return flags > FLAGS_FEW || (lua_type(lua, argument) == LUA_TNUMBER && fabs(lua_tonumber(lua, argument)) >= LARGE);
}

static int plain_format(lua_State *lua)
{
    const char *format = luaL_checkstring(lua, 1);
    charge_strings(lua, 2, lua_gettop(lua));
    int argument = 1;
    for (const char *at = strchr(format, '%'); at; at = strchr(at, '%')) {
        size_t flags = strspn(at + 1, "-+ #0123456789.");
        at += 1 + flags;
        if (*at == 'p' || *at == 'c')
            return luaL_error(lua, "format: %%%c is not to be had", *at);
        argument += *at != '%';
        sandbox_charge(lua,
                       (writes_much(lua, flags, argument) ? COST_OF_DIGITS : COST_OF_WRITING) * sandbox_dearer(lua));
        if (*at)
            at++;
    }
    int count = lua_gettop(lua);
    for (int i = 2; i <= count; i++) {
        int type = lua_type(lua, i);
        if (type == LUA_TSTRING || type == LUA_TNUMBER || type == LUA_TBOOLEAN || type == LUA_TNIL)
            continue;
        lua_pushstring(lua, luaL_typename(lua, i));
        lua_replace(lua, i);
    }
    lua_pushvalue(lua, lua_upvalueindex(1));
    lua_insert(lua, 1);
    lua_call(lua, count, 1);
    return 1;
}

static int call_own(lua_State *lua)
{
    int count = lua_gettop(lua);
    lua_pushvalue(lua, lua_upvalueindex(1));
    lua_insert(lua, 1);
    lua_call(lua, count, LUA_MULTRET);
    return lua_gettop(lua);
}

static int charged_first(lua_State *lua)
{
    charge_strings(lua, 1, 1);
    return call_own(lua);
}

static int charged_all(lua_State *lua)
{
    charge_strings(lua, 1, lua_gettop(lua));
    return call_own(lua);
}

static int charged_sub(lua_State *lua)
{
    charge_strings(lua, 2, 3);
    return call_own(lua);
}

/* insert and remove touch the whole list. */
static int charged_list(lua_State *lua)
{
    luaL_checktype(lua, 1, LUA_TTABLE);
    charge_strings(lua, 2, 2);
    sandbox_charge(lua, (int64_t)sandbox_length(lua, 1) + 1);
    return call_own(lua);
}

static int steady_sort(lua_State *lua)
{
    luaL_checktype(lua, 1, LUA_TTABLE);
    if (!lua_isnoneornil(lua, 2))
        sandbox_check_own(lua, 2);
    sandbox_charge(lua, sandbox_cost_of_order(lua, sandbox_length(lua, 1)) + 1);
    sandbox_sort(lua, 1, lua_isnoneornil(lua, 2) ? 0 : 2);
    return 0;
}

/* The entries may lie anywhere in the table, and joining nothing takes as long as joining something. */
static int charged_concat(lua_State *lua)
{
    luaL_checktype(lua, 1, LUA_TTABLE);
    charge_strings(lua, 3, 4);
    lua_Integer first = luaL_optinteger(lua, 3, 1), last = luaL_optinteger(lua, 4, (lua_Integer)sandbox_length(lua, 1));
    lua_Unsigned count = last >= first ? (lua_Unsigned)last - (lua_Unsigned)first + 1 : 0;
    sandbox_charge(lua, count < INT64_MAX / COST_OF_WRITING ? (int64_t)count * COST_OF_WRITING + 1 : INT64_MAX);
    return call_own(lua);
}

/* unpack and byte: values from the 2nd argument to the 3rd. */
static int few_values(lua_State *lua, lua_Integer first, lua_Integer last)
{
    if (last > first && (lua_Unsigned)last - (lua_Unsigned)first >= SANDBOX_VALUES_MOST)
        return luaL_error(lua, "more than %d values at once", SANDBOX_VALUES_MOST);
    return call_own(lua);
}

static int few_unpacked(lua_State *lua)
{
    luaL_checktype(lua, 1, LUA_TTABLE);
    charge_strings(lua, 2, 3);
    return few_values(lua, luaL_optinteger(lua, 2, 1), luaL_optinteger(lua, 3, (lua_Integer)sandbox_length(lua, 1)));
}

static int few_bytes(lua_State *lua)
{
    size_t size;
    charge_strings(lua, 2, 3);
    luaL_checklstring(lua, 1, &size);
    lua_Integer first = luaL_optinteger(lua, 2, 1), last = luaL_optinteger(lua, 3, first);
    bool inside = first > 0 && last > 0;
    return few_values(lua, inside ? first : 1, inside && (lua_Unsigned)last < size ? last : (lua_Integer)size);
}

/* Repeating nothing takes as long as repeating something. */
static int charged_rep(lua_State *lua)
{
    size_t size, between = 0;
    charge_strings(lua, 2, 2);
    luaL_checklstring(lua, 1, &size);
    lua_Integer count = luaL_checkinteger(lua, 2);
    luaL_optlstring(lua, 3, "", &between);
    if (count > 0 && count <= SANDBOX_STRING_MOST && size + between > 0) /* more is refused */
        sandbox_charge(lua, count / 16);
    if (count > 1 && size + between == 0) {
        lua_pushliteral(lua, "");
        return 1;
    }
    return call_own(lua);
}

/* Strings are compared piece by piece between their NULs, each as slow as a whole string: so there are none. */
static int char_but_nul(lua_State *lua)
{
    charge_strings(lua, 1, lua_gettop(lua));
    for (int i = lua_gettop(lua); i > 0; i--)
        luaL_argcheck(lua, luaL_checkinteger(lua, i) != 0, i, "a NUL is not to be had");
    return call_own(lua);
}

static int charged_append(lua_State *lua)
{
    if (lua_gettop(lua) != 2)
        return charged_list(lua);
    luaL_checktype(lua, 1, LUA_TTABLE);
    lua_seti(lua, 1, (lua_Integer)sandbox_length(lua, 1) + 1);
    return 0;
}

const struct sandbox_replacement sandbox_replaced[] = {
    {"", "pairs", sorted_pairs},
    {"", "select", charged_first},
    {"", "tonumber", charged_all},
    {"", "tostring", plain_tostring},
    {"math", "abs", charged_all},
    {"math", "ceil", charged_all},
    {"math", "exp", charged_all},
    {"math", "floor", charged_all},
    {"math", "fmod", charged_all},
    {"math", "log", charged_all},
    {"math", "max", charged_all},
    {"math", "min", charged_all},
    {"math", "sqrt", charged_all},
    {"math", "tointeger", charged_all},
    {"string", "byte", few_bytes},
    {"string", "char", char_but_nul},
    {"string", "find", sandbox_pattern},
    {"string", "format", plain_format},
    {"string", "gmatch", sandbox_matches},
    {"string", "gsub", sandbox_pattern},
    {"string", "match", sandbox_pattern},
    {"string", "rep", charged_rep},
    {"string", "sub", charged_sub},
    {"table", "concat", charged_concat},
    {"table", "insert", charged_append},
    {"table", "remove", charged_list},
    {"table", "sort", steady_sort},
    {"table", "unpack", few_unpacked},
    {NULL, NULL, NULL},
};
