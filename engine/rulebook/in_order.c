/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rulebook/in_order.h"

static int rank_of(lua_State *lua, int index)
{
    int type = lua_type(lua, index);
    return type == LUA_TNIL ? 0 : type == LUA_TNUMBER ? 1 : type == LUA_TSTRING ? 2 : 3;
}

static bool is_before(lua_State *lua, int a, int b)
{
    int rank = rank_of(lua, a);
    if (rank != rank_of(lua, b))
        return rank < rank_of(lua, b);
    return (rank == 1 || rank == 2) && lua_compare(lua, a, b, LUA_OPLT);
}

bool next_in_order(lua_State *lua, int table)
{
    int last = lua_gettop(lua), least = last + 1, key = last + 2;
    lua_pushnil(lua); /* the least key behind the last one */
    lua_pushnil(lua);
    while (lua_next(lua, table)) {
        lua_pop(lua, 1);
        if (is_before(lua, last, key) && (lua_isnil(lua, least) || is_before(lua, key, least))) {
            lua_pushvalue(lua, key);
            lua_replace(lua, least);
        }
    }
    lua_remove(lua, last);
    if (lua_isnil(lua, -1)) {
        lua_pop(lua, 1);
        return false;
    }
    lua_pushvalue(lua, -1);
    lua_rawget(lua, table);
    return true;
}

static bool copy_one(lua_State *lua, int copies, size_t most, int depth)
{
    int table = lua_gettop(lua), copy = table + 1;
    size_t count = 0;
    lua_pushvalue(lua, table);
    if (lua_rawget(lua, copies) == LUA_TTABLE) {
        lua_remove(lua, table);
        return true;
    }
    lua_pop(lua, 1);
    lua_newtable(lua);
    lua_pushvalue(lua, table);
    lua_pushvalue(lua, copy);
    lua_rawset(lua, copies);
    lua_pushnil(lua);
    while (lua_next(lua, table)) {
        if (++count > most || (lua_istable(lua, -1) && depth > 0 && !copy_one(lua, copies, most, depth - 1)))
            return false;
        lua_pushvalue(lua, -2);
        lua_insert(lua, -2);
        lua_rawset(lua, copy);
    }
    lua_remove(lua, table);
    return true;
}

bool copy_small(lua_State *lua, size_t most, int depth)
{
    int top = lua_gettop(lua);
    lua_checkstack(lua, (depth + 1) * 8);
    lua_newtable(lua); /* from table to copy */
    lua_pushvalue(lua, top);
    bool good = copy_one(lua, top + 1, most, depth);
    if (good)
        lua_replace(lua, top);
    lua_settop(lua, top);
    return good;
}

bool list_length(lua_State *lua, int index, size_t most, size_t *length)
{
    *length = lua_rawlen(lua, index);
    return *length <= most;
}

const char *key_name(lua_State *lua, int index)
{
    return lua_type(lua, index) == LUA_TSTRING ? lua_tostring(lua, index) : "?";
}
