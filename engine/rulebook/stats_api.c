/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The stats library that rules see: lists of numbers in, a number out, nil where a list is too short. */
#include <lauxlib.h>
#include <math.h>

#include "rulebook/host.h"
#include "stats/descriptive.h"
#include "stats/intervals.h"
#include "stats/multirule.h"
#include "stats/tails.h"

/* The list of numbers at an index; a userdata keeps it until the call ends. */
static const double *read_numbers(lua_State *lua, int index, size_t *count)
{
    luaL_checktype(lua, index, LUA_TTABLE);
    *count = lua_rawlen(lua, index);
    double *numbers = lua_newuserdatauv(lua, (*count + 1) * sizeof *numbers, 0);
    for (size_t i = 0; i < *count; i++) {
        lua_geti(lua, index, (lua_Integer)i + 1);
        numbers[i] = luaL_checknumber(lua, -1);
        lua_pop(lua, 1);
    }
    sandbox_charge(lua, (int64_t)*count * 4);
    return numbers;
}

static int push_unless_nan(lua_State *lua, double number)
{
    if (isnan(number))
        return 0;
    lua_pushnumber(lua, number);
    return 1;
}

static int api_mean(lua_State *lua)
{
    size_t count;
    const double *numbers = read_numbers(lua, 1, &count);
    return push_unless_nan(lua, summary_of(numbers, count).mean);
}
static int api_sd(lua_State *lua)
{
    size_t count;
    const double *numbers = read_numbers(lua, 1, &count);
    return push_unless_nan(lua, summary_of(numbers, count).sd);
}
static int api_chi_square_lower(lua_State *lua)
{
    return push_unless_nan(lua, chi_square_lower(luaL_checknumber(lua, 1), luaL_checknumber(lua, 2)));
}
static int api_mann_whitney(lua_State *lua)
{
    size_t first, second;
    const double *a = read_numbers(lua, 1, &first), *b = read_numbers(lua, 2, &second);
    if (!first || !second)
        return 0;
    return push_unless_nan(lua, mann_whitney_normal(a, first, b, second).p);
}
static int api_wilson(lua_State *lua)
{
    lua_Integer count = luaL_checkinteger(lua, 1), total = luaL_checkinteger(lua, 2);
    if (count < 0 || count > total || total == 0)
        return 0;
    struct interval interval = wilson_interval((uint64_t)count, (uint64_t)total);
    lua_pushnumber(lua, interval.low);
    lua_pushnumber(lua, interval.high);
    return 2;
}

/* The names of patterns in the list at an index, as a set. */
static pattern_set read_patterns(lua_State *lua, int index)
{
    pattern_set chosen = 0;
    size_t count = lua_rawlen(lua, index);
    for (size_t i = 1; i <= count; i++) {
        enum pattern pattern;
        lua_geti(lua, index, (lua_Integer)i);
        if (!pattern_named(to_text(lua, -1), &pattern))
            luaL_error(lua, "stats.multirule: no such pattern");
        chosen |= PATTERN_BIT(pattern);
        lua_pop(lua, 1);
    }
    return chosen;
}

/* A table from the names in the list at an index to their places in it; left on the stack. */
static void push_places(lua_State *lua, int index)
{
    size_t count = lua_rawlen(lua, index);
    lua_newtable(lua);
    for (size_t i = 1; i <= count; i++) {
        lua_geti(lua, index, (lua_Integer)i);
        lua_pushinteger(lua, (lua_Integer)i);
        lua_settable(lua, -3);
    }
}

/* A number for the name at the top, the same for the same name: from the table at `index`, which grows. Replaces it. */
static void number_name(lua_State *lua, int index, lua_Integer *last)
{
    lua_pushvalue(lua, -1);
    if (lua_gettable(lua, index) == LUA_TNIL) {
        lua_pop(lua, 1);
        lua_pushvalue(lua, -1);
        lua_pushinteger(lua, ++*last);
        lua_settable(lua, index);
        lua_pushinteger(lua, *last);
    }
    lua_remove(lua, -2);
}

