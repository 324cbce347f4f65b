/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the program of a box may use: memory, instructions by their price, the processor's clock. */
#include <lauxlib.h>
#include <stdlib.h>
#include <time.h>

#include "rulebook/sandbox_inside.h"

enum {
    BYTES_FOR_AN_INSTRUCTION = 64,
    COST_OF_A_TOLD_BYTE = 12, /* pages set it */
    BLOCK_BYTES = 8,          /* that the system's allocator adds to a block */
    BLOCK_STEP = 16,          /* of the system's allocator */
    WALKED_BYTES_FOR_AN_INSTRUCTION = 512,
    DEARER_EVERY = 512, /* bytes of a string; of one longer than any rule needs, half as many */
    LONG_STRING = 8192,
    COST_OF_COLLECTION = 1000000, /* of all garbage, at once */
    COST_OF_ANOTHER = 50000,      /* right after it */
    NODE_BYTES = 24,              /* of a key and its value in a table, where pointers have 8 bytes */
    ENTRY_BYTES = 16,             /* of a list */
    KEYS_FEW = 1024,
    LARGE_BLOCK = 64 << 10,
    LONG_CALL = 200,   /* microseconds */
    NESTED_MOST = 200, /* calls; deeper, results can be handed down in the square of the depth */
};

/* ---- memory and the clock ---- */

static void note_size(struct sandbox *sandbox, bool is_string, size_t size)
{
    size_t *most = is_string ? &sandbox->longest : &sandbox->largest;
    if (size > *most)
        *most = size;
}

/* Copying strings is work that no instruction counts, so memory has a price, and a single string an end: comparing two
 * of 60 MB a million times would else be cheap. For a new block Lua says in `old_size` what it is for. */
static bool refused(struct sandbox *sandbox, bool is_string, size_t more, size_t size)
{
    if (!sandbox->running)
        return false;
    sandbox->budget -= (int64_t)(more / BYTES_FOR_AN_INSTRUCTION);
    if (sandbox->budget <= 0)
        sandbox->tripped = TRIPPED_BUDGET;
    if (is_string && size > SANDBOX_STRING_MOST)
        sandbox->tripped = TRIPPED_STRING;
    return sandbox->tripped != TRIPPED_NONE;
}

static int64_t microseconds(clockid_t clock)
{
    struct timespec now;
    clock_gettime(clock, &now);
    return (int64_t)now.tv_sec * 1000000 + now.tv_nsec / 1000;
}

static int64_t processor_microseconds(void) { return microseconds(CLOCK_THREAD_CPUTIME_ID); }

/* Prices are by what work costs as a rule; some of Lua's own (numbers written into strings) costs a hundred times as
 * much. No rule that comes near its budget of instructions takes so long otherwise. Reading the clock takes longer than
 * a short call; so a program is watched from the start of its calls once one was long, by the clock on the wall, which
 * takes less but also counts what others do. */
static void watch_the_clock(struct sandbox *sandbox)
{
#ifndef FUZZING_BUILD_MODE_UNSAFE_FOR_PRODUCTION /* there the same must come twice */
    int64_t now = processor_microseconds();
    if (sandbox->watched_at)
        sandbox->program->time_left -= now - sandbox->watched_at;
    sandbox->watched_at = now;
    sandbox->program->is_watched = true;
    sandbox->unwatched = 0;
#else
    (void)sandbox;
#endif
}

/* Lua gives keys room for a power of two, and the lists that it makes itself as well. */
static bool may_be_keys(size_t bytes)
{
    size_t keys = bytes / NODE_BYTES;
    return bytes % NODE_BYTES == 0 && (keys & (keys - 1)) == 0;
}

/* Whole numbers can be chosen so that all of them have one place in a table that grows to them, and in one instruction,
 * in which nobody looks at the clock, each is then put behind all others. */
static bool has_too_many_keys(struct sandbox *sandbox, size_t size)
{
    size_t keys = size / NODE_BYTES;
    if (!sandbox->running || !may_be_keys(size) || keys < KEYS_FEW)
        return false;
    watch_the_clock(sandbox);
    if (sandbox->program->time_left <= 0)
        sandbox->tripped = TRIPPED_BUDGET;
    else if (keys > sandbox->program->keys_most)
        sandbox->tripped = TRIPPED_KEYS;
    return sandbox->tripped != TRIPPED_NONE;
}

