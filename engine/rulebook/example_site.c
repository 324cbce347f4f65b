/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rulebook/example_site.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <lauxlib.h>

#include "intake/csv.h"
#include "rulebook/in_order.h"

/* ---- the base site ---- */

static bool add_settings(struct example_site *site, const char *home, const char *file, struct fault *fault)
{
    struct file_bytes bytes;
    struct text path = text_print(site->arena, "%s/example-site/%s", home, file);
    if (!file_read(path.data, NULL, &bytes, fault))
        return false;
    struct text kept = text_keep(site->arena, (struct text){bytes.data, bytes.size});
    memory_free(bytes.data);
    const char *name = text_string(site->arena, text_of(file));
    site->sources[site->source_count++] = (struct settings_source){name, name, kept.data, kept.size};
    return true;
}

/* Rows of a log, its columns found by their header. */
static bool read_rows(struct example_site *site, const char *path, const struct record_kind *kind, struct fault *fault)
{
    struct file_bytes bytes;
    struct csv_reader reader;
    int columns[COLUMNS_MOST];
    size_t column_count = 0;
    uint32_t line;
    if (!file_read(path, NULL, &bytes, fault))
        return false;
    struct text kept = text_keep(site->arena, (struct text){bytes.data, bytes.size});
    memory_free(bytes.data);
    struct example_rows *rows = &site->kinds[kind->id];
    rows->kept = true;
    csv_start(&reader, (char *)(uintptr_t)kept.data, kept.size);
    for (bool header = true; csv_next(&reader, &line) == CSV_ROW; header = false) {
        if (header) {
            for (; column_count < reader.cell_count && column_count < COLUMNS_MOST; column_count++)
                columns[column_count] = kind_column(kind, reader.cells[column_count]);
            continue;
        }
        VECTOR_GROW(rows->rows, rows->count, rows->capacity);
        struct example_row *row = &rows->rows[rows->count++];
        *row = (struct example_row){.line = line};
        for (size_t i = 0; i < reader.cell_count && i < column_count; i++)
            if (columns[i] >= 0 && reader.cells[i].size)
                row->cells[columns[i]] = reader.cells[i];
    }
    csv_stop(&reader);
    return true;
}

/* A table { column = "text" } at the top of the stack into a row; "" makes a cell absent. *left: bytes for cells. */
static bool read_cells(lua_State *lua, struct arena *arena, size_t *left, const struct record_kind *kind,
                       struct example_row *row, struct fault *fault)
{
    if (!lua_istable(lua, -1))
        return fault_set(fault, FAULT_RULE, "%s: a row must be a table", kind->name);
    int cells = lua_gettop(lua);
    size_t count = 0;
    lua_pushnil(lua);
    while (next_in_order(lua, cells)) {
        int column = kind_column(kind, text_of(key_name(lua, -2)));
        if (++count > kind->column_count) /* one is there in letters of both cases */
            column = -1;
        if (column < 0 || lua_type(lua, -1) != LUA_TSTRING) {
            fault_set(fault, FAULT_RULE, "%s: %s: %s", kind->name, key_name(lua, -2),
                      column < 0 ? "no such column" : "cells are strings");
            lua_pop(lua, 2);
            return false;
        }
        size_t size;
        const char *bytes = lua_tolstring(lua, -1, &size);
        if (size > *left)
            return fault_set(fault, FAULT_RULE, "%s: more than 4 MiB of text", kind->name);
        *left -= size;
        row->cells[column] = size ? text_keep(arena, (struct text){bytes, size}) : (struct text){0};
        lua_pop(lua, 1);
    }
    return true;
}

static bool read_defaults(struct example_site *site, const char *home, struct fault *fault)
{
    AUTO(sandbox) sandbox = sandbox_new();
    lua_State *lua = sandbox_lua(sandbox);
    struct file_bytes bytes;
    struct sandbox_program program;
    struct text path = text_print(site->arena, "%s/example-site/defaults.lua", home);
    if (!file_read(path.data, NULL, &bytes, fault))
        return false;
    size_t left = EXAMPLE_BYTES_MOST;
    bool ok = sandbox_compile(sandbox, "rules/example-site/defaults.lua", (struct text){bytes.data, bytes.size},
                              &program, fault);
    memory_free(bytes.data);
    if (!ok)
        return false;
    lua_rawgeti(lua, LUA_REGISTRYINDEX, program.chunk);
    if (!sandbox_call(sandbox, &program, 0, 1, SANDBOX_SITE_BUDGET, fault))
        return false;
    for (int k = 0; ok && k < KIND_COUNT; k++) {
        const struct record_kind *kind = kind_of((enum kind_id)k);
        if (lua_getfield(lua, -1, kind->name) == LUA_TTABLE)
            ok = read_cells(lua, site->arena, &left, kind, &site->defaults[k], fault);
        lua_pop(lua, 1);
    }
    return ok;
}

