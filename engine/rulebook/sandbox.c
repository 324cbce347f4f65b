/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rulebook/sandbox.h"

#include <lauxlib.h>
#include <lualib.h>
#include <stdlib.h>
#include <string.h>

enum {
    HOOK_EVERY = 1000,
    BYTES_FOR_AN_INSTRUCTION = 64,
    BLOCK_BYTES = 8, /* that the system's allocator adds to a block */
    HELD_BYTES_FOR_AN_INSTRUCTION = 512,
    STRING_MOST = 256 << 10,
    DEARER_EVERY = 512,      /* bytes of a string */
    SOURCE_MOST = 128 << 10, /* the parser walks some lists again for each of their entries */
    NESTED_MOST = 200,       /* calls; deeper, results can be handed down in the square of the depth */
    COST_OF_FORMAT = 100,
    VALUES_MOST = 250, /* arguments, or results, of one call: each instruction may copy them all */
};

enum tripped { TRIPPED_NONE, TRIPPED_MEMORY, TRIPPED_BUDGET };

struct sandbox {
    lua_State *lua;
    size_t bytes;
    int64_t budget;
    size_t kept;    /* by the host for the running call */
    size_t begun;   /* bytes when the running call began */
    size_t longest; /* string of the running call */
    bool running;   /* a rule; between calls the host works on its own account */
    enum tripped tripped;
    int allowed; /* reference of the table of libraries that environments are copied from */
};

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
    {"table", "sort", "lists"},
    {"table", "unpack", "lists"},
    {NULL, NULL, NULL},
};

static struct sandbox *sandbox_of(lua_State *lua) { return *(struct sandbox **)lua_getextraspace(lua); }

/* ---- the two limits ---- */

/* Copying strings is work that no instruction counts, so memory has a price, and a single string an end: comparing two
 * of 60 MB a million times would else be cheap. For a new block Lua says in `old_size` what it is for. */
static bool refused(struct sandbox *sandbox, bool is_string, size_t more, size_t size)
{
    if (!sandbox->running)
        return false;
    sandbox->budget -= (int64_t)(more / BYTES_FOR_AN_INSTRUCTION);
    if (sandbox->budget <= 0)
        sandbox->tripped = TRIPPED_BUDGET;
    if (is_string && size > sandbox->longest)
        sandbox->longest = size;
    if (is_string && size > STRING_MOST)
        sandbox->tripped = TRIPPED_MEMORY;
    return sandbox->tripped != TRIPPED_NONE;
}

static void *allocate(void *context, void *block, size_t old_size, size_t size)
{
    struct sandbox *sandbox = context;
    bool is_string = !block && old_size == LUA_TSTRING;
    old_size = block ? old_size + BLOCK_BYTES : 0;
    if (!size) {
        free(block);
        sandbox->bytes -= old_size;
        return NULL;
    }
    size_t asked = size;
    size += BLOCK_BYTES;
    if (size > old_size && sandbox->bytes + (size - old_size) > SANDBOX_BYTES) {
        sandbox->tripped = TRIPPED_MEMORY;
        return NULL;
    }
    if (size > old_size && refused(sandbox, is_string, size - old_size, asked))
        return NULL;
    void *moved = realloc(block, asked);
    if (moved)
        sandbox->bytes += size - old_size;
    return moved;
}

static void trip_budget(lua_State *lua)
{
    sandbox_of(lua)->tripped = TRIPPED_BUDGET;
    sandbox_of(lua)->running = false; /* the message itself is free */
    luaL_where(lua, 0); /* the rule's own line, from the hook; nothing, from a function in C that it called */
    if (*lua_tostring(lua, -1) == '\0')
        luaL_where(lua, 1);
    lua_pushliteral(lua, "ran longer than its budget of instructions");
    lua_concat(lua, 2);
    lua_error(lua);
}

void sandbox_charge(lua_State *lua, int64_t instructions)
{
    struct sandbox *sandbox = sandbox_of(lua);
    if (instructions > sandbox->budget)
        sandbox->budget = 0;
    else
        sandbox->budget -= instructions;
    if (sandbox->budget <= 0)
        trip_budget(lua);
}

