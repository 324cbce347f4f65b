/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What of Lua's libraries a rule can reach. */
#include <lauxlib.h>
#include <lualib.h>
#include <string.h>

#include "rulebook/sandbox.h"

const struct sandbox_entry sandbox_allowed[] = {
    {"", "assert", "stop with a message when something must hold"},
    {"", "error", "stop with a message; the rule is then not judged"},
    {"", "ipairs", "walk along a list"},
    {"", "pairs", "walk through a table, keys in a fixed order"},
    {"", "select", "arguments of a function with any number of them"},
    {"", "tonumber", "a number out of a string"},
    {"", "tostring", "a string out of a number; never an address"},
    {"", "type", "what kind of value it is"},
    {"math", "abs", "arithmetic"},
    {"math", "ceil", "arithmetic"},
    {"math", "exp", "arithmetic"},
    {"math", "floor", "arithmetic"},
    {"math", "fmod", "arithmetic"},
    {"math", "huge", "infinity"},
    {"math", "log", "arithmetic"},
    {"math", "max", "arithmetic"},
    {"math", "min", "arithmetic"},
    {"math", "pi", "arithmetic"},
    {"math", "sqrt", "arithmetic"},
    {"math", "tointeger", "a whole number out of a number"},
    {"math", "type", "integer or float"},
    {"string", "byte", "strings"},
    {"string", "char", "strings"},
    {"string", "find", "strings; long patterns have a price"},
    {"string", "format", "strings; no %p, and tables print as their type"},
    {"string", "gmatch", "strings; long patterns have a price"},
    {"string", "gsub", "strings; long patterns have a price"},
    {"string", "len", "strings"},
    {"string", "lower", "strings"},
    {"string", "match", "strings; long patterns have a price"},
    {"string", "rep", "strings"},
    {"string", "reverse", "strings"},
    {"string", "sub", "strings"},
    {"string", "upper", "strings"},
    {"table", "concat", "lists"},
    {"table", "insert", "lists; far from the end it has a price"},
    {"table", "remove", "lists; far from the end it has a price"},
    {"table", "sort", "lists; equal entries keep their order"},
    {"table", "unpack", "lists"},
    {NULL, NULL, NULL},
};

/* On the stack: the library's own function; leaves the one that rules get. */
static void replace_function(lua_State *lua, const char *library, const char *name)
{
    for (const struct sandbox_replacement *one = sandbox_replaced; one->library; one++)
        if (!strcmp(one->library, library) && !strcmp(one->name, name)) {
            lua_pushcclosure(lua, one->function, 1);
            return;
        }
}

/* ---- building ---- */

/* Opens the libraries, copies what is allowed into a table of our own, and lets go of the rest. */
int sandbox_build_allowed(lua_State *lua)
{
    luaL_requiref(lua, "_G", luaopen_base, 0);
    luaL_requiref(lua, "math", luaopen_math, 0);
    luaL_requiref(lua, "string", luaopen_string, 0);
    luaL_requiref(lua, "table", luaopen_table, 0);
    lua_settop(lua, 0);
    lua_getfield(lua, LUA_REGISTRYINDEX, LUA_LOADED_TABLE); /* 1 */
    lua_newtable(lua);                                      /* 2: what is allowed */
    for (const struct sandbox_entry *entry = sandbox_allowed; entry->library; entry++) {
        bool global = !*entry->library;
        lua_getfield(lua, 1, global ? "_G" : entry->library);
        lua_getfield(lua, -1, entry->function);
        replace_function(lua, entry->library, entry->function);
        if (global) {
            lua_setfield(lua, 2, entry->function);
        } else {
            luaL_getsubtable(lua, 2, entry->library);
            lua_insert(lua, -2);
            lua_setfield(lua, -2, entry->function);
            lua_pop(lua, 1);
        }
        lua_pop(lua, 1);
    }
    /* ("x"):method() goes through the strings' metatable: it must lead to our library, not to Lua's. */
    lua_pushstring(lua, "");
    lua_getmetatable(lua, -1);
    lua_getfield(lua, 2, "string");
    lua_setfield(lua, -2, "__index");
    /* To read a number out of a string takes long: what wants to says tonumber. */
    for (const char *const *event =
             (const char *const[]){"__add", "__sub", "__mul", "__mod", "__pow", "__div", "__idiv", "__unm", NULL};
         *event; event++) {
        lua_pushnil(lua);
        lua_setfield(lua, -2, *event);
    }
    lua_pop(lua, 2);
    lua_newtable(lua);
    lua_setfield(lua, LUA_REGISTRYINDEX, LUA_LOADED_TABLE);
    lua_newtable(lua);
    lua_rawseti(lua, LUA_REGISTRYINDEX, LUA_RIDX_GLOBALS);
    lua_settop(lua, 2);
    return 1;
}
