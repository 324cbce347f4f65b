/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>

#include <lauxlib.h>
#include <string.h>

#include "rulebook/sandbox.h"

/* Runs a chunk in a new environment; the fault's text, or "" and the string it returned in `out`. */
static void run(struct sandbox *sandbox, const char *source, int64_t budget, char out[512], struct fault *fault)
{
    lua_State *lua = sandbox_lua(sandbox);
    struct sandbox_program program;
    *fault = (struct fault){0};
    *out = '\0';
    if (!sandbox_compile(sandbox, "test.lua", text_of(source), &program, fault))
        return;
    lua_rawgeti(lua, LUA_REGISTRYINDEX, program.chunk);
    sandbox_push_environment(lua);
    lua_setupvalue(lua, -2, 1);
    if (!sandbox_call(sandbox, &program, 0, 1, budget, fault))
        return;
    snprintf(out, 512, "%s", luaL_tolstring(lua, -1, NULL));
    lua_settop(lua, 0);
}

static void expect_refused(const char *source, const char *why)
{
    AUTO(sandbox) sandbox = sandbox_new();
    char out[512];
    struct fault fault;
    run(sandbox, source, 1000000, out, &fault);
    cr_expect_eq(fault.code, FAULT_RULE, "%s gave %s", source, out);
    cr_expect(strstr(fault.text, why) != NULL, "%s: %s", source, fault.text);
}

static void expect_gives(const char *source, const char *expected)
{
    AUTO(sandbox) sandbox = sandbox_new();
    char out[512];
    struct fault fault;
    run(sandbox, source, 1000000, out, &fault);
    cr_expect_str_eq(out, expected, "%s: %s", source, fault.text);
}

/* Long enough for Lua's own sort to take its middle by the clock. */
Test(sandbox, lists_are_sorted_the_same_each_time)
{
    expect_gives("local t = {} for i = 1, 999 do t[i] = { key = i % 2, id = i } end "
                 "table.sort(t, function(a, b) return a.key < b.key end) "
                 "return t[1].id .. ' ' .. t[2].id .. ' ' .. t[499].id .. ' ' .. t[500].id .. ' ' .. t[999].id",
                 "2 4 998 1 999");
    expect_gives("local t = {} for i = 1, 1000 do t[i] = i * 7 % 1000 end table.sort(t) "
                 "for i = 2, 1000 do assert(t[i - 1] < t[i]) end return #t",
                 "1000");
    expect_gives("local t = { 3, 1, 2 } table.sort(t, function(a, b) return a > b end) return table.concat(t, ' ')",
                 "3 2 1");
    expect_gives("local t = {} table.sort(t) t[1] = 5 table.sort(t) return t[1]", "5");
    expect_refused("table.sort({ 1, 'a' })", "attempt to compare");
    expect_refused("table.sort({ 1, 2 }, 3)", "function expected");
}

/* A program with much to do in few calls may do as much in many. */
Test(sandbox, all_calls_of_a_program_together_have_an_end)
{
    AUTO(sandbox) sandbox = sandbox_new();
    struct sandbox_program program;
    struct fault fault = {0};
    cr_assert(sandbox_compile(sandbox, "test.lua", TEXT("for i = 1, 90000 do end"), &program, &fault));
    int calls = 0;
    program.left = 1000000;
    do
        lua_rawgeti(sandbox_lua(sandbox), LUA_REGISTRYINDEX, program.chunk);
    while (sandbox_call(sandbox, &program, 0, 0, 200000, &fault) && ++calls < 100);
    cr_expect(calls > 8 && calls < 13, "%d", calls);
    cr_expect_not_null(strstr(fault.text, "ran longer than its budget"), "%s", fault.text);
}

