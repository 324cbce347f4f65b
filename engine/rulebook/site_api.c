/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a site rule sees of its site: one table with the period, the settings and functions to get at records. Made anew
 * for each rule, so that none can change what another sees. */
#include <lauxlib.h>
#include <math.h>

#include "rulebook/host.h"
#include "rulebook/run_object.h"

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
    const struct rule *rule = other.data ? known_rule(host, other) : running_instance(lua)->rule;
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
    double value = sandbox_number(lua, 2), error = -1;
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
    double number = sandbox_number(lua, 3);
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
    lua_pushboolean(lua, refusal->to_end);
    lua_setfield(lua, -2, "to_end");
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
        {"records", site_records},    {"runs", site_runs},      {"run", site_run},
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

void site_offer(struct sandbox *sandbox) { run_object_offer(sandbox_lua(sandbox)); }
