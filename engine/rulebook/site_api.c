/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a site rule sees of its site: one table with the period, the settings and functions to get at records. Made anew
 * for each rule, so that none can change what another sees. */
#include <lauxlib.h>
#include <math.h>

#include "rulebook/filter.h"
#include "rulebook/host.h"
#include "rulebook/run_object.h"

/* ---- records ---- */

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

static int api_records(lua_State *lua)
{
    struct host *host = host_of(lua);
    const char *name = luaL_checkstring(lua, 1);
    const struct record_kind *kind = kind_named(text_of(name));
    if (!kind || kind->id == KIND_TESTS || kind->id == KIND_CONTROLS)
        return luaL_error(lua, kind ? "site.records: use site.runs for %s" : "site.records: there is no kind '%s'",
                          name);
    push_record_metatable(lua, kind);
    int metatable = lua_gettop(lua);
    lua_createtable(lua, (int)host->history->record_count[kind->id], 0);
    for (size_t i = 0; i < host->history->record_count[kind->id]; i++) {
        push_record(lua, host->history, kind, &host->history->records[kind->id][i], metatable);
        lua_seti(lua, -2, (lua_Integer)i + 1);
    }
    return 1;
}

/* ---- runs ---- */

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

/* site.runs(filter, field…) */
static int api_runs(lua_State *lua)
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

static int api_run(lua_State *lua)
{
    struct host *host = host_of(lua);
    lua_Integer place = luaL_checkinteger(lua, 1);
    if (place < 0 || (size_t)place >= host->history->run_count)
        return luaL_error(lua, "site.run: there is no run at this place");
    run_object_push(lua, host, (uint32_t)place);
    return 1;
}

/* ---- settings ---- */

static int api_setting(lua_State *lua)
{
    struct host *host = host_of(lua);
    const struct method_settings *method = settings_method(host->history->settings, to_text(lua, 1));
    const char *key = luaL_checkstring(lua, 2);
    const struct setting_line *line = method ? settings_line(method, key) : NULL;
    if (!line)
        return 0;
    if (decimal_valid(line->value))
        lua_pushnumber(lua, decimal_double(line->value));
    else if (text_is(line->value, "true") || text_is(line->value, "yes"))
        lua_pushboolean(lua, 1);
    else if (text_is(line->value, "false") || text_is(line->value, "no"))
        lua_pushboolean(lua, 0);
    else
        push_text(lua, line->value);
    return 1;
}

static int api_levels(lua_State *lua)
{
    const struct method_settings *method = settings_method(host_of(lua)->history->settings, to_text(lua, 1));
    lua_newtable(lua);
    for (size_t i = 0; method && i < method->level_count; i++) {
        push_text(lua, method->levels[i]);
        lua_seti(lua, -2, (lua_Integer)i + 1);
    }
    return 1;
}

/* A rule by its id; NULL if no book has it. */
static const struct rule *known_rule(const struct host *host, struct text id)
{
    const struct rule *rule = rulebook_find(host->known[0], id);
    return rule || !host->known[1] ? rule : rulebook_find(host->known[1], id);
}

/* site.param(name, method, rule): of this rule, or of another. */
static int api_param(lua_State *lua)
{
    struct host *host = host_of(lua);
    struct text name = to_text(lua, 1), method = to_text(lua, 2), other = to_text(lua, 3);
    const struct rule *rule = other.data ? known_rule(host, other) : host->running->rule;
    if (!rule)
        return luaL_error(lua, "site.param: there is no rule '%s'", other.data);
    const struct method_settings *settings = method.data ? settings_method(host->history->settings, method) : NULL;
    for (size_t p = 0; p < rule->parameter_count; p++) {
        if (!text_equal(rule->parameters[p].name, name))
            continue;
        struct parameter_value value = parameter_in_force(rule, &rule->parameters[p], settings, host->policies, NULL);
        push_parameter(lua, rule->parameters[p].type, &value);
        return 1;
    }
    return luaL_error(lua, "site.param: the rule has no parameter '%s'", name.data);
}

/* The greater of percent and absolute. */
static int api_allowable_error(lua_State *lua)
{
    const struct method_settings *method = settings_method(host_of(lua)->history->settings, to_text(lua, 1));
    double value = luaL_checknumber(lua, 2), error = -1;
    if (!method)
        return 0;
    if (method->allowable_percent.present)
        error = method->allowable_percent.number / 100 * fabs(value);
    if (method->allowable_absolute.present && method->allowable_absolute.number > error)
        error = method->allowable_absolute.number;
    if (error < 0)
        return 0;
    lua_pushnumber(lua, error);
    return 1;
}