void sandbox_keep(lua_State *lua, size_t bytes)
{
    struct sandbox *sandbox = sandbox_of(lua);
    sandbox->kept += bytes;
    if (sandbox->kept > SANDBOX_BYTES) {
        sandbox->tripped = TRIPPED_MEMORY;
        luaL_error(lua, "too much is told");
    }
    sandbox_charge(lua, (int64_t)(bytes / BYTES_FOR_AN_INSTRUCTION));
}

int64_t sandbox_dearer(lua_State *lua) { return 1 + (int64_t)(sandbox_of(lua)->longest / DEARER_EVERY); }

static void count_hook(lua_State *lua, lua_Debug *record)
{
    lua_Debug level;
    (void)record;
    sandbox_charge(lua, HOOK_EVERY * sandbox_dearer(lua));
    if (lua_getstack(lua, NESTED_MOST, &level))
        luaL_error(lua, "calls are nested deeper than %d", NESTED_MOST);
    if (lua_getstack(lua, 0, &level) && lua_getlocal(lua, &level, -VALUES_MOST))
        luaL_error(lua, "more than %d arguments", VALUES_MOST);
}

/* About what sorting so many values, or putting them in order, costs. */
static int64_t cost_of_order(lua_State *lua, size_t count)
{
    int64_t doublings = 2;
    for (size_t rest = count; rest > 1; rest /= 2)
        doublings++;
    return (int64_t)count * 2 * doublings * sandbox_dearer(lua);
}

/* ---- functions that replace the library's ---- */

/* Keys in the order numbers, then strings by their bytes; other keys are an error, for their order would be an address.
 */
static int key_before(lua_State *lua)
{
    int a = lua_type(lua, 1), b = lua_type(lua, 2);
    if (a != b)
        lua_pushboolean(lua, a == LUA_TNUMBER);
    else
        lua_pushboolean(lua, lua_compare(lua, 1, 2, LUA_OPLT));
    return 1;
}

static int next_sorted(lua_State *lua)
{
    lua_Integer at = lua_tointeger(lua, lua_upvalueindex(2)) + 1;
    lua_pushinteger(lua, at);
    lua_replace(lua, lua_upvalueindex(2));
    if (lua_geti(lua, lua_upvalueindex(1), at) == LUA_TNIL)
        return 1;
    lua_pushvalue(lua, -1);
    lua_gettable(lua, lua_upvalueindex(3));
    return 2;
}

/* A table from which all was taken is as long to walk as it once was: what the call holds bounds that. */
static void charge_held(lua_State *lua)
{
    const struct sandbox *sandbox = sandbox_of(lua);
    if (sandbox->bytes > sandbox->begun)
        sandbox_charge(lua, (int64_t)((sandbox->bytes - sandbox->begun) / HELD_BYTES_FOR_AN_INSTRUCTION));
}

static int sorted_pairs(lua_State *lua)
{
    luaL_checktype(lua, 1, LUA_TTABLE);
    charge_held(lua);
    lua_newtable(lua); /* keys */
    lua_Integer count = 0;
    lua_pushnil(lua);
    while (lua_next(lua, 1)) {
        lua_pop(lua, 1);
        int type = lua_type(lua, -1);
        if (type != LUA_TNUMBER && type != LUA_TSTRING)
            return luaL_error(lua, "pairs: keys must be numbers or strings");
        lua_pushvalue(lua, -1);
        lua_seti(lua, 2, ++count);
    }
    sandbox_charge(lua, cost_of_order(lua, (size_t)count));
    lua_getfield(lua, LUA_REGISTRYINDEX, "table.sort");
    lua_pushvalue(lua, 2);
    lua_pushcfunction(lua, key_before);
    lua_call(lua, 2, 0);
    lua_pushinteger(lua, 0);
    lua_pushvalue(lua, 1);
    lua_pushcclosure(lua, next_sorted, 3);
    return 1;
}

static int plain_tostring(lua_State *lua)
{
    luaL_checkany(lua, 1);
    int type = lua_type(lua, 1);
    if (type == LUA_TSTRING || type == LUA_TNUMBER || type == LUA_TBOOLEAN || type == LUA_TNIL)
        luaL_tolstring(lua, 1, NULL);
    else
        lua_pushstring(lua, luaL_typename(lua, 1));
    return 1;
}