/* The doors out of the box, each tried from inside. */
Test(sandbox, doors_that_are_not_there)
{
    static const char *const doors[] = {
        "os",           "io",
        "debug",        "package",
        "require",      "load",
        "loadstring",   "loadfile",
        "dofile",       "pcall",
        "xpcall",       "coroutine",
        "setmetatable", "getmetatable",
        "rawget",       "rawset",
        "rawequal",     "rawlen",
        "next",         "collectgarbage",
        "print",        "warn",
        "utf8",         "_G",
        "_VERSION",     "string.dump",
        "math.random",  "math.randomseed",
        "string.pack",  "string.unpack",
        "table.move",
    };
    for (size_t i = 0; i < sizeof doors / sizeof *doors; i++) {
        char source[64];
        snprintf(source, sizeof source, "return %s", doors[i]);
        expect_gives(source, "nil");
    }
}

Test(sandbox, what_can_be_reached_is_the_allow_list_and_nothing_else)
{
    AUTO(sandbox) sandbox = sandbox_new();
    lua_State *lua = sandbox_lua(sandbox);
    sandbox_push_environment(lua);
    size_t reached = 0, allowed = 0;
    for (const struct sandbox_entry *entry = sandbox_allowed; entry->library; entry++)
        allowed++;
    lua_pushnil(lua);
    while (lua_next(lua, 1)) {
        if (!lua_istable(lua, -1)) {
            reached++;
        } else {
            lua_pushnil(lua);
            while (lua_next(lua, -2)) {
                reached++;
                lua_pop(lua, 1);
            }
        }
        lua_pop(lua, 1);
    }
    cr_expect_eq(reached, allowed);
}

Test(sandbox, limits_trip_and_say_which)
{
    expect_refused("while true do end", "budget");
    expect_refused("local function f() return f() end return f()", "budget");
    expect_refused("local function f() return 1 + f() end return f()", "nested deeper than 200");
    expect_refused("local function f(n) return n, f(n + 1) end return f(1)", "nested deeper than 200");
    expect_refused("local function f(...) return f(1, ...) end return f()", "more than 250");
    expect_refused("return select('#', table.unpack({}, 1, 251))", "more than 250");
    expect_refused("return select('#', ('x'):rep(251):byte(1, -1))", "more than 250");
    expect_refused("local t = {} while true do t[#t + 1] = ('x'):rep(1 << 17) .. #t end", "budget");
    expect_refused("local s = ('x'):rep(1 << 19) return #s", "256 KiB");
    expect_refused("return ('x'):rep(1 << 40)", "too large");
    expect_refused("return ('x'):rep(1e9)", "64 MiB");
    expect_refused("goto a ::a:: goto a", "budget");
}

/* Comparing long strings, or reading a number out of one, is a single instruction. */
Test(sandbox, long_strings_make_all_that_follows_dearer)
{
    expect_gives("for i = 1, 100000 do end return 'well'", "well");
    expect_refused("local s = ('x'):rep(20000) for i = 1, 100000 do end", "budget");
    expect_gives("return (''):rep(1 << 62) .. 'none'", "none");
    expect_gives("return #('xy'):rep(3, ',') .. ' ' .. ('abc'):byte(-1)", "8 99");
}

Test(sandbox, a_nul_is_not_to_be_had)
{
    expect_refused("return '\\0'", "a NUL");
    expect_refused("return '\\x00'", "a NUL");
    expect_refused("return '\\u{000}'", "a NUL");
    expect_refused("return string.char(65, 0)", "a NUL");
    expect_refused("return ('%c'):format(0)", "%c");
    expect_gives("return ('a.b'):match('^a%f[.%z]')", "a");
}

/* Lua's matcher runs in C, where no hook sees it. */
Test(sandbox, patterns_that_would_run_for_minutes_are_refused_at_once)
{
    expect_refused(
        "return (('a?'):rep(28) .. ('a'):rep(28)):rep(1) and ('a'):rep(28):find(('a?'):rep(28) .. ('a'):rep(28))",
        "budget");
    expect_refused("return ('x'):rep(5000):find(('.-'):rep(8) .. 'y')", "budget");
    expect_refused("return ('x'):rep(3000):gsub('.-.-.-y', '')", "budget");
    expect_refused("for _ in ('x'):rep(3000):gmatch('(.*)(.*)(.*)y') do end", "budget");
    expect_gives("return (('S-0042'):match('^S%-(%d+)$'))", "0042");
    expect_gives("return (('a,b,c'):gsub(',', ';'))", "a;b;c");
}