static bool read_methods(struct example_site *site, const char *home, struct fault *fault)
{
    struct text path = text_print(site->arena, "%s/example-site/methods", home);
    DIR *directory = opendir(path.data);
    if (!directory)
        return fault_set(fault, FAULT_FILE, "%s: cannot be read", path.data);
    bool ok = true;
    for (struct dirent *entry; ok && (entry = readdir(directory));) {
        if (entry->d_name[0] == '.')
            continue;
        struct text file = text_print(site->arena, "methods/%s", entry->d_name);
        struct settings_source *sources = arena_take(site->arena, (site->source_count + 1) * sizeof *sources);
        memcpy(sources, site->sources, site->source_count * sizeof *sources);
        site->sources = sources;
        ok = add_settings(site, home, file.data, fault);
    }
    closedir(directory);
    return ok;
}

bool example_site_open(struct example_site **out, const char *home, struct fault *fault)
{
    *out = NULL;
    AUTO(example_site) site = memory_new(sizeof *site);
    site->arena = arena_new();
    site->sources = arena_take(site->arena, sizeof *site->sources);
    bool ok = add_settings(site, home, "site.yaml", fault) && read_methods(site, home, fault) &&
              read_defaults(site, home, fault);
    for (int k = 0; ok && k < KIND_COUNT; k++) {
        const struct record_kind *kind = kind_of((enum kind_id)k);
        ok = read_rows(site, text_print(site->arena, "%s/example-site/records/%s.csv", home, kind->name).data, kind,
                       fault);
    }
    if (!ok)
        return false;
    *out = site;
    site = NULL;
    return true;
}

void example_site_free(struct example_site *site)
{
    if (!site)
        return;
    for (int k = 0; k < KIND_COUNT; k++)
        memory_free(site->kinds[k].rows);
    arena_free(site->arena);
    memory_free(site);
}

/* ---- an example over it ---- */

/* Where the block of a top key begins and ends in a settings file; false if it is not there. */
static bool find_block(struct text file, struct text key, size_t *begin, size_t *end)
{
    bool inside = false;
    for (size_t at = 0; at < file.size;) {
        const char *line = file.data + at, *stop = memchr(line, '\n', file.size - at);
        size_t size = stop ? (size_t)(stop - line) + 1 : file.size - at;
        bool top = size && *line != ' ' && *line != '#' && *line != '\n';
        if (inside && top)
            break;
        if (!inside && top && size > key.size && !memcmp(line, key.data, key.size) && line[key.size] == ':') {
            inside = true;
            *begin = at;
        }
        at += size;
        if (inside)
            *end = at;
    }
    return inside;
}

/* Each line makes the file anew. */
static bool has_few_lines(struct text lines)
{
    enum { LINES_MOST = 100, SETTINGS_MOST = 4000 };
    size_t count = 0;
    for (size_t i = 0; i < lines.size; i++)
        count += lines.data[i] == '\n';
    return count < LINES_MOST && lines.size <= SETTINGS_MOST;
}

/* Replaces the top keys that `lines` names; "-key" takes one out. */
static struct text patch(struct arena *kept, struct text file, struct text lines)
{
    AUTO(arena) arena = arena_new();
    while (lines.size) {
        const char *stop = memchr(lines.data, '\n', lines.size);
        struct text line = text_trim((struct text){lines.data, stop ? (size_t)(stop - lines.data) : lines.size});
        lines =
            stop ? (struct text){stop + 1, lines.size - (size_t)(stop - lines.data) - 1} : (struct text){lines.data, 0};
        if (!line.size)
            continue;
        bool remove = *line.data == '-';
        const char *colon = memchr(line.data, ':', line.size);
        struct text key = remove ? (struct text){line.data + 1, line.size - 1}
                                 : (struct text){line.data, colon ? (size_t)(colon - line.data) : line.size};
        size_t begin = 0, end = 0;
        if (find_block(file, key, &begin, &end))
            file = text_print(arena, "%.*s%.*s", (int)begin, file.data, (int)(file.size - end), file.data + end);
        if (!remove)
            file = text_print(arena, "%.*s\n%.*s\n", TEXT_FORMAT(file), TEXT_FORMAT(line));
    }
    return text_keep(kept, file);
}

