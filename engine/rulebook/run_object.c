/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rulebook/run_object.h"

#include <lauxlib.h>
#include <string.h>

struct run_object {
    struct host *host;
    uint32_t place;
};

static void push_name(lua_State *lua, const struct history *history, uint32_t name)
{
    push_text(lua, names_text(history->names, name));
}

/* The assigned mean or sd of a control's lot and level. */
static void push_assigned(lua_State *lua, const struct history *history, const struct run *run, int column)
{
    const struct record *lot =
        run->is_control && run->method ? history_lot(history, run->control_lot, run->method, true, run->level) : NULL;
    if (lot && record_cell(lot, column)->present)
        lua_pushnumber(lua, decimal_double(record_cell(lot, column)->text));
    else
        lua_pushnil(lua);
}

typedef void push_field(lua_State *lua, const struct history *history, const struct run *run, uint32_t place);

#define FIELD(name, code)                                                                                         \
    static void push_##name(lua_State *lua, const struct history *history, const struct run *run, uint32_t place) \
    {                                                                                                             \
        (void)history, (void)run, (void)place;                                                                    \
        code;                                                                                                     \
    }
FIELD(place, lua_pushinteger(lua, place))
FIELD(at, push_time(lua, run->at))
FIELD(day_field, push_day(lua, history_day(history, run->at)))
FIELD(is_test, lua_pushboolean(lua, !run->is_control))
FIELD(test, push_text(lua, !run->is_control ? run_test(run) : (struct text){0}))
FIELD(specimen, push_text(lua, !run->is_control ? run_specimen(run) : (struct text){0}))
FIELD(analyzer, push_name(lua, history, run->analyzer))
FIELD(method, push_name(lua, history, run->method))
FIELD(operator, push_name(lua, history, run->operator_))
FIELD(lot, push_name(lua, history, run->lot))
FIELD(code, push_name(lua, history, run->code))
FIELD(unit, push_name(lua, history, run->unit))
FIELD(control_lot, push_name(lua, history, run->control_lot))
FIELD(level, push_name(lua, history, run->level))
FIELD(result, push_text(lua, run_result(run)))
FIELD(word, push_text(lua, run->result_kind == RESULT_WORD ? run_result(run) : (struct text){0}))
FIELD(bound, push_text(lua, run->result_kind == RESULT_BELOW   ? TEXT("<")
                            : run->result_kind == RESULT_ABOVE ? TEXT(">")
                                                               : (struct text){0}))
FIELD(number, if (run->result_kind == RESULT_WORD) lua_pushnil(lua); else lua_pushnumber(lua, run->number))
FIELD(recorded_at, push_time(lua, run->recorded_at))
FIELD(collected_at, push_time(lua, run->collected_at))
FIELD(reported_at, push_time(lua, run->reported_at))
FIELD(notified_at, push_time(lua, run->notified_at))
FIELD(noted, lua_pushboolean(lua, run->noted))
FIELD(sequence, if (run->has_sequence) lua_pushinteger(lua, run->sequence); else lua_pushnil(lua))
FIELD(accepted, if (run->accepted == ACCEPTED_ABSENT) lua_pushnil(lua);
      else lua_pushboolean(lua, run->accepted == ACCEPTED_YES))
FIELD(failed, if (!run->is_control || run->control == CONTROL_UNJUDGED) lua_pushnil(lua);
      else lua_pushboolean(lua, run->control == CONTROL_FAILED))
FIELD(within, if (!run->is_control || !run->limited) lua_pushnil(lua); else lua_pushboolean(lua, run->within))
FIELD(good_later, lua_pushboolean(lua, run->good_later))
FIELD(mean, push_assigned(lua, history, run, COL(LOTS, mean)))
FIELD(sd, push_assigned(lua, history, run, COL(LOTS, sd)))

