/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The parameters that a rule file declares. */
#include "rulebook/in_order.h"
#include "rulebook/rule_reader.h"

const char *parameter_type_name(enum parameter_type type)
{
    static const char *const names[] = {"number", "yes or no", "text", "list of words"};
    return names[type];
}

/* The list at the top of the stack, as one text. */
static bool join_words(struct reader *reader, struct text *joined)
{
    size_t count;
    *joined = TEXT("");
    if (!list_length(reader->lua, -1, RULE_WORDS_MOST, &count))
        return reader_wrong(reader, "params", "a list of words is too long");
    for (size_t i = 0; i < count; i++) {
        lua_geti(reader->lua, -1, (lua_Integer)i + 1);
        const char *word = lua_tostring(reader->lua, -1);
        *joined = text_print(reader->arena, "%.*s%s%s", TEXT_FORMAT(*joined), i ? " " : "", word ? word : "");
        lua_pop(reader->lua, 1);
        if (joined->size > RULE_WORDS_SIZE_MOST)
            return reader_wrong(reader, "params", "a list of words is too long");
    }
    return true;
}

/* The default, at the top of the stack, gives the type; a parameter without one is a number. */
static bool read_standard(struct reader *reader, struct rule_parameter *parameter)
{
    struct parameter_value *value = &parameter->standard;
    value->present = true;
    switch (lua_type(reader->lua, -1)) {
    case LUA_TNIL:
        value->present = false;
        return true;
    case LUA_TNUMBER:
        value->number = lua_tonumber(reader->lua, -1);
        return true;
    case LUA_TBOOLEAN:
        parameter->type = PARAMETER_YES_NO;
        value->yes = lua_toboolean(reader->lua, -1);
        return true;
    case LUA_TSTRING:
        parameter->type = PARAMETER_TEXT;
        return reader_text_at(reader, -1, "params", &value->text);
    case LUA_TTABLE:
        parameter->type = PARAMETER_WORDS;
        return join_words(reader, &value->text);
    default:
        return reader_wrong(reader, "params",
                            "a default must be a number, a string, yes or no (true, false) or a list of words");
    }
}

static bool read_parameter(struct reader *reader, struct rule_parameter *parameter)
{
    lua_State *lua = reader->lua;
    struct reader inner = *reader;
    inner.table = lua_gettop(lua);
    if (!lua_istable(lua, -1))
        return reader_wrong(reader, "params", "each must be a table { default, unit = …, meaning = … }");
    struct text method_key;
    if (!reader_text(&inner, "unit", false, &parameter->unit) ||
        !reader_text(&inner, "meaning", true, &parameter->meaning) ||
        !reader_text(&inner, "method", false, &method_key))
        return false;
    parameter->method_key = text_string(reader->arena, method_key);
    parameter->has_off = lua_getfield(lua, inner.table, "off") == LUA_TNUMBER;
    parameter->off = lua_tonumber(lua, -1);
    lua_pop(lua, 1);
    lua_geti(lua, inner.table, 1);
    bool ok = read_standard(reader, parameter);
    lua_pop(lua, 1);
    return ok;
}

bool reader_parameters(struct reader *reader)
{
    lua_State *lua = reader->lua;
    struct rule *rule = reader->rule;
    int type = lua_getfield(lua, reader->table, "params");
    if (type == LUA_TNIL) {
        lua_pop(lua, 1);
        return true;
    }
    if (type != LUA_TTABLE)
        return reader_wrong(reader, "params", "must be a table");
    int params = lua_gettop(lua);
    lua_pushnil(lua);
    while (next_in_order(lua, params)) {
        if (lua_type(lua, -2) != LUA_TSTRING)
            return reader_wrong(reader, "params", "names must be strings");
        if (rule->parameter_count == RULE_PARAMETERS_MOST)
            return reader_wrong(reader, "params", "are too many");
        struct rule_parameter *parameter = &rule->parameters[rule->parameter_count++];
        if (!reader_text_at(reader, -2, "params", &parameter->name))
            return false;
        if (fact_named(parameter->name.data) >= 0)
            return reader_wrong(reader, "params", "one has the name of a fact");
        if (!read_parameter(reader, parameter))
            return false;
        lua_pop(lua, 1);
    }
    lua_pop(lua, 1);
    return true;
}