static int api_method_of(lua_State *lua)
{
    struct host *host = host_of(lua);
    uint32_t analyzer = names_find(host->history->names, to_text(lua, 1));
    uint32_t method = history_method_of(host->history, analyzer, to_day(lua, 2));
    push_text(lua, names_text(host->history->names, method));
    return 1;
}

static int api_convert(lua_State *lua)
{
    const struct method_settings *method = settings_method(host_of(lua)->history->settings, to_text(lua, 1));
    struct text unit = to_text(lua, 2);
    double number = luaL_checknumber(lua, 3);
    if (unit.data && method && !text_equal(unit, method->unit) && !history_convert(method, unit, number, &number))
        return 0;
    lua_pushnumber(lua, number);
    return 1;
}

static int api_kept(lua_State *lua)
{
    const struct record_kind *kind = kind_named(to_text(lua, 1));
    if (!kind)
        return luaL_error(lua, "site.kept: there is no such kind");
    lua_pushboolean(lua, host_of(lua)->history->kept[kind->id]);
    return 1;
}

static int api_open_on(lua_State *lua)
{
    lua_pushboolean(lua, settings_open_on(host_of(lua)->history->settings, to_day(lua, 1)));
    return 1;
}

static int api_result(lua_State *lua)
{
    struct result result = result_of(to_text(lua, 1));
    if (result.kind == RESULT_WORD)
        lua_pushnil(lua);
    else
        lua_pushnumber(lua, result.number);
    push_text(lua, result.kind == RESULT_WORD ? result.text : (struct text){0});
    push_text(lua, result.kind == RESULT_BELOW   ? TEXT("<")
                   : result.kind == RESULT_ABOVE ? TEXT(">")
                                                 : (struct text){0});
    return 3;
}

/* ---- the table ---- */

static void set_text(lua_State *lua, const char *field, struct text text)
{
    push_text(lua, text);
    lua_setfield(lua, -2, field);
}

static void set_day(lua_State *lua, const char *field, day_number day)
{
    push_day(lua, day);
    lua_setfield(lua, -2, field);
}

static void set_setting(lua_State *lua, const char *field, struct setting_number number)
{
    if (!number.present)
        return;
    lua_pushnumber(lua, number.number);
    lua_setfield(lua, -2, field);
}

static void set_place_of(lua_State *lua, struct where where)
{
    set_text(lua, "file", where.file);
    lua_pushinteger(lua, where.line);
    lua_setfield(lua, -2, "line");
}

static void push_settings(lua_State *lua, const struct site_settings *settings)
{
    if (settings->has_certificate) {
        lua_newtable(lua);
        set_text(lua, "number", settings->certificate_number);
        set_day(lua, "issued_on", settings->certificate_issued_on);
        set_day(lua, "expires_on", settings->certificate_expires_on);
        set_place_of(lua, settings->certificate_where);
        lua_setfield(lua, -2, "certificate");
    }
    lua_newtable(lua);
    for (size_t i = 0; i < settings->change_count; i++) {
        lua_newtable(lua);
        set_text(lua, "what", settings->changes[i].what);
        set_day(lua, "on", settings->changes[i].on);
        set_day(lua, "notified_on", settings->changes[i].notified_on);
        set_place_of(lua, settings->changes[i].where);
        lua_seti(lua, -2, (lua_Integer)i + 1);
    }
    lua_setfield(lua, -2, "changes");
    lua_newtable(lua);
    for (size_t i = 0; i < settings->place_count; i++) {
        const struct place_settings *place = &settings->places[i];
        lua_newtable(lua);
        set_text(lua, "place", place->place);
        set_setting(lua, "low", place->low);
        set_setting(lua, "high", place->high);
        set_setting(lua, "humidity_high", place->humidity_high);
        set_setting(lua, "readings_per_open_day", place->readings_per_open_day);
        set_place_of(lua, place->where);
        lua_seti(lua, -2, (lua_Integer)i + 1);
    }
    lua_setfield(lua, -2, "places");
    lua_newtable(lua);
    for (size_t i = 0; i < settings->menu_count; i++) {
        push_text(lua, settings->menu[i]);
        lua_seti(lua, -2, (lua_Integer)i + 1);
    }
    lua_setfield(lua, -2, "menu");
    lua_newtable(lua);
    for (size_t i = 0; i < settings->method_count; i++) {
        push_text(lua, settings->methods[i].method);
        lua_seti(lua, -2, (lua_Integer)i + 1);
    }
    lua_setfield(lua, -2, "methods");
}