/* "site" is site.yaml, any other name a method. */
static bool is_source(const struct settings_source *source, const char *name)
{
    char file[128];
    snprintf(file, sizeof file, strcmp(name, "site") ? "methods/%s.yaml" : "%s.yaml", name);
    return !strcmp(source->file, file);
}

/* The lines for a source, at the top of the stack. */
static bool patch_source(lua_State *lua, struct example *example, struct settings_source *source, struct fault *fault)
{
    struct text lines = text_keep(example->arena, text_of(lua_tostring(lua, -1)));
    if (!has_few_lines(lines))
        return fault_set(fault, FAULT_RULE, "settings: more than 100 lines or 4,000 bytes for %s", source->file);
    struct text patched = patch(example->arena, (struct text){source->bytes, source->size}, lines);
    source->bytes = patched.data;
    source->size = patched.size;
    return true;
}

static bool read_settings(lua_State *lua, const struct example_site *site, struct example *example, struct fault *fault)
{
    struct settings_source *sources = arena_take(example->arena, site->source_count * sizeof *sources);
    memcpy(sources, site->sources, site->source_count * sizeof *sources);
    if (lua_getfield(lua, -1, "settings") == LUA_TTABLE) {
        for (size_t i = 0; i < site->source_count; i++) {
            lua_pushnil(lua);
            while (lua_next(lua, -2)) {
                if (lua_type(lua, -1) == LUA_TSTRING && is_source(&sources[i], key_name(lua, -2)) &&
                    !patch_source(lua, example, &sources[i], fault))
                    return false;
                lua_pop(lua, 1);
            }
        }
    }
    lua_pop(lua, 1);
    return settings_parse_site(sources, site->source_count, example->arena, &example->settings, fault);
}

static bool same_key(const struct record_kind *kind, const struct example_row *a, const struct example_row *b)
{
    for (size_t i = 0; i < kind->column_count; i++)
        if ((kind->columns[i].flags & COLUMN_KEY) && !text_equal(a->cells[i], b->cells[i]))
            return false;
    return true;
}

/* What the example leaves out: from the base row with the same key cells, else from the defaults, "#" as the row's
 * number. */
static void complete(const struct example_site *site, struct example *example, const struct record_kind *kind,
                     struct example_row *row, size_t number, const bool *told)
{
    const struct example_row *defaults = &site->defaults[kind->id];
    for (size_t i = 0; i < kind->column_count; i++) {
        bool key = kind->columns[i].flags & COLUMN_KEY;
        if (!told[i] && key && defaults->cells[i].data)
            row->cells[i] = defaults->cells[i];
    }
    const struct example_row *base = defaults;
    for (size_t r = 0; r < site->kinds[kind->id].count; r++)
        if (same_key(kind, &site->kinds[kind->id].rows[r], row))
            base = &site->kinds[kind->id].rows[r];
    for (size_t i = 0; i < kind->column_count; i++) {
        if (!told[i] && !row->cells[i].data)
            row->cells[i] = base->cells[i];
        const char *mark = row->cells[i].data ? memchr(row->cells[i].data, '#', row->cells[i].size) : NULL;
        if (!mark || told[i])
            continue;
        size_t before = (size_t)(mark - row->cells[i].data);
        row->cells[i] = text_print(example->arena, "%.*s%zu%.*s", (int)before, row->cells[i].data, number,
                                   (int)(row->cells[i].size - before - 1), mark + 1);
    }
}

static void put_row(struct example_rows *rows, const struct record_kind *kind, const struct example_row *row,
                    size_t base)
{
    for (size_t i = 0; i < base && i < rows->count; i++)
        if (same_key(kind, &rows->rows[i], row)) {
            uint32_t line = rows->rows[i].line;
            rows->rows[i] = *row;
            rows->rows[i].line = line;
            return;
        }
    VECTOR_GROW(rows->rows, rows->count, rows->capacity);
    rows->rows[rows->count] = *row;
    rows->rows[rows->count].line = (uint32_t)rows->count + 2;
    rows->count++;
}

