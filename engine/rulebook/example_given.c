/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What an example puts on record, in words. */
#include <string.h>

#include "rulebook/example_site.h"
#include "rulebook/in_order.h"

struct telling {
    lua_State *lua; /* the example at the top of the stack */
    struct arena *arena;
    struct example_told *told;
    size_t capacity;
};

static void say(struct telling *telling, struct text line)
{
    struct example_told *told = telling->told;
    if (told->given_count == telling->capacity) {
        size_t capacity = telling->capacity ? telling->capacity * 2 : 16;
        struct text *grown = arena_take(telling->arena, capacity * sizeof *grown);
        if (told->given_count)
            memcpy(grown, told->given, told->given_count * sizeof *grown);
        told->given = grown;
        telling->capacity = capacity;
    }
    told->given[told->given_count++] = line;
}

/* A field of the table at the top of the stack, as text; absent if it is none. */
static struct text field_text(struct telling *telling, const char *field)
{
    struct text text = {0};
    lua_getfield(telling->lua, -1, field);
    if (lua_isstring(telling->lua, -1))
        text = text_keep(telling->arena, text_of(lua_tostring(telling->lua, -1)));
    lua_pop(telling->lua, 1);
    return text;
}

/* The text with blanks for each `mark`. */
static struct text with_blanks(const char *string, char mark, struct arena *arena)
{
    size_t size = strlen(string);
    char *letters = arena_take(arena, size + 1);
    for (size_t i = 0; i < size; i++)
        letters[i] = string[i] == mark ? ' ' : string[i];
    return (struct text){letters, size};
}

/* "held on 2026-10-01" */
static struct text cell_words(const char *column, struct text cell, struct arena *arena)
{
    return text_print(arena, "%.*s %.*s", TEXT_FORMAT(with_blanks(column, '_', arena)), TEXT_FORMAT(cell));
}

static void say_rows(struct telling *telling, const struct record_kind *kind, const struct example_rows *rows)
{
    for (size_t r = 0; r < rows->count; r++) {
        struct text line = text_print(telling->arena, "%s: ", kind->name);
        bool first = true;
        for (size_t i = 0; rows->rows[r].own && i < kind->column_count; i++) {
            if (!rows->rows[r].cells[i].data)
                continue;
            struct text cell = cell_words(kind->columns[i].name, rows->rows[r].cells[i], telling->arena);
            line = text_print(telling->arena, "%.*s%s%.*s", TEXT_FORMAT(line), first ? "" : ", ", TEXT_FORMAT(cell));
            first = false;
        }
        if (!first)
            say(telling, line);
    }
}

static size_t base_rows(const struct example_rows *rows)
{
    size_t count = 0;
    for (size_t i = 0; i < rows->count; i++)
        count += !rows->rows[i].own;
    return count;
}

/* Names like "site" and "strip" to lines of their files. */
static void say_settings(struct telling *telling)
{
    lua_State *lua = telling->lua;
    if (lua_getfield(lua, -1, "settings") == LUA_TTABLE) {
        int settings = lua_gettop(lua);
        lua_pushnil(lua);
        while (next_in_order(lua, settings)) {
            if (lua_type(lua, -2) == LUA_TSTRING && lua_type(lua, -1) == LUA_TSTRING) {
                const char *name = lua_tostring(lua, -2), *lines = lua_tostring(lua, -1);
                const char *folder = strcmp(name, "site") == 0 ? "" : "methods/";
                bool out = *lines == '-';
                struct text line = with_blanks(lines + out, '\n', telling->arena);
                say(telling, text_print(telling->arena, "%s%s.yaml %s %.*s", folder, name, out ? "has no" : "says",
                                        TEXT_FORMAT(line)));
            }
            lua_pop(lua, 1);
        }
    }
    lua_pop(lua, 1);
}

static void say_refused(struct telling *telling)
{
    struct text file = field_text(telling, "file"), line = field_text(telling, "line");
    struct text reason = field_text(telling, "reason");
    say(telling, text_print(telling->arena, "%.*s:%.*s was refused: %.*s", TEXT_FORMAT(file), TEXT_FORMAT(line),
                            TEXT_FORMAT(reason)));
}

static void say_changed(struct telling *telling)
{
    struct text key = field_text(telling, "key"), loaded = field_text(telling, "loaded_on");
    lua_getfield(telling->lua, -1, "withdrawn");
    bool withdrawn = lua_toboolean(telling->lua, -1);
    lua_pop(telling->lua, 1);
    if (!loaded.data)
        loaded = telling->told->to;
    say(telling, text_print(telling->arena, "%.*s was %s by the load of %.*s", TEXT_FORMAT(key),
                            withdrawn ? "withdrawn" : "changed", TEXT_FORMAT(loaded)));
}

static void say_each(struct telling *telling, const char *field, void (*say_one)(struct telling *))
{
    lua_State *lua = telling->lua;
    if (lua_getfield(lua, -1, field) == LUA_TTABLE)
        for (size_t i = 1; i <= lua_rawlen(lua, -1); i++) {
            if (lua_geti(lua, -1, (lua_Integer)i) == LUA_TTABLE)
                say_one(telling);
            lua_pop(lua, 1);
        }
    lua_pop(lua, 1);
}

void example_given(lua_State *lua, const struct example_site *site, const struct example *example, struct arena *arena,
                   struct example_told *told)
{
    struct telling telling = {lua, arena, told, 0};
    say_settings(&telling);
    for (int k = 0; k < KIND_COUNT; k++) {
        const struct record_kind *kind = kind_of((enum kind_id)k);
        const struct example_rows *rows = &example->kinds[k];
        if (site->kinds[k].kept && !rows->kept)
            say(&telling, text_print(arena, "no %s log is kept", kind->name));
        else if (site->kinds[k].count && !base_rows(rows))
            say(&telling, text_print(arena, "the %s log holds nothing but what follows", kind->name));
        say_rows(&telling, kind, rows);
    }
    say_each(&telling, "refused", say_refused);
    say_each(&telling, "changed", say_changed);
}
