/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The box that a rule runs in: a Lua 5.4 state of its own, with an allow list of functions, a cap on memory and a
 * budget of instructions. Two programs in one state would share its garbage and its texts, of which Lua has each short
 * one once: none could say whose they are.
 *
 * What a rule can reach is the one table of allowed.c (sandbox_allowed), nothing else: no io, os, debug, package, load,
 * pcall, coroutine, metatables, clock or random numbers. Functions that work in C for long (patterns, insert, sort) are
 * charged to the budget by what they may cost, and the longest string that a file has made makes each of its
 * instructions dearer, for comparing two or reading a number out of one is a single instruction. A limit that trips is
 * latched until the next call begins, and the call fails whatever the rule does. What the box cannot stop: a rule that
 * is wrong. Only this room includes lua.h. */
#ifndef ASSIZE_RULEBOOK_SANDBOX_H
#define ASSIZE_RULEBOOK_SANDBOX_H

#include <lua.h>
#include <stdbool.h>
#include <stdint.h>

#include "base/fault.h"
#include "base/memory.h"
#include "base/text.h"

#define SANDBOX_OUT_OF_BUDGET "ran longer than its budget of instructions"

#ifndef SLOWER
#define SLOWER 1 /* a build for tests: how much longer its rules may take */
#endif

enum {
    SANDBOX_BYTES = 64 << 20,      /* for one file at a small site, while it runs */
    SANDBOX_BYTES_OF_A_ROW = 1000, /* more, for each row of the site's logs: a rule may ask for all of them */
    SANDBOX_KEPT_MOST = 1 << 20,   /* for one file between its calls, with what its site has given it */
    SANDBOX_RUN_BUDGET = 200000,   /* instructions for one answer of a run rule */
#ifdef FUZZING_BUILD_MODE_UNSAFE_FOR_PRODUCTION
    SANDBOX_SITE_BUDGET = 3000000, /* a fuzzer tries many rules that never end, in a slow build */
#else
    SANDBOX_SITE_BUDGET = 10000000, /* for one site rule over a small site, or to load a file */
#endif
    SANDBOX_MICROSECONDS =
        500000 * SLOWER, /* of the processor for all calls of a file at a small site, where prices fail */
    SANDBOX_MICROSECONDS_OF_A_ROW = 100,
    SANDBOX_BUDGET_OF_A_ROW = 2000, /* more for a site rule */
    SANDBOX_ALL_BUDGET = 100000000, /* for all calls of a file at a small site; it has many where much fails */
    SANDBOX_ALL_BUDGET_OF_A_ROW = 5000,
    SANDBOX_SOURCE_MOST = 32 << 10, /* bytes of a file: the parser walks some lists again for each entry */
    SANDBOX_KEYS = 1 << 14,         /* of a table, but for lists, at a small site */
    SANDBOX_KEYS_OF_A_ROW = 4,
    SANDBOX_STRING_MOST = 256 << 10,        /* bytes of one string */
    SANDBOX_LIST_MOST = SANDBOX_BYTES / 16, /* entries: no table has memory for more */
    SANDBOX_VALUES_MOST = 250,              /* arguments, or results, of one call: each instruction may copy them all */
};

struct sandbox;
struct sandbox *sandbox_new(void);
void sandbox_free(struct sandbox *sandbox);
OWNER(sandbox);

lua_State *sandbox_lua(struct sandbox *sandbox);

/* Pushes a new environment: a table with fresh copies of the allowed libraries, so that nothing is left of the site
 * before, and no shared part can change another's. */
void sandbox_push_environment(lua_State *lua);

/* A file that was compiled, and what it has made so far: its functions may hold that from one call to the next, so it
 * stays in the price. A copy of what was compiled begins anew. */
struct sandbox_program {
    const char *shown; /* its file, for messages; borrowed */
    int chunk;         /* reference of its function in the Lua registry */
    size_t longest;    /* bytes of a string */
    size_t largest;    /* bytes of another block: of all tables, the longest to walk */
    int64_t left;      /* instructions for all calls that are still to come */
    int64_t time_left; /* microseconds */
    size_t keys_most;  /* of a table, a power of two or more */
    size_t bytes_most; /* while it runs */
    size_t list_most;  /* entries that the list may have which its next call gives back; it is not kept */
    bool is_watched;   /* by the processor's clock from the start of each call: one of its calls was long */
};

