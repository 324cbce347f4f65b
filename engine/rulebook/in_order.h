/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Walking a small table that a rule wrote. Lua gives the keys of a table in an order that depends on addresses: of two
 * things that are wrong with a rule, or of two keys for the same thing, another one would be met first each time. */
#ifndef ASSIZE_RULEBOOK_IN_ORDER_H
#define ASSIZE_RULEBOOK_IN_ORDER_H

#include <lua.h>
#include <stdbool.h>

/* lua_next with the keys in order: numbers, then strings by their bytes, others last. A step takes as long as the table
 * is large: who calls stops at the first key it does not know. `table` is not counted from the top of the stack. */
bool next_in_order(lua_State *lua, int table);

/* Puts a copy of the table at the top of the stack in its place, and copies of the tables in it, `depth` deep, in
 * theirs. A table from which all was taken is as long to walk as it once was, and may stand in many places: each is
 * walked once here, and its copy is as small as what it holds. False: one has more than `most` entries, or the strings
 * in them are longer than `bytes_most` together. */
bool copy_small(lua_State *lua, size_t most, size_t bytes_most, int depth);

/* The entries of the list at `index`; more than `most` are false. With holes in it `#` can be any number up to 2^62. */
bool list_length(lua_State *lua, int index, size_t most, size_t *length);

/* The key at `index` for people; borrowed from the stack's value, "?" if it is no string. Unlike lua_tostring it leaves
 * a number a number. */
const char *key_name(lua_State *lua, int index);

#endif