static int plain_format(lua_State *lua)
{
    const char *format = luaL_checkstring(lua, 1);
    for (const char *at = strchr(format, '%'); at; at = strchr(at, '%')) {
        at += 1 + strspn(at + 1, "-+ #0123456789.");
        if (*at == 'p' || *at == 'c')
            return luaL_error(lua, "format: %%%c is not to be had", *at);
        sandbox_charge(lua, COST_OF_FORMAT * sandbox_dearer(lua));
        if (*at)
            at++;
    }
    int count = lua_gettop(lua);
    for (int i = 2; i <= count; i++) {
        int type = lua_type(lua, i);
        if (type == LUA_TSTRING || type == LUA_TNUMBER || type == LUA_TBOOLEAN || type == LUA_TNIL)
            continue;
        lua_pushstring(lua, luaL_typename(lua, i));
        lua_replace(lua, i);
    }
    lua_pushvalue(lua, lua_upvalueindex(1));
    lua_insert(lua, 1);
    lua_call(lua, count, 1);
    return 1;
}

static int call_own(lua_State *lua)
{
    int count = lua_gettop(lua);
    lua_pushvalue(lua, lua_upvalueindex(1));
    lua_insert(lua, 1);
    lua_call(lua, count, LUA_MULTRET);
    return lua_gettop(lua);
}

/* insert, remove and concat touch the whole list. */
static int charged_list(lua_State *lua)
{
    luaL_checktype(lua, 1, LUA_TTABLE);
    sandbox_charge(lua, (int64_t)lua_rawlen(lua, 1) + 1);
    return call_own(lua);
}

static int charged_sort(lua_State *lua)
{
    luaL_checktype(lua, 1, LUA_TTABLE);
    sandbox_charge(lua, cost_of_order(lua, lua_rawlen(lua, 1)) + 1);
    return call_own(lua);
}

/* unpack and byte: values from the 2nd argument to the 3rd. */
static int few_values(lua_State *lua, lua_Integer first, lua_Integer last)
{
    if (last > first && (lua_Unsigned)last - (lua_Unsigned)first >= VALUES_MOST)
        return luaL_error(lua, "more than %d values at once", VALUES_MOST);
    return call_own(lua);
}

static int few_unpacked(lua_State *lua)
{
    luaL_checktype(lua, 1, LUA_TTABLE);
    return few_values(lua, luaL_optinteger(lua, 2, 1), luaL_optinteger(lua, 3, (lua_Integer)lua_rawlen(lua, 1)));
}

static int few_bytes(lua_State *lua)
{
    size_t size;
    luaL_checklstring(lua, 1, &size);
    lua_Integer first = luaL_optinteger(lua, 2, 1), last = luaL_optinteger(lua, 3, first);
    bool inside = first > 0 && last > 0;
    return few_values(lua, inside ? first : 1, inside && (lua_Unsigned)last < size ? last : (lua_Integer)size);
}

/* Repeating nothing takes as long as repeating something. */
static int charged_rep(lua_State *lua)
{
    size_t size, between = 0;
    luaL_checklstring(lua, 1, &size);
    lua_Integer count = luaL_checkinteger(lua, 2);
    luaL_optlstring(lua, 3, "", &between);
    if (count > 0 && count <= STRING_MOST && size + between > 0) /* more is refused */
        sandbox_charge(lua, count / 16);
    if (count > 1 && size + between == 0) {
        lua_pushliteral(lua, "");
        return 1;
    }
    return call_own(lua);
}

/* Strings are compared piece by piece between their NULs, each as slow as a whole string: so there are none. */
static int char_but_nul(lua_State *lua)
{
    for (int i = lua_gettop(lua); i > 0; i--)
        luaL_argcheck(lua, luaL_checkinteger(lua, i) != 0, i, "a NUL is not to be had");
    return call_own(lua);
}

