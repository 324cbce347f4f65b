/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Who may write a store: a lock file beside it, held by the kernel for as long as its process lives, with a note who
 * that is. A file left behind by a process that died locks nothing. */
#ifndef ASSIZE_STORE_LOCK_H
#define ASSIZE_STORE_LOCK_H

#include <stdbool.h>

#include "base/fault.h"
#include "base/memory.h"

struct lock;
/* Locks the store at `path`. A fault says "PATH: locked by process 4711 on HOST since 2026-11-02 09:30", or why the
 * lock file cannot be made.
 */
bool lock_take(struct lock **out, const char *path, struct fault *fault);
void lock_free(struct lock *lock); /* removes the file */
OWNER(lock);

#endif
