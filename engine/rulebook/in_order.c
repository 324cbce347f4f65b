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

struct copying {
    lua_State *lua;
    int copies; /* index of the table from table to copy */
    size_t most, bytes_left;
};

/* Of the value at the top of the stack. */
static bool is_too_long(struct copying *copying)
{
    size_t size = lua_type(copying->lua, -1) == LUA_TSTRING ? lua_rawlen(copying->lua, -1) : 0;
    bool too_long = size > copying->bytes_left;
    copying->bytes_left -= too_long ? copying->bytes_left : size;
    return too_long;
}

static bool copy_one(struct copying *copying, int depth)
{
    lua_State *lua = copying->lua;
    int table = lua_gettop(lua), copy = table + 1;
    size_t count = 0;
    lua_pushvalue(lua, table);
    if (lua_rawget(lua, copying->copies) == LUA_TTABLE) {
        lua_remove(lua, table);
        return true;
    }
    lua_pop(lua, 1);
    lua_newtable(lua);
    lua_pushvalue(lua, table);
    lua_pushvalue(lua, copy);
    lua_rawset(lua, copying->copies);
    lua_pushnil(lua);
    while (lua_next(lua, table)) {
        if (++count > copying->most || is_too_long(copying) ||
            (lua_istable(lua, -1) && depth > 0 && !copy_one(copying, depth - 1)))
            return false;
        lua_pushvalue(lua, -2);
        lua_insert(lua, -2);
        lua_rawset(lua, copy);
    }
    lua_remove(lua, table);
    return true;
}

bool copy_small(lua_State *lua, size_t most, size_t bytes_most, int depth)
{
    int top = lua_gettop(lua);
    struct copying copying = {lua, top + 1, most, bytes_most};
    lua_checkstack(lua, (depth + 1) * 8);
    lua_newtable(lua); /* from table to copy */
    lua_pushvalue(lua, top);
    bool good = copy_one(&copying, depth);
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