/* Compiles a rule file (text only, no bytecode) and keeps it. One in each box; what it holds from here on counts. */
bool sandbox_compile(struct sandbox *sandbox, const char *shown, struct text source, struct sandbox_program *out,
                     struct fault *fault);
/* Gives a program what it may need more at a site with so many rows in its logs. */
void sandbox_allow_rows(struct sandbox_program *program, size_t rows);
/* Whether a text may be a file at all; false: the fault says why not. */
bool sandbox_takes(const char *shown, struct text source, struct fault *fault);

/* Calls a program's function, below its `arguments` on the stack with the budget; false: the fault (FAULT_RULE) says
 * "file:line: …" or which limit tripped. The results, or nothing, are on the stack. */
bool sandbox_call(struct sandbox *sandbox, struct sandbox_program *program, int arguments, int results, int64_t budget,
                  struct fault *fault);

/* How many times dearer all work is than it would be with short strings: by the longest that the program has made. */
int64_t sandbox_dearer(lua_State *lua);

/* Takes from the budget of the running call; raises a Lua error when it is used up. For C functions that work long. */
void sandbox_charge(lua_State *lua, int64_t instructions);
/* The same against what is left for all calls of the program: work that is done later, by pages. */
void sandbox_charge_all(lua_State *lua, int64_t instructions);

/* What `#` says of the table at an index of the running call. With holes in it that can be any number up to 2^62, so
 * nothing may take the length of a list from elsewhere; more than SANDBOX_LIST_MOST raises a Lua error. */
size_t sandbox_length(lua_State *lua, int index);
/* Pushes an empty list with room for so many entries. */
void sandbox_new_list(lua_State *lua, size_t entries);
/* The number at `index`; anything else raises a Lua error: Lua's own functions also take a string, and to read a number
 * out of a long one takes long. */
lua_Number sandbox_number(lua_State *lua, int index);
lua_Number sandbox_number_or(lua_State *lua, int index, lua_Number otherwise); /* where there is none, or nil */
lua_Integer sandbox_whole(lua_State *lua, int index);

/* Raises a Lua error unless a function that Lua is to call in C, over and over, is one of the rule's own: in those of C
 * no instruction is counted. */
void sandbox_check_own(lua_State *lua, int index);
/* Looks at the clock, for loops in C whose steps may take long. */
void sandbox_look(lua_State *lua);

/* Charges for a walk of a table: one from which all was taken is as long to walk as it once was, and the largest block
 * that the program has made bounds that. */
void sandbox_charge_walk(lua_State *lua);

/* About what putting so many values in order costs. */
int64_t sandbox_cost_of_order(lua_State *lua, size_t count);
/* Puts the list at a stack index in order: by the function at the index `order`, which is true of two if the first
 * comes before the second, or by `<` if that is 0. Equal entries stay as they are. */
void sandbox_sort(lua_State *lua, int list, int order);

/* Counts bytes that the host keeps for the running call, which have a limit and a price as the rule's own; raises a Lua
 * error beyond it. */
void sandbox_keep(lua_State *lua, size_t bytes);
/* Likewise of text that reports show. */
void sandbox_tell(lua_State *lua, size_t bytes);

/* The allow list, for the guide: library ("" for globals), function, and why it is worth having. NULL library at its
 * end. */
struct sandbox_entry {
    const char *library, *function, *why;
};
extern const struct sandbox_entry sandbox_allowed[];
/* Opens the libraries in a new state, and leaves the table of what is allowed as its result. */
int sandbox_build_allowed(lua_State *lua);

#define NOT_WHILE_LOADING "can be called in check and affects only"

/* Adds a function of the host's own to every environment made from now on, under the name it has in sandbox_allowed or
 * in the API table; `upvalue` is a light userdata it gets as its first upvalue. */
void sandbox_offer(struct sandbox *sandbox, const char *name, lua_CFunction function, void *upvalue);
/* The same, as library.name. */
void sandbox_offer_in(struct sandbox *sandbox, const char *library, const char *name, lua_CFunction function,
                      void *upvalue);

/* replaced.c: what rules get in place of the library's own function, which is its first upvalue. NULL library at its
 * end.
 */
struct sandbox_replacement {
    const char *library, *name;
    lua_CFunction function;
};
extern const struct sandbox_replacement sandbox_replaced[];

/* patterns.c: find, match, gmatch and gsub with a price. */
int sandbox_pattern(lua_State *lua);
int sandbox_matches(lua_State *lua); /* gmatch's */

#endif