static int charged_append(lua_State *lua)
{
    if (lua_gettop(lua) != 2)
        return charged_list(lua);
    luaL_checktype(lua, 1, LUA_TTABLE);
    lua_seti(lua, 1, (lua_Integer)lua_rawlen(lua, 1) + 1);
    return 0;
}

static const struct {
    const char *library, *name;
    lua_CFunction function;
} replaced[] = {
    {"", "pairs", sorted_pairs},         {"", "tostring", plain_tostring},  {"string", "format", plain_format},
    {"table", "insert", charged_append}, {"table", "remove", charged_list}, {"table", "concat", charged_list},
    {"table", "unpack", few_unpacked},   {"table", "sort", charged_sort},   {"string", "rep", charged_rep},
    {"string", "byte", few_bytes},       {"string", "char", char_but_nul},
};

/* On the stack: the library's own function; leaves the one that rules get. */
static void replace_function(lua_State *lua, const char *library, const char *name)
{
    for (size_t i = 0; i < sizeof replaced / sizeof *replaced; i++)
        if (!strcmp(replaced[i].library, library) && !strcmp(replaced[i].name, name)) {
            lua_pushcclosure(lua, replaced[i].function, 1);
            return;
        }
    for (size_t i = 0; !strcmp(library, "string") && sandbox_patterns[i].name; i++)
        if (!strcmp(sandbox_patterns[i].name, name)) {
            lua_pushcclosure(lua, sandbox_patterns[i].function, 1);
            return;
        }
}

/* ---- building ---- */

/* Opens the libraries, copies what is allowed into a table of our own, and lets go of the rest. */
static int build_allowed(lua_State *lua)
{
    luaL_requiref(lua, "_G", luaopen_base, 0);
    luaL_requiref(lua, "math", luaopen_math, 0);
    luaL_requiref(lua, "string", luaopen_string, 0);
    luaL_requiref(lua, "table", luaopen_table, 0);
    lua_settop(lua, 0);
    lua_getfield(lua, LUA_REGISTRYINDEX, LUA_LOADED_TABLE); /* 1 */
    lua_getfield(lua, 1, "table");
    lua_getfield(lua, -1, "sort");
    lua_setfield(lua, LUA_REGISTRYINDEX, "table.sort");
    lua_pop(lua, 1);
    lua_newtable(lua); /* 2: what is allowed */
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
    lua_pop(lua, 2);
    lua_newtable(lua);
    lua_setfield(lua, LUA_REGISTRYINDEX, LUA_LOADED_TABLE);
    lua_newtable(lua);
    lua_rawseti(lua, LUA_REGISTRYINDEX, LUA_RIDX_GLOBALS);
    lua_settop(lua, 2);
    return 1;
}

struct sandbox *sandbox_new(void)
{
    struct sandbox *sandbox = memory_new(sizeof *sandbox);
    sandbox->budget = SANDBOX_SITE_BUDGET;
    sandbox->lua = lua_newstate(allocate, sandbox);
    if (!sandbox->lua)
        abort();
    *(struct sandbox **)lua_getextraspace(sandbox->lua) = sandbox;
    lua_pushcfunction(sandbox->lua, build_allowed);
    lua_call(sandbox->lua, 0, 1);
    sandbox->allowed = luaL_ref(sandbox->lua, LUA_REGISTRYINDEX);
    lua_sethook(sandbox->lua, count_hook, LUA_MASKCOUNT, HOOK_EVERY);
    return sandbox;
}

void sandbox_free(struct sandbox *sandbox)
{
    if (!sandbox)
        return;
    lua_close(sandbox->lua);
    memory_free(sandbox);
}

lua_State *sandbox_lua(struct sandbox *sandbox) { return sandbox->lua; }

void sandbox_offer(struct sandbox *sandbox, const char *name, lua_CFunction function, void *upvalue)
{
    lua_State *lua = sandbox->lua;
    lua_rawgeti(lua, LUA_REGISTRYINDEX, sandbox->allowed);
    lua_pushlightuserdata(lua, upvalue);
    lua_pushcclosure(lua, function, 1);
    lua_setfield(lua, -2, name);
    lua_pop(lua, 1);
}

