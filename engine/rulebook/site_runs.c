/* SPDX-License-Identifier: GPL-3.0-or-later */
/* site.runs(filter, field…) and site.run(place): along the time line, and one run of it. */
#include <lauxlib.h>

#include "rulebook/filter.h"
#include "rulebook/host.h"
#include "rulebook/run_object.h"

enum { ASKED_MOST = 16 };

struct cursor { /* of a loop over runs */
    struct host *host;
    struct filter filter;
    uint32_t place;
    int asked_count, asked[ASKED_MOST]; /* fields handed out beside the run */
};

/* Its upvalues: the cursor, and the run that each turn of the loop sees. */
static int next_run(lua_State *lua)
{
    struct cursor *cursor = lua_touserdata(lua, lua_upvalueindex(1));
    const struct history *history = cursor->host->history;
    uint32_t place = cursor->place;
    if (!filter_next(lua, history, &cursor->filter, &place))
        return 0;
    cursor->place = place + 1;
    lua_pushvalue(lua, lua_upvalueindex(2));
    run_object_move(lua, -1, place);
    for (int i = 0; i < cursor->asked_count; i++)
        run_object_push_field(lua, history, place, cursor->asked[i]);
    return 1 + cursor->asked_count;
}

int site_runs(lua_State *lua)
{
    struct host *host = host_of(lua);
    if (lua_gettop(lua) == 0)
        lua_pushnil(lua);
    int asked = lua_gettop(lua) - 1;
    luaL_argcheck(lua, asked <= ASKED_MOST, ASKED_MOST + 2, "more than 16 fields");
    struct cursor *cursor = lua_newuserdatauv(lua, sizeof *cursor, 0);
    *cursor = (struct cursor){.host = host, .asked_count = asked};
    for (int i = 0; i < cursor->asked_count; i++) {
        cursor->asked[i] = run_object_field(text_of(luaL_checkstring(lua, i + 2)));
        if (cursor->asked[i] < 0)
            luaL_error(lua, "a run has no field '%s'", lua_tostring(lua, i + 2));
    }
    filter_read(lua, host, 1, &cursor->filter);
    cursor->place = filter_first(host->history, &cursor->filter);
    run_object_push(lua, host, 0);
    lua_pushcclosure(lua, next_run, 2);
    return 1;
}

int site_run(lua_State *lua)
{
    struct host *host = host_of(lua);
    lua_Integer place = sandbox_whole(lua, 1);
    if (place < 0 || (size_t)place >= host->history->run_count)
        return luaL_error(lua, "site.run: there is no run at this place");
    run_object_push(lua, host, (uint32_t)place);
    return 1;
}
