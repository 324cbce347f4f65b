/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Memory: single blocks, arenas, and the one way to clean up.
 *
 * Running out of memory is not handled by callers: the block functions print `assize: out of memory` and leave with
 * status 2, and so does malloc itself (glibc's), whichever library asks. Nothing is half done then: loads are
 * transactions, and reports are written aside and renamed.
 *
 * Cleaning up: `AUTO(store) store = NULL;` frees the owner when the variable leaves its scope; every X_free takes NULL.
 */
#ifndef ASSIZE_BASE_MEMORY_H
#define ASSIZE_BASE_MEMORY_H

#include <stddef.h>

void *memory_new(size_t size);                               /* zeroed; owned by the caller, memory_free */
void *memory_resize(void *block, size_t count, size_t size); /* count*size is checked for overflow */
char *memory_copy_string(const char *string);
void memory_free(void *block);

/* Makes room in a growing array for one more item: VECTOR_GROW(items, count, capacity). */
#define VECTOR_GROW(items, count, capacity)                                \
    do {                                                                   \
        if ((count) == (capacity) || (items) == NULL) {                    \
            (capacity) = (capacity) ? (capacity)*2 : 16;                   \
            (items) = memory_resize((items), (capacity), sizeof *(items)); \
        }                                                                  \
    } while (0)

/* An arena: many small blocks that are freed together. Blocks are aligned for any type and not zeroed. */
struct arena;
struct arena *arena_new(void);
void *arena_take(struct arena *arena, size_t size);
void arena_reset(struct arena *arena);        /* forgets all blocks, keeps the pages */
size_t arena_size(const struct arena *arena); /* bytes held from the system */
void arena_free(struct arena *arena);

#define OWNER(type)                                                                 \
    static inline void type##_cleanup(struct type **owner) { type##_free(*owner); } \
    struct type
#define AUTO(type) __attribute__((cleanup(type##_cleanup))) struct type *

OWNER(arena);

#endif