Test(sandbox, strings_lead_to_the_boxs_own_library)
{
    expect_gives("return ('x').dump", "nil");
    expect_gives("return ('x').rep == string.rep", "true");
    expect_refused("return ('x'):dump()", "nil value");
}

Test(sandbox, no_address_gets_out)
{
    expect_gives("return tostring({})", "table");
    expect_gives("return tostring(tostring)", "function");
    expect_gives("return string.format('%s', {})", "table");
    expect_refused("return string.format('%p', {})", "%p");
    expect_refused("return string.format('%5p', {})", "%p");
}

Test(sandbox, pairs_go_in_a_fixed_order)
{
    expect_gives("local s = '' for k in pairs{ b = 1, a = 1, [3] = 1, [1] = 1, c = 1 } do s = s .. k end return s",
                 "13abc");
    expect_refused("for _ in pairs{ [{}] = 1 } do end", "pairs");
}

Test(sandbox, an_environment_is_not_anothers)
{
    AUTO(sandbox) sandbox = sandbox_new();
    char out[512];
    struct fault fault;
    run(sandbox, "string.rep = nil math.pi = 3 leak = 1 return 'done'", 100000, out, &fault);
    cr_expect_str_eq(out, "done");
    run(sandbox, "return tostring(string.rep ~= nil) .. tostring(math.pi > 3.1) .. tostring(leak)", 100000, out,
        &fault);
    cr_expect_str_eq(out, "truetruenil");
}

Test(sandbox, a_state_goes_on_after_a_limit)
{
    AUTO(sandbox) sandbox = sandbox_new();
    char out[512];
    struct fault fault;
    for (int i = 0; i < 3; i++) {
        run(sandbox, "local t = {} while true do t[#t + 1] = {} end", 100000000, out, &fault);
        cr_expect_eq(fault.code, FAULT_RULE);
        run(sandbox, "return 'well'", 10000, out, &fault);
        cr_expect_str_eq(out, "well", "%s", fault.text);
    }
}

/* A function of the host's that keeps what it is told. */
static int keep(lua_State *lua)
{
    sandbox_keep(lua, (size_t)luaL_checkinteger(lua, 1));
    return 0;
}

Test(sandbox, what_the_host_keeps_for_a_call_counts_as_the_rules_own)
{
    static const struct {
        const char *source, *why; /* NULL: it ends well */
    } vectors[] = {
        {"for i = 1, 63 do keep(1 << 20) end", NULL},
        {"for i = 1, 65 do keep(1 << 20) end", "used more than 64 MiB"},
        {"while true do keep(100) end", "ran longer than its budget"},
        {"for i = 1, 63 do keep(1 << 20) end", NULL}, /* each call anew */
        {"keep(1 << 20) keep(-1 << 20)", "used more than 64 MiB"},
    };
    AUTO(sandbox) sandbox = sandbox_new();
    sandbox_offer(sandbox, "keep", keep, NULL);
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        char out[512];
        struct fault fault;
        run(sandbox, vectors[i].source, 4000000, out, &fault);
        cr_expect_eq(fault.code != FAULT_NONE, vectors[i].why != NULL, "%zu: %s", i, fault.text);
        cr_expect(vectors[i].why == NULL || strstr(fault.text, vectors[i].why) != NULL, "%zu: %s", i, fault.text);
    }
}

static int charge(lua_State *lua)
{
    sandbox_charge(lua, luaL_checkinteger(lua, 1));
    return 0;
}

Test(sandbox, a_price_is_never_given_back)
{
    AUTO(sandbox) sandbox = sandbox_new();
    char out[512];
    struct fault fault;
    sandbox_offer(sandbox, "charge", charge, NULL);
    run(sandbox, "charge(1000) return 'paid'", 100000, out, &fault);
    cr_expect_str_eq(out, "paid");
    run(sandbox, "charge(-1 << 62) return 'paid'", 100000, out, &fault);
    cr_expect_not_null(strstr(fault.text, "ran longer than its budget"), "%s", fault.text);
}

