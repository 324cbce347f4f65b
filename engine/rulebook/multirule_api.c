/* SPDX-License-Identifier: GPL-3.0-or-later */
/* stats.multirule, the patterns in the series of controls, as rules call it. */
#include <lauxlib.h>

#include "rulebook/host.h"
#include "stats/multirule.h"

enum {
    LEVELS_MOST = 100, /* each is looked at anew on each day */
    PATTERNS_MOST = 100,
    CONTROLS_MOST = 50000, /* a control can be a hit of each pattern, twice */
    COST_OF_AN_ENTRY = 20,
};

/* The names of patterns in the list at an index, as a set. */
static pattern_set read_patterns(lua_State *lua, int index)
{
    pattern_set chosen = 0;
    size_t count = sandbox_length(lua, index);
    if (count > PATTERNS_MOST)
        luaL_error(lua, "stats.multirule: more than %d patterns", PATTERNS_MOST);
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
    size_t count = sandbox_length(lua, index);
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
    control->z = sandbox_number(lua, -1);
    lua_getfield(lua, table, "day");
    control->day = (day_number)sandbox_whole(lua, -1);
    lua_getfield(lua, table, "level");
    lua_gettable(lua, MULTIRULE_PLACES);
    control->level = (uint32_t)(sandbox_whole(lua, -1) - 1);
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
    size_t count = sandbox_length(lua, MULTIRULE_CONTROLS), levels = sandbox_length(lua, MULTIRULE_LEVELS);
    if (levels > LEVELS_MOST)
        return luaL_error(lua, "stats.multirule: more than %d levels", LEVELS_MOST);
    if (count > CONTROLS_MOST)
        return luaL_error(lua, "stats.multirule: more than %d controls", CONTROLS_MOST);
    sandbox_charge(lua, (int64_t)(count + levels + PATTERNS_MOST) * COST_OF_AN_ENTRY);
    pattern_set chosen = read_patterns(lua, MULTIRULE_PATTERNS);
    struct multirule_control *controls = lua_newuserdatauv(lua, (count + 1) * sizeof *controls, 0);
    push_places(lua, MULTIRULE_LEVELS);
    lua_newtable(lua);
    lua_Integer lots = 0;
    for (size_t i = 0; i < count; i++) {
        lua_geti(lua, MULTIRULE_CONTROLS, (lua_Integer)i + 1);
        read_control(lua, &controls[i], &lots);
        if (i % 64 == 0)
            sandbox_look(lua);
        lua_pop(lua, 1);
    }
    struct multirule **box = push_box(lua);
    struct multirule *multirule = *box = multirule_evaluate(controls, count, (uint32_t)levels, chosen);
    sandbox_new_list(lua, multirule->hit_count);
    for (size_t i = 0; i < multirule->hit_count; i++) {
        push_hit(lua, &multirule->hits[i]);
        lua_seti(lua, -2, (lua_Integer)i + 1);
    }
    return 1;
}

void multirule_offer(struct sandbox *sandbox) { sandbox_offer_in(sandbox, "stats", "multirule", api_multirule, NULL); }
