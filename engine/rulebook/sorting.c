/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lists in order. Lua's own sort picks its middle by the clock and by addresses where a list is long, so that equal
 * entries come in another order each time; this one merges, and leaves them as they were. */
#include <lauxlib.h>

#include "rulebook/sandbox.h"

enum {
    BY_LESS_THAN,        /* no function */
    ROOM_MOST = 1 << 20, /* entries that room is made for at once */
};

struct sorting {
    lua_State *lua;
    int order;    /* stack index of a function, or BY_LESS_THAN */
    int from, to; /* of the list and of the one it is merged into */
};

int64_t sandbox_cost_of_order(lua_State *lua, size_t count)
{
    int64_t doublings = 2;
    for (size_t rest = count; rest > 1; rest /= 2)
        doublings++;
    return (int64_t)count * 2 * doublings * sandbox_dearer(lua);
}

static bool comes_before(const struct sorting *sorting, lua_Integer a, lua_Integer b)
{
    lua_State *lua = sorting->lua;
    if (sorting->order != BY_LESS_THAN)
        lua_pushvalue(lua, sorting->order);
    lua_rawgeti(lua, sorting->from, a);
    lua_rawgeti(lua, sorting->from, b);
    bool before;
    if (sorting->order != BY_LESS_THAN) {
        lua_call(lua, 2, 1);
        before = lua_toboolean(lua, -1);
        lua_pop(lua, 1);
    } else {
        before = lua_compare(lua, -2, -1, LUA_OPLT);
        lua_pop(lua, 2);
    }
    return before;
}

/* Entries low to middle - 1 and middle to high - 1, each in order. */
static void merge(const struct sorting *sorting, lua_Integer low, lua_Integer middle, lua_Integer high)
{
    lua_Integer left = low, right = middle;
    for (lua_Integer at = low; at < high; at++) {
        bool takes_right = right < high && (left == middle || comes_before(sorting, right, left));
        lua_rawgeti(sorting->lua, sorting->from, takes_right ? right++ : left++);
        lua_rawseti(sorting->lua, sorting->to, at);
    }
}

static lua_Integer lesser(lua_Integer a, lua_Integer b) { return a < b ? a : b; }

void sandbox_sort(lua_State *lua, int list, int order)
{
    lua_Integer end = (lua_Integer)sandbox_length(lua, list) + 1;
    luaL_checkstack(lua, 10, NULL);
    sandbox_new_list(lua, lesser(end, ROOM_MOST));
    struct sorting sorting = {lua, order, list, lua_gettop(lua)};
    for (lua_Integer width = 1; width < end - 1; width *= 2) {
        for (lua_Integer low = 1; low < end; low += 2 * width)
            merge(&sorting, low, lesser(low + width, end), lesser(low + 2 * width, end));
        int merged = sorting.to;
        sorting.to = sorting.from;
        sorting.from = merged;
    }
    for (lua_Integer at = 1; sorting.from != list && at < end; at++) {
        lua_rawgeti(lua, sorting.from, at);
        lua_rawseti(lua, list, at);
    }
    lua_pop(lua, 1);
}