/* By the program, and by what the host has given it. */
static size_t held_now(const struct sandbox *sandbox)
{
    return sandbox->held > sandbox->held_at_first ? sandbox->held - sandbox->held_at_first : 0;
}

/* Garbage that Lua has not come across yet is no memory used: at the first refusal Lua looks for all of it, and asks
 * again. */
static bool is_too_much(struct sandbox *sandbox, size_t more)
{
    if (!sandbox->running || held_now(sandbox) + sandbox->kept + more <= sandbox->program->bytes_most) {
        sandbox->collects = false;
        return false;
    }
    if (sandbox->collects)
        sandbox->tripped = TRIPPED_MEMORY;
    sandbox->collects = !sandbox->collects;
    sandbox->budget -= COST_OF_COLLECTION;
    return true;
}

static size_t block_size(size_t asked) { return (asked + BLOCK_BYTES + BLOCK_STEP - 1) / BLOCK_STEP * BLOCK_STEP; }

void *limits_allocate(void *context, void *block, size_t old_size, size_t size)
{
    struct sandbox *sandbox = context;
    bool is_string = !block && old_size == LUA_TSTRING;
    if (!block && old_size == 0 && has_too_many_keys(sandbox, size))
        return NULL;
    size_t before = block ? block_size(old_size) : 0, after = block_size(size);
    if (!size) {
        sandbox->held -= before;
        free(block);
        return NULL;
    }
    bool grows = after > before;
    /* The host works outside of protected calls: what it asks for is not refused, and small. */
    if (grows && is_too_much(sandbox, after - before))
        return NULL;
    note_size(sandbox, is_string, size);
    if (grows && refused(sandbox, is_string, after - before, size))
        return NULL;
    void *moved = realloc(block, size);
    if (moved)
        sandbox->held = sandbox->held - before + after;
    return moved;
}

void sandbox_new_list(lua_State *lua, size_t entries)
{
    lua_createtable(lua, (int)(may_be_keys(entries * ENTRY_BYTES) ? entries + 1 : entries), 0);
}

/* ---- prices ---- */

static void trip_budget(lua_State *lua)
{
    sandbox_of(lua)->tripped = TRIPPED_BUDGET;
    sandbox_of(lua)->running = false; /* the message itself is free */
    luaL_where(lua, 0); /* the rule's own line, from the hook; nothing, from a function in C that it called */
    if (*lua_tostring(lua, -1) == '\0')
        luaL_where(lua, 1);
    lua_pushliteral(lua, SANDBOX_OUT_OF_BUDGET);
    lua_concat(lua, 2);
    lua_error(lua);
}

void sandbox_charge(lua_State *lua, int64_t instructions)
{
    struct sandbox *sandbox = sandbox_of(lua);
    if (instructions < 0 || instructions > sandbox->budget)
        sandbox->budget = 0;
    else
        sandbox->budget -= instructions;
    sandbox->unwatched += instructions < HOOK_EVERY ? instructions : HOOK_EVERY;
    if (sandbox->running && sandbox->unwatched >= HOOK_EVERY)
        watch_the_clock(sandbox);
    if (sandbox->budget <= 0 || (sandbox->running && sandbox->program->time_left <= 0))
        trip_budget(lua);
}

void sandbox_charge_all(lua_State *lua, int64_t instructions)
{
    struct sandbox_program *program = sandbox_of(lua)->program;
    program->left -= instructions;
    if (program->left <= 0)
        trip_budget(lua);
}

void sandbox_keep(lua_State *lua, size_t bytes)
{
    struct sandbox *sandbox = sandbox_of(lua);
    size_t most = sandbox->running ? sandbox->program->bytes_most : SANDBOX_BYTES;
    int64_t cost = (int64_t)(bytes / BYTES_FOR_AN_INSTRUCTION);
    sandbox->kept += bytes <= most ? bytes : most;
    if (sandbox->kept <= most && sandbox->kept + held_now(sandbox) > most) { /* much of it may be garbage */
        lua_gc(lua, LUA_GCCOLLECT);
        cost += COST_OF_COLLECTION;
    }
    if (sandbox->kept + held_now(sandbox) > most) {
        sandbox->tripped = TRIPPED_MEMORY;
        luaL_error(lua, "too much is told");
    }
    sandbox_charge(lua, cost);
}

void sandbox_tell(lua_State *lua, size_t bytes)
{
    sandbox_keep(lua, bytes);
    sandbox_charge(lua, (int64_t)bytes * COST_OF_A_TOLD_BYTE);
}