static void mark_told(lua_State *lua, const struct record_kind *kind, bool told[COLUMNS_MOST])
{
    memset(told, 0, COLUMNS_MOST * sizeof *told);
    lua_pushnil(lua);
    while (lua_next(lua, -2)) {
        lua_pop(lua, 1);
        int column = kind_column(kind, text_of(lua_tostring(lua, -1)));
        if (column >= 0)
            told[column] = true;
    }
}

static bool read_kind_rows(lua_State *lua, const struct example_site *site, struct example *example,
                           const struct record_kind *kind, struct fault *fault)
{
    struct example_rows *rows = &example->kinds[kind->id];
    size_t base = rows->count;
    bool told[COLUMNS_MOST];
    if (lua_getfield(lua, -1, kind->name) == LUA_TTABLE) {
        size_t count = lua_rawlen(lua, -1);
        rows->kept = true;
        for (size_t i = 0; i < count; i++) {
            struct example_row row = {.own = true};
            lua_geti(lua, -1, (lua_Integer)i + 1);
            if (!read_cells(lua, example->arena, &example->bytes_left, kind, &row, fault))
                return false;
            mark_told(lua, kind, told);
            complete(site, example, kind, &row, i + 1, told);
            put_row(rows, kind, &row, base);
            lua_pop(lua, 1);
        }
    }
    lua_pop(lua, 1);
    return true;
}

static bool is_without(lua_State *lua, const char *kind)
{
    bool without = false;
    if (lua_getfield(lua, -1, "without") == LUA_TTABLE)
        for (size_t i = 1; i <= lua_rawlen(lua, -1); i++) {
            lua_geti(lua, -1, (lua_Integer)i);
            without = without || (lua_isstring(lua, -1) && !strcmp(lua_tostring(lua, -1), kind));
            lua_pop(lua, 1);
        }
    lua_pop(lua, 1);
    return without;
}

static bool read_day(lua_State *lua, const char *field, day_number *out, struct fault *fault)
{
    const char *why = NULL;
    if (lua_getfield(lua, -1, field) == LUA_TSTRING && !day_parse(text_of(lua_tostring(lua, -1)), out, &why))
        fault_set(fault, FAULT_RULE, "%s: %s", field, why);
    lua_pop(lua, 1);
    return !why;
}

/* The lists of the example at the top of the stack. */
static bool are_short(lua_State *lua)
{
    bool short_enough = true;
    lua_pushnil(lua);
    while (lua_next(lua, -2)) {
        size_t length;
        short_enough = short_enough && (!lua_istable(lua, -1) || list_length(lua, -1, EXAMPLE_ENTRIES_MOST, &length));
        lua_pop(lua, 1);
    }
    return short_enough;
}

bool example_read(lua_State *lua, const struct example_site *site, struct example *out, struct fault *fault)
{
    *out = (struct example){.arena = arena_new(), .names = names_new(), .bytes_left = EXAMPLE_BYTES_MOST};
    if (!are_short(lua))
        return fault_set(fault, FAULT_RULE, "a list has holes, or more than 1,000 entries");
    day_parse(TEXT("2026-10-01"), &out->from, NULL);
    day_parse(TEXT("2026-10-31"), &out->to, NULL);
    if (!read_day(lua, "from", &out->from, fault) || !read_day(lua, "to", &out->to, fault) ||
        !read_settings(lua, site, out, fault))
        return false;
    for (int k = 0; k < KIND_COUNT; k++) {
        const struct record_kind *kind = kind_of((enum kind_id)k);
        const struct example_rows *base = &site->kinds[k];
        struct example_rows *rows = &out->kinds[k];
        rows->kept = base->kept && !is_without(lua, kind->name);
        for (size_t i = 0; rows->kept && i < base->count; i++) {
            VECTOR_GROW(rows->rows, rows->count, rows->capacity);
            rows->rows[rows->count++] = base->rows[i];
        }
        if (!read_kind_rows(lua, site, out, kind, fault))
            return false;
    }
    return true;
}
