/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/memory.h"

#include <stdalign.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Leaves without exit handlers: other threads may be at work on what the handlers would touch. */
static _Noreturn void out_of_memory(void)
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

/* ---- memory of libraries ---- */

/* SQLite would go on with an absent value where it could not copy one, and those who draw text would leave letters out:
 * so what any library asks for ends the program too when there is none. Sanitizers have an allocator of their own,
 * which does the same. */
#ifdef __has_feature
#define HAS_SANITIZER (__has_feature(address_sanitizer) || __has_feature(thread_sanitizer))
#elif defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
#define HAS_SANITIZER 1
#else
#define HAS_SANITIZER 0
#endif

#if defined(__GLIBC__) && !HAS_SANITIZER
void *__libc_malloc(size_t size);
void *__libc_calloc(size_t count, size_t size);
void *__libc_realloc(void *block, size_t size);

static void *block_or_end(void *block, bool is_asked)
{
    if (block == NULL && is_asked)
        out_of_memory();
    return block;
}

void *malloc(size_t size) { return block_or_end(__libc_malloc(size), true); }
void *calloc(size_t nmemb, size_t size) { return block_or_end(__libc_calloc(nmemb, size), true); }
void *realloc(void *ptr, size_t size) { return block_or_end(__libc_realloc(ptr, size), size > 0 || ptr == NULL); }
#endif

/* Blocks above LARGE have a page of their own, so that a page's end is never wasted by more than that. */
enum { PAGE_SIZE = 64 * 1024, LARGE = PAGE_SIZE / 4 };

struct page {
    struct page *next;
    size_t size, used;
    alignas(max_align_t) unsigned char bytes[];
};

struct arena {
    struct page *pages, *current;        /* in order of use; those behind `current` are free */
    struct page *large, *large_to_reuse; /* in use, and kept by arena_reset */
    size_t size;
};

struct arena *arena_new(void) { return memory_new(sizeof(struct arena)); }

static struct page *page_new(struct arena *arena, size_t size)
{
    if (size > SIZE_MAX - sizeof(struct page))
        out_of_memory();
    struct page *page = memory_resize(NULL, 1, sizeof(struct page) + size);
    page->size = size;
    page->used = 0;
    page->next = NULL;
    arena->size += sizeof(struct page) + size;
    return page;
}

static void *take_large(struct arena *arena, size_t size)
{
    struct page **link = &arena->large_to_reuse;
    while (*link != NULL && (*link)->size < size)
        link = &(*link)->next;
    struct page *page = *link;
    if (page != NULL)
        *link = page->next;
    else
        page = page_new(arena, size);
    page->next = arena->large;
    arena->large = page;
    return page->bytes;
}

static struct page *next_page(struct arena *arena)
{
    struct page **link = arena->current ? &arena->current->next : &arena->pages;
    if (*link == NULL)
        *link = page_new(arena, PAGE_SIZE);
    return arena->current = *link;
}

void *arena_take(struct arena *arena, size_t size)
{
    if (size > LARGE)
        return take_large(arena, size);
    size = (size + alignof(max_align_t) - 1) & ~(alignof(max_align_t) - 1);
    struct page *page = arena->current;
    if (page == NULL || page->size - page->used < size)
        page = next_page(arena);
    void *block = page->bytes + page->used;
    page->used += size;
    return block;
}

void arena_reset(struct arena *arena)
{
    for (struct page *page = arena->pages; page != NULL; page = page->next)
        page->used = 0;
    arena->current = arena->pages;
    while (arena->large != NULL) {
        struct page *page = arena->large;
        arena->large = page->next;
        page->next = arena->large_to_reuse;
        arena->large_to_reuse = page;
    }
}

size_t arena_size(const struct arena *arena) { return arena->size; }

static void free_pages(struct page *page)
{
    while (page != NULL) {
        struct page *next = page->next;
        free(page);
        page = next;
    }
}

void arena_free(struct arena *arena)
{
    if (arena == NULL)
        return;
    free_pages(arena->pages);
    free_pages(arena->large);
    free_pages(arena->large_to_reuse);
    free(arena);
}