static void push_z(lua_State *lua, const struct history *history, const struct run *run, uint32_t place)
{
    (void)place;
    const struct record *lot =
        run->is_control && run->method ? history_lot(history, run->control_lot, run->method, true, run->level) : NULL;
    if (!lot || run->result_kind != RESULT_NUMBER || !record_cell(lot, COL(LOTS, mean))->present ||
        !record_cell(lot, COL(LOTS, sd))->present || decimal_double(record_cell(lot, COL(LOTS, sd))->text) <= 0) {
        lua_pushnil(lua);
        return;
    }
    lua_pushnumber(lua, (run->number - decimal_double(record_cell(lot, COL(LOTS, mean))->text)) /
                            decimal_double(record_cell(lot, COL(LOTS, sd))->text));
}

static void push_record(lua_State *lua, const struct history *history, const struct run *run, uint32_t place)
{
    enum { INSTRUCTIONS_OF_A_RECORD = 100 };
    (void)place;
    sandbox_charge(lua, INSTRUCTIONS_OF_A_RECORD);
    AUTO(arena) arena = arena_new();
    push_text(lua, run_record_text(history, run, false, arena));
}

static const struct {
    const char *name;
    push_field *push;
} fields[] = {
    {"accepted", push_accepted},
    {"analyzer", push_analyzer},
    {"at", push_at},
    {"bound", push_bound},
    {"code", push_code},
    {"collected_at", push_collected_at},
    {"control_lot", push_control_lot},
    {"day", push_day_field},
    {"failed", push_failed},
    {"good_later", push_good_later},
    {"is_test", push_is_test},
    {"level", push_level},
    {"lot", push_lot},
    {"mean", push_mean},
    {"method", push_method},
    {"noted", push_noted},
    {"notified_at", push_notified_at},
    {"number", push_number},
    {"operator", push_operator},
    {"place", push_place},
    {"record", push_record},
    {"recorded_at", push_recorded_at},
    {"reported_at", push_reported_at},
    {"result", push_result},
    {"sd", push_sd},
    {"sequence", push_sequence},
    {"specimen", push_specimen},
    {"test", push_test},
    {"unit", push_unit},
    {"z", push_z},
    {"within", push_within},
    {"word", push_word},
};
enum { FIELD_COUNT = sizeof fields / sizeof *fields };

int run_object_field(struct text name)
{
    for (int i = 0; i < FIELD_COUNT; i++)
        if (text_is(name, fields[i].name))
            return i;
    return -1;
}

/* Costs as much as some instructions, but in a loop over runs no instruction counts it. */
void run_object_push_field(lua_State *lua, const struct history *history, uint32_t place, int field)
{
    enum { INSTRUCTIONS_OF_A_FIELD = 5 };
    sandbox_charge(lua, INSTRUCTIONS_OF_A_FIELD);
    fields[field].push(lua, history, &history->runs[place], place);
}

/* Its upvalue: the number of each field by its name. Rules reach it only by indexing a run: they have no way to a
 * metatable, so the first argument is a run. */
static int index_run(lua_State *lua)
{
    const struct run_object *object = lua_touserdata(lua, 1);
    lua_settop(lua, 2);
    lua_pushvalue(lua, 2);
    if (lua_rawget(lua, lua_upvalueindex(1)) != LUA_TNUMBER)
        return luaL_error(lua, "a run has no field '%s'", luaL_checkstring(lua, 2));
    run_object_push_field(lua, object->host->history, object->place, (int)lua_tointeger(lua, -1));
    return 1;
}

void run_object_offer(lua_State *lua)
{
    luaL_newmetatable(lua, "run");
    lua_createtable(lua, 0, FIELD_COUNT);
    for (int i = 0; i < FIELD_COUNT; i++) {
        lua_pushinteger(lua, i);
        lua_setfield(lua, -2, fields[i].name);
    }
    lua_pushcclosure(lua, index_run, 1);
    lua_setfield(lua, -2, "__index");
    lua_pop(lua, 1);
}

void run_object_push(lua_State *lua, struct host *host, uint32_t place)
{
    struct run_object *object = lua_newuserdatauv(lua, sizeof *object, 0);
    *object = (struct run_object){host, place};
    luaL_setmetatable(lua, "run");
}

void run_object_move(lua_State *lua, int index, uint32_t place)
{
    struct run_object *object = lua_touserdata(lua, index);
    object->place = place;
}