void sandbox_look(lua_State *lua)
{
    struct sandbox *sandbox = sandbox_of(lua);
    if (sandbox->running)
        watch_the_clock(sandbox);
    sandbox_charge(lua, 1);
}

int64_t sandbox_dearer(lua_State *lua)
{
    size_t longest = sandbox_of(lua)->longest;
    return 1 + (int64_t)(longest / (longest > LONG_STRING ? DEARER_EVERY / 2 : DEARER_EVERY));
}

void limits_count(lua_State *lua, lua_Debug *record)
{
    lua_Debug level;
    (void)record;
    sandbox_charge(lua, HOOK_EVERY * sandbox_dearer(lua));
    if (lua_getstack(lua, NESTED_MOST, &level))
        luaL_error(lua, "calls are nested deeper than %d", NESTED_MOST);
    if (lua_getstack(lua, 0, &level) && lua_getlocal(lua, &level, -SANDBOX_VALUES_MOST))
        luaL_error(lua, "more than %d arguments", SANDBOX_VALUES_MOST);
}

void sandbox_charge_walk(lua_State *lua)
{
    sandbox_charge(lua, (int64_t)(sandbox_of(lua)->largest / WALKED_BYTES_FOR_AN_INSTRUCTION));
}

/* ---- a call ---- */

void sandbox_allow_rows(struct sandbox_program *program, size_t rows)
{
    program->left += (int64_t)rows * SANDBOX_ALL_BUDGET_OF_A_ROW;
    program->time_left += (int64_t)rows * SANDBOX_MICROSECONDS_OF_A_ROW;
    program->keys_most += rows * SANDBOX_KEYS_OF_A_ROW;
    program->bytes_most += rows * SANDBOX_BYTES_OF_A_ROW;
}

/* What is not freed may be garbage that Lua has not come across yet; and Lua's table of all strings, which halves its
 * room each time that it is found too large. */
static void look_at_what_is_kept(struct sandbox *sandbox, struct sandbox_program *program)
{
    /* A list that is still on its way to the host, in room for twice as many, is not kept. */
    bool may_give = program->list_most > 0 && lua_istable(sandbox->lua, -1);
    size_t entries = may_give ? lua_rawlen(sandbox->lua, -1) : 0;
    size_t on_its_way = 2 * ENTRY_BYTES * (entries < program->list_most ? entries : program->list_most);
    size_t most = SANDBOX_KEPT_MOST + on_its_way, before = SIZE_MAX;
    for (int64_t cost = COST_OF_COLLECTION; held_now(sandbox) > most && held_now(sandbox) < before;
         cost = COST_OF_ANOTHER) {
        before = held_now(sandbox);
        lua_gc(sandbox->lua, LUA_GCCOLLECT);
        program->left -= cost;
    }
    if (held_now(sandbox) > most && sandbox->tripped == TRIPPED_NONE)
        sandbox->tripped = TRIPPED_KEPT;
}

void limits_begin(struct sandbox *sandbox, struct sandbox_program *program, int64_t budget)
{
    sandbox->tripped = TRIPPED_NONE;
    sandbox->budget = budget;
    sandbox->kept = 0;
    sandbox->longest = program->longest;
    sandbox->largest = program->largest;
    sandbox->program = program;
    /* In few instructions: `for` reads numbers out of strings, keys lie on one place. */
    bool is_watched = program->is_watched || program->longest > DEARER_EVERY || program->largest > LARGE_BLOCK;
    sandbox->watched_at = is_watched ? processor_microseconds() : 0;
    sandbox->begun_at = is_watched ? 0 : microseconds(CLOCK_MONOTONIC);
    sandbox->unwatched = 0;
    sandbox->running = true;
}

void limits_end(struct sandbox *sandbox, int64_t budget)
{
    struct sandbox_program *program = sandbox->program;
    sandbox->running = false;
    look_at_what_is_kept(sandbox, program);
    if (sandbox->watched_at)
        watch_the_clock(sandbox);
    else if (microseconds(CLOCK_MONOTONIC) - sandbox->begun_at > LONG_CALL)
        program->is_watched = true;
    program->longest = sandbox->longest;
    program->largest = sandbox->largest;
    program->left -= budget - sandbox->budget;
    if ((program->time_left <= 0 || program->left <= 0) && sandbox->tripped == TRIPPED_NONE)
        sandbox->tripped = TRIPPED_BUDGET;
    sandbox->budget = SANDBOX_SITE_BUDGET; /* for the host's own work between calls */
}
