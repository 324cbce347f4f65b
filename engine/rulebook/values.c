/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <lauxlib.h>

#include "rulebook/host.h"

struct host *host_of(lua_State *lua) { return lua_touserdata(lua, lua_upvalueindex(1)); }

void push_text(lua_State *lua, struct text text)
{
    if (text.data)
        lua_pushlstring(lua, text.data, text.size);
    else
        lua_pushnil(lua);
}

void push_time(lua_State *lua, moment at)
{
    if (at == MOMENT_ABSENT)
        lua_pushnil(lua);
    else if (moment_had_seconds(at))
        lua_pushinteger(lua, moment_seconds(at));
    else
        lua_pushnumber(lua, (lua_Number)moment_seconds(at));
}

void push_day(lua_State *lua, day_number day)
{
    if (day == DAY_ABSENT)
        lua_pushnil(lua);
    else
        lua_pushinteger(lua, day);
}

void push_fact(lua_State *lua, const struct history *history, int fact, const struct fact *value)
{
    if (!value->present) {
        lua_pushnil(lua);
        return;
    }
    switch (fact_rows[fact].type) {
    case FACT_BOOL:
        lua_pushboolean(lua, value->yes);
        break;
    case FACT_NUMBER:
        lua_pushnumber(lua, value->number);
        break;
    case FACT_TIME:
        push_time(lua, value->whole);
        break;
    case FACT_NAME:
        push_text(lua, names_text(history->names, (uint32_t)value->whole));
        break;
    case FACT_TEXT:
        push_text(lua, value->text);
        break;
    default:
        lua_pushinteger(lua, value->whole);
        break;
    }
}

/* "1-3s 2-2s" as a list. */
static void push_words(lua_State *lua, struct text words)
{
    lua_newtable(lua);
    lua_Integer count = 0;
    size_t begin = 0;
    for (size_t i = 0; i <= words.size; i++) {
        if (i < words.size && words.data[i] != ' ' && words.data[i] != ';')
            continue;
        if (i > begin) {
            lua_pushlstring(lua, words.data + begin, i - begin);
            lua_seti(lua, -2, ++count);
        }
        begin = i + 1;
    }
}

void push_parameter(lua_State *lua, enum parameter_type type, const struct parameter_value *value)
{
    if (!value->present) {
        lua_pushnil(lua);
        return;
    }
    switch (type) {
    case PARAMETER_NUMBER:
        lua_pushnumber(lua, value->number);
        break;
    case PARAMETER_YES_NO:
        lua_pushboolean(lua, value->yes);
        break;
    case PARAMETER_TEXT:
        push_text(lua, value->text);
        break;
    case PARAMETER_WORDS:
        push_words(lua, value->text);
        break;
    }
}

/* Rules may reckon beyond the calendar's ends, but not so far that a number of seconds is none any more. */
enum { DAYS_BEYOND_MOST = 100000 };

moment to_moment(lua_State *lua, int index)
{
    double seconds = sandbox_number(lua, index), most = (DAY_LAST + DAYS_BEYOND_MOST) * 86400.0;
    if (!(seconds >= -most && seconds <= most))
        luaL_error(lua, "%f is no time that a calendar has", seconds);
    return moment_make((int64_t)seconds, lua_isinteger(lua, index));
}

day_number to_day(lua_State *lua, int index)
{
    lua_Integer day = sandbox_whole(lua, index);
    if (day < -DAYS_BEYOND_MOST || day > DAY_LAST + DAYS_BEYOND_MOST)
        luaL_error(lua, "%I is no day that a calendar has", (LUAI_UACINT)day);
    return (day_number)day;
}

struct text host_keep(struct host *host, struct text text)
{
    if (text.data == NULL)
        return text;
    sandbox_tell(host->lua, text.size);
    return text_keep(host->arena, text);
}

struct text to_text(lua_State *lua, int index)
{
    size_t size;
    if (lua_isnoneornil(lua, index))
        return (struct text){0};
    const char *bytes = luaL_checklstring(lua, index, &size);
    return (struct text){bytes, size};
}