/* Of a table with holes Lua's `#` can be any number up to 2^62: what took it for a length wrote beyond its memory. */
Test(sandbox, a_length_is_not_believed_beyond_memory)
{
#define FAR "local t = {} for k = 0, 61 do t[1 << k] = 1 t[(1 << k) + 1] = 1 end "
    expect_gives("local t = { 1, 2, nil, 4 } table.insert(t, 5) return #t .. ' ' .. table.concat({ 3, 1, 2 }, ',')",
                 "5 3,1,2");
    expect_refused(FAR "table.sort(t)", "has holes");
    expect_refused(FAR "table.concat(t)", "has holes");
    expect_refused(FAR "table.insert(t, 1, 1)", "has holes");
    expect_refused(FAR "table.remove(t)", "has holes");
    expect_refused(FAR "table.unpack(t)", "has holes");
#undef FAR
}

/* The file gives a function, which is called once and then once more with the program as it was compiled. */
static void expect_held(const char *source, bool stays_in_the_price)
{
    AUTO(sandbox) sandbox = sandbox_new();
    lua_State *lua = sandbox_lua(sandbox);
    struct fault fault = {0};
    struct sandbox_program compiled, program;
    cr_assert(sandbox_compile(sandbox, "test.lua", text_of(source), &compiled, &fault), "%s", fault.text);
    program = compiled;
    lua_rawgeti(lua, LUA_REGISTRYINDEX, program.chunk);
    sandbox_push_environment(lua);
    lua_setupvalue(lua, -2, 1);
    cr_assert(sandbox_call(sandbox, &program, 0, 1, 1000000, &fault), "%s", fault.text);
    lua_pushvalue(lua, -1);
    cr_expect_eq(sandbox_call(sandbox, &program, 0, 0, 100000, &fault), !stays_in_the_price, "%s: %s", source,
                 fault.text);
    cr_expect(sandbox_call(sandbox, &compiled, 0, 0, 100000, &fault), "%s: %s", source, fault.text);
}

Test(sandbox, what_a_file_made_stays_in_the_price_of_its_functions)
{
    expect_held("local a = ('0'):rep(200000) return function() for i = 1, 4000 do local d = a == 'b' end end", true);
    expect_held("local t = {} for i = 1, 20000 do t[i] = i end for i = 1, 20000 do t[i] = nil end "
                "return function() for i = 1, 400 do pairs(t) end end",
                true);
    expect_held("local a = ('0'):rep(200) return function() for i = 1, 4000 do local d = a == 'b' end end", false);
}

Test(sandbox, no_call_keeps_much_for_the_next_one)
{
    expect_gives("local t = {} for i = 1, 60 do t[i] = ('x'):rep(100000) .. i end return 'kept for a while'",
                 "kept for a while");
    expect_refused("t = {} for i = 1, 15 do t[i] = ('x'):rep(100000) .. i end return function() return t end",
                   "test.lua: kept more than 1 MiB of memory for its next call");
}

Test(sandbox, a_little_more_kept_at_each_call_is_too_much_in_the_end)
{
    AUTO(sandbox) sandbox = sandbox_new();
    lua_State *lua = sandbox_lua(sandbox);
    struct fault fault = {0};
    struct sandbox_program hoarder;
    cr_assert(sandbox_compile(sandbox, "hoarder.lua",
                              text_of("local t = {} return function() t[#t + 1] = ('x'):rep(100000) .. #t end"),
                              &hoarder, &fault));
    lua_rawgeti(lua, LUA_REGISTRYINDEX, hoarder.chunk);
    sandbox_push_environment(lua);
    lua_setupvalue(lua, -2, 1);
    cr_assert(sandbox_call(sandbox, &hoarder, 0, 1, SANDBOX_SITE_BUDGET, &fault), "%s", fault.text);
    int calls = 0;
    do {
        lua_pushvalue(lua, -1);
        calls++;
    } while (calls < 1000 && sandbox_call(sandbox, &hoarder, 0, 0, SANDBOX_SITE_BUDGET, &fault));
    cr_expect(calls > 8 && calls < 12, "%d calls", calls);
    cr_expect_str_eq(fault.text, "hoarder.lua: kept more than 1 MiB of memory for its next call");
}