static void push_refusal(lua_State *lua, const struct history *history, const struct stored_refusal *refusal)
{
    lua_newtable(lua);
    set_text(lua, "file", refusal->path);
    lua_pushinteger(lua, refusal->line);
    lua_setfield(lua, -2, "line");
    set_text(lua, "kind", text_of(refusal->kind ? refusal->kind->name : NULL));
    set_text(lua, "reason", refusal->reason);
    set_text(lua, "column", refusal->column);
    set_text(lua, "analyzer", names_text(history->names, refusal->analyzer));
    push_time(lua, refusal->at);
    lua_setfield(lua, -2, "at");
}

static void push_what_loads_said(lua_State *lua, const struct history *history)
{
    lua_newtable(lua);
    for (size_t i = 0; i < history->file_count; i++) {
        const struct history_file *file = &history->files[i];
        lua_newtable(lua);
        set_text(lua, "file", file->path);
        set_text(lua, "kind", text_of(file->kind ? file->kind->name : NULL));
        set_text(lua, "refused", file->refused);
        lua_pushinteger(lua, (lua_Integer)file->rows);
        lua_setfield(lua, -2, "rows");
        lua_pushinteger(lua, 1);
        lua_setfield(lua, -2, "line");
        lua_seti(lua, -2, (lua_Integer)i + 1);
    }
    lua_setfield(lua, -2, "files");
    lua_newtable(lua);
    for (size_t i = 0; i < history->refusal_count; i++) {
        push_refusal(lua, history, &history->refusals[i]);
        lua_seti(lua, -2, (lua_Integer)i + 1);
    }
    lua_setfield(lua, -2, "refusals");
    lua_newtable(lua);
    for (size_t i = 0; i < history->change_count; i++) {
        const struct stored_change *change = &history->changes[i];
        lua_newtable(lua);
        set_text(lua, "kind", text_of(change->kind->name));
        set_text(lua, "key", change->key);
        set_text(lua, "test", change->test);
        set_text(lua, "file", change->path);
        lua_pushinteger(lua, change->line);
        lua_setfield(lua, -2, "line");
        lua_pushboolean(lua, change->withdrawn);
        lua_setfield(lua, -2, "withdrawn");
        lua_pushboolean(lua, change->noted);
        lua_setfield(lua, -2, "noted");
        push_time(lua, change->at);
        lua_setfield(lua, -2, "at");
        set_day(lua, "loaded_on", change->loaded_on);
        bool dated =
            change->kind->event_column >= 0 && change->kind->columns[change->kind->event_column].type == CELL_DATE;
        lua_pushboolean(lua, dated);
        lua_setfield(lua, -2, "dated");
        lua_seti(lua, -2, (lua_Integer)i + 1);
    }
    lua_setfield(lua, -2, "amendments");
}

void site_push(struct host *host)
{
    static const luaL_Reg functions[] = {
        {"records", api_records},     {"runs", api_runs},       {"run", api_run},
        {"setting", api_setting},     {"levels", api_levels},   {"param", api_param},
        {"method_of", api_method_of}, {"convert", api_convert}, {"allowable_error", api_allowable_error},
        {"kept", api_kept},           {"open_on", api_open_on}, {"result", api_result},
    };
    lua_State *lua = host->lua;
    const struct history *history = host->history;
    lua_newtable(lua);
    for (size_t i = 0; i < sizeof functions / sizeof *functions; i++) {
        lua_pushlightuserdata(lua, host);
        lua_pushcclosure(lua, functions[i].func, 1);
        lua_setfield(lua, -2, functions[i].name);
    }
    set_text(lua, "id", history->settings->site);
    set_day(lua, "from", host->period.from);
    set_day(lua, "to", host->period.to);
    set_day(lua, "as_of", host->period.as_of);
    if (history->run_count)
        set_day(lua, "first_day", history_day(history, history->runs[0].at));
    push_settings(lua, history->settings);
    push_what_loads_said(lua, history);
}

void site_offer(struct host *host) { run_object_offer(host); }
