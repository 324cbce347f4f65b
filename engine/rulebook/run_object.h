/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A run as site rules see it: an object that reads the packed run behind a place, so that walking along a million runs
 * makes no million tables. The same table of fields serves the API's documentation. */
#ifndef ASSIZE_RULEBOOK_RUN_OBJECT_H
#define ASSIZE_RULEBOOK_RUN_OBJECT_H

#include "rulebook/host.h"

void run_object_offer(lua_State *lua);                                   /* makes the objects' metatable */
void run_object_push(lua_State *lua, struct host *host, uint32_t place); /* a new object */
void run_object_move(lua_State *lua, int index, uint32_t place);         /* to another place */

/* A field without the object: its number by its name (-1: there is none), and its value. */
int run_object_field(struct text name);
void run_object_push_field(lua_State *lua, const struct history *history, uint32_t place, int field);

#endif
