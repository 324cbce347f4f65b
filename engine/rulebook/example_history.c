/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The history of an example's site: its rows typed as a load would, and what an example says of refused and changed
 * rows. */
#include <string.h>

#include <lauxlib.h>

#include "base/utf8.h"
#include "rulebook/example_site.h"

static bool type_row(struct example *example, const struct record_kind *kind, const struct example_row *row,
                     struct cell *cells, struct fault *fault)
{
    for (size_t i = 0; i < kind->column_count; i++) {
        const struct column *column = &kind->columns[i];
        const char *why = "is required";
        cells[i] = (struct cell){0};
        if (!row->cells[i].data && !(column->flags & COLUMN_REQUIRED))
            continue;
        if (!row->cells[i].data || !cell_parse(column, row->cells[i], &cells[i], &why))
            return fault_set(fault, FAULT_RULE, "%s: row %u: %s: %.*s: %s", kind->name, row->line, column->name,
                             TEXT_FORMAT(row->cells[i].data ? row->cells[i] : TEXT("nothing")), why);
        if (column->type == CELL_ID && !(column->flags & COLUMN_PLENTIFUL))
            cells[i].whole = names_add(example->names, cells[i].text);
    }
    return true;
}

static struct text text_field(lua_State *lua, struct arena *arena, const char *field)
{
    struct text text = {0};
    if (lua_getfield(lua, -1, field) == LUA_TSTRING)
        text = text_keep(arena, utf8_cut(text_of(lua_tostring(lua, -1)), RULE_TEXT_MOST));
    lua_pop(lua, 1);
    return text;
}

static int64_t whole_field(lua_State *lua, const char *field)
{
    lua_getfield(lua, -1, field);
    int64_t whole = lua_tointeger(lua, -1);
    lua_pop(lua, 1);
    return whole;
}

static bool true_field(lua_State *lua, const char *field)
{
    lua_getfield(lua, -1, field);
    bool yes = lua_toboolean(lua, -1);
    lua_pop(lua, 1);
    return yes;
}

static moment time_field(lua_State *lua, struct arena *arena, const char *field)
{
    moment at = MOMENT_ABSENT;
    day_number day;
    struct text text = text_field(lua, arena, field);
    if (text.data && !moment_parse(text, &at, NULL) && day_parse(text, &day, NULL))
        at = shelf_midnight(day);
    return at;
}

/* The refused row, or file, at the top of the stack. */
static void add_refused(lua_State *lua, struct example *example, struct history *history)
{
    struct text kind = text_field(lua, example->arena, "kind");
    struct stored_refusal refusal = {
        .path = text_field(lua, example->arena, "file"),
        .line = (uint32_t)whole_field(lua, "line"),
        .kind = kind.data ? kind_named(kind) : NULL,
        .reason = text_field(lua, example->arena, "reason"),
        .analyzer = names_add(example->names, text_field(lua, example->arena, "analyzer")),
        .sequence = whole_field(lua, "sequence"),
        .at = time_field(lua, example->arena, "at"),
        .to_end = true_field(lua, "to_end"),
    };
    refusal.has_sequence = refusal.sequence != 0;
    if (refusal.line) {
        history_refusal(history, &refusal);
        return;
    }
    history_file_row(history, &(struct stored_file){refusal.path, refusal.kind, 0, refusal.reason});
}

static void add_changed(lua_State *lua, struct example *example, struct history *history)
{
    struct text kind = text_field(lua, example->arena, "kind"), loaded = text_field(lua, example->arena, "loaded_on");
    struct stored_change change = {
        .kind = kind_named(kind),
        .withdrawn = true_field(lua, "withdrawn"),
        .noted = true_field(lua, "noted"),
        .key = text_field(lua, example->arena, "key"),
        .at = time_field(lua, example->arena, "at"),
        .test = text_field(lua, example->arena, "test"),
        .path = text_print(example->arena, "records/%.*s.csv", TEXT_FORMAT(kind)),
        .line = 2,
    };
    if (!loaded.data || !day_parse(loaded, &change.loaded_on, NULL))
        change.loaded_on = example->to;
    if (change.kind)
        history_change(history, &change);
}

static void each_of(lua_State *lua, const char *field, struct example *example, struct history *history,
                    void (*add)(lua_State *, struct example *, struct history *))
{
    if (lua_getfield(lua, -1, field) == LUA_TTABLE)
        for (size_t i = 1; i <= lua_rawlen(lua, -1); i++) {
            if (lua_geti(lua, -1, (lua_Integer)i) == LUA_TTABLE)
                add(lua, example, history);
            lua_pop(lua, 1);
        }
    lua_pop(lua, 1);
}

/* Refused rows count among the rows of their file. */
static uint64_t refused_rows(const struct history *history, struct text path)
{
    uint64_t count = 0;
    for (size_t i = 0; i < history->refusal_count; i++)
        count += text_equal(history->refusals[i].path, path);
    return count;
}

bool example_history(lua_State *lua, struct example *example, struct history **out, struct fault *fault)
{
    *out = NULL;
    AUTO(history) history = history_new(&example->settings, example->names, example->to);
    each_of(lua, "refused", example, history, add_refused);
    each_of(lua, "changed", example, history, add_changed);
    for (int k = 0; k < KIND_COUNT; k++) {
        const struct record_kind *kind = kind_of((enum kind_id)k);
        const struct example_rows *rows = &example->kinds[k];
        struct text path = text_print(example->arena, "records/%s.csv", kind->name);
        uint32_t file = names_add(example->names, path);
        struct cell cells[COLUMNS_MOST];
        for (size_t i = 0; i < rows->count; i++) {
            if (!type_row(example, kind, &rows->rows[i], cells, fault))
                return false;
            history_row(history, kind, &(struct stored_row){cells, file, rows->rows[i].line});
        }
        if (rows->kept)
            history_file_row(history,
                             &(struct stored_file){path, kind, rows->count + refused_rows(history, path), {0}});
    }
    history_ready(history);
    *out = history;
    history = NULL;
    return true;
}

void example_clear(struct example *example)
{
    for (int k = 0; k < KIND_COUNT; k++)
        memory_free(example->kinds[k].rows);
    names_free(example->names);
    arena_free(example->arena);
}