void sandbox_offer_in(struct sandbox *sandbox, const char *library, const char *name, lua_CFunction function,
                      void *upvalue)
{
    lua_State *lua = sandbox->lua;
    lua_rawgeti(lua, LUA_REGISTRYINDEX, sandbox->allowed);
    luaL_getsubtable(lua, -1, library);
    lua_pushlightuserdata(lua, upvalue);
    lua_pushcclosure(lua, function, 1);
    lua_setfield(lua, -2, name);
    lua_pop(lua, 2);
}

/* Copies the table at the top: its functions as they are, its libraries each into a new table. */
static void copy_table(lua_State *lua, bool deep)
{
    int from = lua_gettop(lua);
    lua_newtable(lua);
    lua_pushnil(lua);
    while (lua_next(lua, from)) {
        lua_pushvalue(lua, -2);
        lua_insert(lua, -2);
        if (deep && lua_istable(lua, -1)) {
            copy_table(lua, false);
        }
        lua_settable(lua, from + 1);
    }
    lua_remove(lua, from);
}

void sandbox_push_environment(struct sandbox *sandbox)
{
    lua_rawgeti(sandbox->lua, LUA_REGISTRYINDEX, sandbox->allowed);
    copy_table(sandbox->lua, true);
}

/* Does it have a NUL, or an escape that makes one? In a comment, too: whoever needs one there can live without. */
static bool makes_nul(struct text source)
{
    static const char *const escapes[] = {"\\0", "\\x00", "\\u{0"};
    if (source.size > 0 && memchr(source.data, '\0', source.size))
        return true;
    for (size_t i = 0; i < source.size; i++)
        for (size_t e = 0; source.data[i] == '\\' && e < sizeof escapes / sizeof *escapes; e++)
            if (text_starts((struct text){source.data + i, source.size - i}, escapes[e]))
                return true;
    return false;
}

bool sandbox_compile(struct sandbox *sandbox, const char *shown, struct text source, int *chunk, struct fault *fault)
{
    lua_State *lua = sandbox->lua;
    char name[256];
    snprintf(name, sizeof name, "@%s", shown);
    sandbox->tripped = TRIPPED_NONE;
    if (source.size > SOURCE_MOST || makes_nul(source)) {
        fault_set(fault, FAULT_RULE, "%s: %s", shown,
                  source.size > SOURCE_MOST ? "more than 128 KiB are no rule"
                                            : "a NUL (\\0, \\x00) is not to be had; %z matches one");
        return false;
    }
    if (luaL_loadbufferx(lua, source.data, source.size, name, "t") != LUA_OK) {
        fault_set(fault, FAULT_RULE, "%s", lua_tostring(lua, -1));
        lua_pop(lua, 1);
        return false;
    }
    *chunk = luaL_ref(lua, LUA_REGISTRYINDEX);
    return true;
}

bool sandbox_call(struct sandbox *sandbox, int arguments, int results, int64_t budget, struct fault *fault)
{
    lua_State *lua = sandbox->lua;
    sandbox->tripped = TRIPPED_NONE;
    sandbox->budget = budget;
    sandbox->kept = 0;
    sandbox->begun = sandbox->bytes;
    sandbox->longest = 0;
    sandbox->running = true;
    int status = lua_pcall(lua, arguments, results, 0);
    sandbox->running = false;
    sandbox->budget = SANDBOX_SITE_BUDGET; /* for the host's own work between calls */
    if (status == LUA_OK && sandbox->tripped == TRIPPED_NONE)
        return true;
    if (status == LUA_OK) {
        lua_pop(lua, results);
        lua_pushliteral(lua, "went beyond its limits");
    }
    const char *text =
        lua_type(lua, -1) == LUA_TSTRING ? lua_tostring(lua, -1) : "stopped with an error that is no text";
    if (sandbox->tripped == TRIPPED_MEMORY)
        text = "used more than 64 MiB of memory, or a string of more than 256 KiB";
    if (sandbox->tripped == TRIPPED_BUDGET && status == LUA_ERRMEM)
        text = "ran longer than its budget of instructions";
    fault_set(fault, FAULT_RULE, "%s", text);
    lua_pop(lua, 1);
    lua_gc(lua, LUA_GCCOLLECT);
    return false;
}
