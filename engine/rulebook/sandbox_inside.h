/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside of the box: its state, which sandbox.c makes, fills and calls into, and sandbox_limits.c keeps account of. */
#ifndef ASSIZE_RULEBOOK_SANDBOX_INSIDE_H
#define ASSIZE_RULEBOOK_SANDBOX_INSIDE_H

#include "rulebook/sandbox.h"

enum { HOOK_EVERY = 1000 }; /* instructions */

enum tripped { TRIPPED_NONE, TRIPPED_MEMORY, TRIPPED_KEPT, TRIPPED_KEYS, TRIPPED_STRING, TRIPPED_BUDGET };

struct sandbox {
    lua_State *lua;
    size_t held;          /* bytes of all blocks */
    size_t held_at_first; /* before the program: the libraries and what the host offers */
    int64_t budget;
    size_t kept;                     /* by the host for the running call */
    size_t longest, largest;         /* string and other block of the program */
    struct sandbox_program *program; /* in hand */
    int64_t watched_at;              /* microseconds of the processor; 0: not yet in this call */
    int64_t begun_at;  /* microseconds on the wall, of a call that is not watched from its start; else 0 */
    int64_t unwatched; /* instructions charged since somebody looked at the clock */
    bool running;      /* a call; between calls the host asks for little, and is not refused */
    bool collects;     /* Lua looks for garbage, because what it last asked for was too much */
    enum tripped tripped;
    int allowed; /* reference of the table of libraries that environments are copied from */
};

static inline struct sandbox *sandbox_of(lua_State *lua) { return *(struct sandbox **)lua_getextraspace(lua); }

/* sandbox_limits.c */
void *limits_allocate(void *context, void *block, size_t old_size, size_t size); /* Lua's allocator */
void limits_count(lua_State *lua, lua_Debug *record);                            /* Lua's hook, each HOOK_EVERY */
void limits_begin(struct sandbox *sandbox, struct sandbox_program *program, int64_t budget); /* of a call */
void limits_end(struct sandbox *sandbox, int64_t budget); /* what is kept, what is left, whether a limit tripped */

#endif