enum {
    MULTIRULE_CONTROLS = 1,
    MULTIRULE_LEVELS = 2,
    MULTIRULE_PATTERNS = 3,
    MULTIRULE_ARRAY,
    MULTIRULE_PLACES,
    MULTIRULE_LOTS
};

static void read_control(lua_State *lua, struct multirule_control *control, lua_Integer *lots)
{
    int table = lua_gettop(lua);
    lua_getfield(lua, table, "z");
    control->z = luaL_checknumber(lua, -1);
    lua_getfield(lua, table, "day");
    control->day = (day_number)luaL_checkinteger(lua, -1);
    lua_getfield(lua, table, "level");
    lua_gettable(lua, MULTIRULE_PLACES);
    control->level = (uint32_t)(luaL_checkinteger(lua, -1) - 1);
    lua_getfield(lua, table, "lot");
    number_name(lua, MULTIRULE_LOTS, lots);
    control->lot = (uint32_t)lua_tointeger(lua, -1);
    lua_settop(lua, table);
}

static void push_hit(lua_State *lua, const struct multirule_hit *hit)
{
    lua_createtable(lua, 0, 5);
    lua_pushstring(lua, pattern_name(hit->pattern));
    lua_setfield(lua, -2, "pattern");
    lua_pushboolean(lua, hit->across);
    lua_setfield(lua, -2, "across");
    lua_pushboolean(lua, hit->begins);
    lua_setfield(lua, -2, "begins");
    lua_pushinteger(lua, (lua_Integer)hit->control + 1);
    lua_setfield(lua, -2, "control");
    lua_pushinteger(lua, (lua_Integer)hit->first + 1);
    lua_setfield(lua, -2, "first");
}

static int free_box(lua_State *lua)
{
    struct multirule **box = lua_touserdata(lua, 1);
    multirule_free(*box);
    *box = NULL;
    return 0;
}

/* Lua frees what lies in the box, also when it runs out of memory before the hits are handed over. */
static struct multirule **push_box(lua_State *lua)
{
    struct multirule **box = lua_newuserdatauv(lua, sizeof *box, 0);
    *box = NULL;
    lua_createtable(lua, 0, 1);
    lua_pushcfunction(lua, free_box);
    lua_setfield(lua, -2, "__gc");
    lua_setmetatable(lua, -2);
    return box;
}

/* stats.multirule(controls, levels, patterns) */
static int api_multirule(lua_State *lua)
{
    for (int i = 1; i <= 3; i++)
        luaL_checktype(lua, i, LUA_TTABLE);
    lua_settop(lua, 3);
    size_t count = lua_rawlen(lua, MULTIRULE_CONTROLS), levels = lua_rawlen(lua, MULTIRULE_LEVELS);
    pattern_set chosen = read_patterns(lua, MULTIRULE_PATTERNS);
    struct multirule_control *controls = lua_newuserdatauv(lua, (count + 1) * sizeof *controls, 0);
    push_places(lua, MULTIRULE_LEVELS);
    lua_newtable(lua);
    lua_Integer lots = 0;
    for (size_t i = 0; i < count; i++) {
        lua_geti(lua, MULTIRULE_CONTROLS, (lua_Integer)i + 1);
        read_control(lua, &controls[i], &lots);
        lua_pop(lua, 1);
    }
    sandbox_charge(lua, (int64_t)count * 20);
    struct multirule **box = push_box(lua);
    struct multirule *multirule = *box = multirule_evaluate(controls, count, (uint32_t)levels, chosen);
    lua_createtable(lua, (int)multirule->hit_count, 0);
    for (size_t i = 0; i < multirule->hit_count; i++) {
        push_hit(lua, &multirule->hits[i]);
        lua_seti(lua, -2, (lua_Integer)i + 1);
    }
    return 1;
}

void stats_offer(struct host *host)
{
    static const luaL_Reg functions[] = {
        {"wilson", api_wilson},
        {"mean", api_mean},
        {"sd", api_sd},
        {"chi_square_lower", api_chi_square_lower},
        {"mann_whitney", api_mann_whitney},
        {"multirule", api_multirule},
    };
    for (size_t i = 0; i < sizeof functions / sizeof *functions; i++)
        sandbox_offer_in(host->sandbox, "stats", functions[i].name, functions[i].func, host);
}
