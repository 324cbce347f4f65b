/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/memory.h"

#include <stdalign.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Leaves without exit handlers: other threads may be at work on what the handlers would touch. */
static void out_of_memory(void)
{
    static const char words[] = "assize: out of memory\n";
    ssize_t written = write(STDERR_FILENO, words, sizeof words - 1);
    (void)written; /* nowhere left to tell it */
    _exit(2);
}

void *memory_new(size_t size)
{
    void *block = calloc(1, size > 0 ? size : 1);
    if (block == NULL)
        out_of_memory();
    return block;
}

void *memory_resize(void *block, size_t count, size_t size)
{
    if (size > 0 && count > SIZE_MAX / size)
        out_of_memory();
    size_t bytes = count * size;
    void *resized = realloc(block, bytes > 0 ? bytes : 1);
    if (resized == NULL)
        out_of_memory();
    return resized;
}

char *memory_copy_string(const char *string)
{
    size_t size = strlen(string) + 1;
    return memcpy(memory_new(size), string, size);
}

void memory_free(void *block) { free(block); }

enum { PAGE_SIZE = 64 * 1024 };

struct page {
    struct page *next;
    size_t size, used;
    alignas(max_align_t) unsigned char bytes[];
};

struct arena {
    struct page *first;   /* in order of use: those behind `current` are free, or full of one large block */
    struct page *current; /* NULL while there is none */
    size_t size;
};

struct arena *arena_new(void) { return memory_new(sizeof(struct arena)); }

static struct page *page_behind_current(struct arena *arena, size_t size)
{
    size_t room = size > PAGE_SIZE ? size : PAGE_SIZE;
    if (room > SIZE_MAX - sizeof(struct page))
        out_of_memory();
    struct page *page = malloc(sizeof(struct page) + room);
    if (page == NULL)
        out_of_memory();
    struct page **link = arena->current ? &arena->current->next : &arena->first;
    *page = (struct page){.next = *link, .size = room};
    *link = page;
    arena->size += sizeof(struct page) + room;
    return page;
}

static size_t page_room(const struct page *page) { return page ? page->size - page->used : 0; }

void *arena_take(struct arena *arena, size_t size)
{
    if (size > SIZE_MAX - alignof(max_align_t))
        out_of_memory();
    size = (size + alignof(max_align_t) - 1) & ~(alignof(max_align_t) - 1);
    struct page *page = arena->current;
    if (page == NULL || page_room(page) < size) {
        page = page ? page->next : arena->first;
        if (page == NULL || page_room(page) < size)
            page = page_behind_current(arena, size);
        /* A large block does not end the page that small ones still fit into. */
        if (page_room(page) - size >= page_room(arena->current))
            arena->current = page;
    }
    void *block = page->bytes + page->used;
    page->used += size;
    return block;
}

void arena_reset(struct arena *arena)
{
    for (struct page *page = arena->first; page != NULL; page = page->next)
        page->used = 0;
    arena->current = arena->first;
}

size_t arena_size(const struct arena *arena) { return arena->size; }

void arena_free(struct arena *arena)
{
    if (arena == NULL)
        return;
    for (struct page *page = arena->first, *next; page != NULL; page = next) {
        next = page->next;
        free(page);
    }
    free(arena);
}
