/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The stats library that rules see: lists of numbers in, a number out, nil where a list is too short. */
#include <lauxlib.h>

#include "rulebook/host.h"
#include "stats/intervals.h"

static int api_wilson(lua_State *lua) {
    lua_Integer count = luaL_checkinteger(lua, 1), total = luaL_checkinteger(lua, 2);
    if (count < 0 || count > total || total == 0) return 0;
    struct interval interval = wilson_interval((uint64_t)count, (uint64_t)total);
    lua_pushnumber(lua, interval.low);
    lua_pushnumber(lua, interval.high);
    return 2;
}

void stats_offer(struct host *host) {
    static const luaL_Reg functions[] = {{"wilson", api_wilson}};
    for (size_t i = 0; i < sizeof functions / sizeof *functions; i++)
        sandbox_offer_in(host->sandbox, "stats", functions[i].name, functions[i].func, host);
}