/* How many texts of so many bytes, all of them new, a program may be given and keep; at most 20,000. */
static int texts_to_keep(int size)
{
    AUTO(sandbox) sandbox = sandbox_new();
    lua_State *lua = sandbox_lua(sandbox);
    struct sandbox_program program;
    struct fault fault = {0};
    cr_assert(sandbox_compile(sandbox, "test.lua", TEXT("kept = kept or {} kept[#kept + 1] = ..."), &program, &fault));
    lua_rawgeti(lua, LUA_REGISTRYINDEX, program.chunk);
    sandbox_push_environment(lua);
    lua_setupvalue(lua, -2, 1);
    lua_setglobal(lua, "program");
    int calls = 0;
    do {
        char text[256];
        snprintf(text, sizeof text, "%0*d", size, calls);
        lua_getglobal(lua, "program");
        lua_pushstring(lua, text);
    } while (sandbox_call(sandbox, &program, 1, 0, 1000000, &fault) && ++calls < 20000);
    cr_expect(calls == 20000 || strstr(fault.text, "kept more than 1 MiB") != NULL, "%d: %s", calls, fault.text);
    return calls;
}

/* Short ones, too, of which Lua has each once: nobody else keeps them in its box. */
Test(sandbox, texts_that_it_is_given_and_keeps_are_a_programs_own)
{
    int most = texts_to_keep(40);
    cr_expect(most > 5000 && most < 13000, "%d", most);
    most = texts_to_keep(41);
    cr_expect(most > 5000 && most < 12000, "%d", most);
}

/* All texts are gone after the call, but not at once the room that Lua had made for its table of them. */
Test(sandbox, many_texts_of_one_call_are_not_kept)
{
    AUTO(sandbox) sandbox = sandbox_new();
    char out[512];
    struct fault fault;
    run(sandbox, "local t = {} for i = 1, 300000 do t[i] = 'number ' .. i end return #t", SANDBOX_SITE_BUDGET, out,
        &fault);
    cr_expect_str_eq(out, "300000", "%s", fault.text);
}

/* When Lua looks for garbage depends on all that is kept in its state; what a file may make must not. */
Test(sandbox, garbage_is_no_memory_used)
{
    AUTO(sandbox) sandbox = sandbox_new();
    lua_State *lua = sandbox_lua(sandbox);
    char out[512];
    struct fault fault;
    lua_createtable(lua, 10 << 20, 0); /* 160 MiB of the host's: no collection is due for long */
    int others = luaL_ref(lua, LUA_REGISTRYINDEX);
    lua_gc(lua, LUA_GCCOLLECT);
    run(sandbox, "for i = 1, 400 do local s = ('x'):rep(200000 + i) end return 'done'", 100000000, out, &fault);
    cr_expect_str_eq(out, "done", "%s", fault.text);
    run(sandbox, "local t = {} for i = 1, 400 do t[i] = ('x'):rep(200000 + i) end", 10000000, out, &fault);
    cr_expect_not_null(strstr(fault.text, "used more than 64 MiB"), "%s", fault.text);
    luaL_unref(lua, LUA_REGISTRYINDEX, others);
}

Test(sandbox, errors_that_are_no_text_and_bytecode)
{
    expect_refused("error({})", "no text");
    expect_refused("error(nil)", "no text");
    expect_refused("error('plain')", "test.lua:1: plain");
    expect_refused("\x1bLua", "attempt to load a binary chunk");
    expect_refused("return 1 +", "test.lua:1");
}
