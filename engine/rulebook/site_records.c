/* SPDX-License-Identifier: GPL-3.0-or-later */
/* site.records: the records of a kind as tables that cannot be written. */
#include <lauxlib.h>

#include "rulebook/host.h"

static void push_cell(lua_State *lua, const struct column *column, const struct cell *cell)
{
    switch (column->type) {
    case CELL_DATE:
        lua_pushinteger(lua, cell->whole);
        break;
    case CELL_TIME:
        push_time(lua, cell->whole);
        break;
    case CELL_NUMBER:
        lua_pushnumber(lua, decimal_double(cell->text));
        break;
    case CELL_WHOLE:
        lua_pushinteger(lua, cell->whole);
        break;
    case CELL_YES_NO:
        lua_pushboolean(lua, cell->whole != 0);
        break;
    case CELL_WORD:
        lua_pushstring(lua, column->words[cell->whole]);
        break;
    case CELL_WORDS: {
        lua_newtable(lua);
        lua_Integer count = 0;
        for (size_t begin = 0, i = 0; i <= cell->text.size; i++) {
            if (i < cell->text.size && cell->text.data[i] != ';')
                continue;
            struct text word = text_trim((struct text){cell->text.data + begin, i - begin});
            if (word.size) {
                push_text(lua, word);
                lua_seti(lua, -2, ++count);
            }
            begin = i + 1;
        }
        break;
    }
    default:
        push_text(lua, cell->text);
        break;
    }
}

/* A column that is absent is nil; one that does not exist is an error that names the nearest. */
static int absent_column(lua_State *lua)
{
    const struct record_kind *kind = lua_touserdata(lua, lua_upvalueindex(1));
    const char *name = luaL_checkstring(lua, 2);
    if (kind_column(kind, text_of(name)) >= 0)
        return 0;
    const char *names[COLUMNS_MOST + 1] = {NULL};
    for (size_t i = 0; i < kind->column_count; i++)
        names[i] = kind->columns[i].name;
    const char *near = text_nearest(text_of(name), names);
    return luaL_error(lua, "%s have no column '%s'%s%s%s", kind->name, name, near ? ", did you mean '" : "",
                      near ? near : "", near ? "'?" : "");
}

static int refuse_write(lua_State *lua) { return luaL_error(lua, "records cannot be written"); }

static void push_record_metatable(lua_State *lua, const struct record_kind *kind)
{
    lua_createtable(lua, 0, 2);
    lua_pushlightuserdata(lua, (void *)(uintptr_t)kind);
    lua_pushcclosure(lua, absent_column, 1);
    lua_setfield(lua, -2, "__index");
    lua_pushcfunction(lua, refuse_write);
    lua_setfield(lua, -2, "__newindex");
}

static void push_record(lua_State *lua, const struct history *history, const struct record_kind *kind,
                        const struct record *record, int metatable)
{
    lua_createtable(lua, 0, (int)kind->column_count + 2);
    for (size_t i = 0; i < kind->column_count; i++) {
        if (!record->cells[i].present)
            continue;
        push_cell(lua, &kind->columns[i], &record->cells[i]);
        lua_setfield(lua, -2, kind->columns[i].name);
    }
    push_text(lua, history_path(history, record->file));
    lua_setfield(lua, -2, "file");
    lua_pushinteger(lua, record->line);
    lua_setfield(lua, -2, "line");
    lua_pushvalue(lua, metatable);
    lua_setmetatable(lua, -2);
}

int site_records(lua_State *lua)
{
    struct host *host = host_of(lua);
    const char *name = luaL_checkstring(lua, 1);
    const struct record_kind *kind = kind_named(text_of(name));
    if (!kind || kind->id == KIND_TESTS || kind->id == KIND_CONTROLS)
        return luaL_error(lua, kind ? "site.records: use site.runs for %s" : "site.records: there is no kind '%s'",
                          name);
    push_record_metatable(lua, kind);
    int metatable = lua_gettop(lua);
    sandbox_new_list(lua, host->history->record_count[kind->id]);
    for (size_t i = 0; i < host->history->record_count[kind->id]; i++) {
        push_record(lua, host->history, kind, &host->history->records[kind->id][i], metatable);
        lua_seti(lua, -2, (lua_Integer)i + 1);
    }
    return 1;
}
