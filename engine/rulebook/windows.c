/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Functions for times and for windows of affected tests. */
#include <lauxlib.h>
#include <math.h>

#include "rulebook/filter.h"
#include "rulebook/host.h"

static int api_earlier(lua_State *lua)
{
    moment a = to_moment(lua, 1), b = to_moment(lua, 2);
    lua_pushboolean(lua, moment_compare(a, b) < 0);
    return 1;
}

static int api_day_of(lua_State *lua)
{
    lua_pushinteger(lua, history_day(host_of(lua)->history, to_moment(lua, 1)));
    return 1;
}

static int api_add_months(lua_State *lua)
{
    lua_Integer day = sandbox_whole(lua, 1);
    double months = sandbox_number(lua, 2);
    if (day < -1 || day > DAY_LAST + 1 || !(months >= -1200 && months <= 1200)) /* NaN, too */
        return luaL_error(lua, "add_months: out of range");
    lua_pushinteger(lua, day_add_months((day_number)day, (int)months));
    return 1;
}

static int api_weekday(lua_State *lua)
{
    lua_pushinteger(lua, day_of_week(to_day(lua, 1)) + 1);
    return 1;
}

static int api_tests(lua_State *lua)
{
    struct host *host = host_of(lua);
    struct filter filter;
    filter_read(lua, host, 1, &filter);
    filter.only_tests = true;
    lua_newtable(lua);
    lua_Integer count = 0;
    for (uint32_t place = filter_first(host->history, &filter); filter_next(lua, host->history, &filter, &place);
         place++) {
        lua_pushinteger(lua, place);
        lua_seti(lua, -2, ++count);
    }
    return 1;
}

static uint32_t place_argument(lua_State *lua, const struct history *history)
{
    lua_Integer place = sandbox_whole(lua, 1);
    if (place < 0 || (size_t)place >= history->run_count)
        luaL_error(lua, "there is no run at this place");
    return (uint32_t)place;
}

static int api_next_lot_change(lua_State *lua)
{
    const struct history *history = host_of(lua)->history;
    uint32_t place = place_argument(lua, history), next = walk_next_lot_change(history, place);
    charge_runs(lua, (next == NO_RUN ? history->run_count : next) - place);
    if (next == NO_RUN)
        lua_pushnil(lua);
    else
        lua_pushinteger(lua, next);
    return 1;
}

enum { COST_OF_A_SHELF = 100 }; /* to find an analyzer's codes, or its cleanings */

static int api_next_code_at(lua_State *lua)
{
    const struct history *history = host_of(lua)->history;
    uint32_t place = place_argument(lua, history);
    sandbox_charge(lua, COST_OF_A_SHELF);
    charge_runs(lua, walk_codes_of(history, place));
    push_time(lua, walk_next_code_at(history, place));
    return 1;
}

static int api_next_daily_at(lua_State *lua)
{
    const struct history *history = host_of(lua)->history;
    sandbox_charge(lua, COST_OF_A_SHELF);
    push_time(lua, walk_next_daily_at(history, place_argument(lua, history)));
    return 1;
}

/* Is a computed figure above its limit? Within 1e-9 of the limit (absolute at 0) it is met. */
static int api_beyond(lua_State *lua)
{
    double x = sandbox_number(lua, 1), limit = sandbox_number(lua, 2);
    lua_pushboolean(lua, x > limit + 1e-9 * (limit == 0 ? 1 : fabs(limit)));
    return 1;
}

/* The number that the finding of the running rule with these fields has, for actions that name it. */
static int api_finding_number(lua_State *lua)
{
    enum { INSTRUCTIONS_OF_A_NUMBER = 500 };
    struct host *host = host_of(lua);
    luaL_checktype(lua, 1, LUA_TTABLE);
    sandbox_charge(lua, INSTRUCTIONS_OF_A_NUMBER * sandbox_dearer(lua));
    sandbox_keep(lua, DAY_TEXT_SIZE);
    struct finding finding = {.rule = &running_instance(lua)->rule->text, .site = host->history->settings->site};
    for (int i = 0; i < SUBJECT_COUNT; i++) {
        lua_getfield(lua, 1, subject_field_name((enum subject_field)i));
        finding.subject[i] = to_text(lua, -1);
    }
    struct when when = {.kind = WHEN_NEVER};
    if (lua_getfield(lua, 1, "at") != LUA_TNIL)
        when = (struct when){.kind = WHEN_TIME, .at = to_moment(lua, lua_gettop(lua))};
    if (lua_getfield(lua, 1, "day") != LUA_TNIL)
        when = (struct when){.kind = WHEN_DAY, .day = to_day(lua, -1)};
    finding.from = when_text(when, host->arena);
    char number[FINDING_NUMBER_SIZE];
    finding_number(&finding, (struct text){0}, number);
    lua_pushstring(lua, number);
    return 1;
}

void windows_offer(struct host *host, struct sandbox *sandbox)
{
    static const luaL_Reg functions[] = {
        {"earlier", api_earlier},
        {"day_of", api_day_of},
        {"add_months", api_add_months},
        {"weekday", api_weekday},
        {"tests", api_tests},
        {"next_lot_change", api_next_lot_change},
        {"next_code_at", api_next_code_at},
        {"next_daily_at", api_next_daily_at},
        {"beyond", api_beyond},
        {"finding_number", api_finding_number},
    };
    for (size_t i = 0; i < sizeof functions / sizeof *functions; i++)
        sandbox_offer(sandbox, functions[i].name, functions[i].func, host);
}
