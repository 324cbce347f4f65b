/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <stdalign.h>
#include <stdint.h>
#include <string.h>

#include "base/memory.h"

Test(memory, new_blocks_are_zero_and_keep_their_bytes_when_resized)
{
    unsigned char *block = memory_new(100);
    for (int i = 0; i < 100; i++)
        cr_assert_eq(block[i], 0);
    memset(block, 7, 100);
    block = memory_resize(block, 1000, 10);
    for (int i = 0; i < 100; i++)
        cr_assert_eq(block[i], 7);
    memory_free(block);
    memory_free(memory_new(0));
    memory_free(NULL);
}

Test(memory, a_size_that_overflows_ends_the_program, .exit_code = 2) { memory_resize(NULL, SIZE_MAX / 4, 8); }

Test(memory, an_arena_that_is_asked_for_too_much_ends_the_program, .exit_code = 2)
{
    arena_take(arena_new(), SIZE_MAX - 3);
}

Test(memory, a_vector_grows_and_keeps_its_items)
{
    int *items = NULL;
    size_t count = 0, capacity = 0;
    for (int i = 0; i < 1000; i++) {
        VECTOR_GROW(items, count, capacity);
        items[count++] = i;
    }
    for (int i = 0; i < 1000; i++)
        cr_assert_eq(items[i], i);
    memory_free(items);
}

Test(memory, blocks_of_an_arena_are_aligned_and_apart)
{
    enum { BLOCKS = 3000 };
    AUTO(arena) arena = arena_new();
    unsigned char *blocks[BLOCKS];
    size_t sizes[BLOCKS];
    for (int i = 0; i < BLOCKS; i++) {
        sizes[i] = i % 100 == 99 ? 100000 : (size_t)(i * 37 % 500);
        blocks[i] = arena_take(arena, sizes[i]);
        cr_assert_eq((uintptr_t)blocks[i] % alignof(max_align_t), 0);
        memset(blocks[i], i % 251, sizes[i]);
    }
    for (int i = 0; i < BLOCKS; i++)
        for (size_t byte = 0; byte < sizes[i]; byte++)
            cr_assert_eq(blocks[i][byte], i % 251, "block %d", i);
}

Test(memory, a_large_block_does_not_waste_the_page_before_it)
{
    AUTO(arena) arena = arena_new();
    char *before = arena_take(arena, 16);
    arena_take(arena, 1000000);
    char *after = arena_take(arena, 16);
    cr_expect_eq(after - before, 16);
}

Test(memory, an_arena_that_is_reset_again_and_again_stops_growing)
{
    AUTO(arena) arena = arena_new();
    size_t size = 0;
    for (int round = 0; round < 50; round++) {
        for (int i = 0; i < 1000; i++)
            arena_take(arena, i == 500 ? 200000 : 300);
        if (round == 0)
            size = arena_size(arena);
        arena_reset(arena);
    }
    cr_expect(size > 500000);
    cr_expect_eq(arena_size(arena), size, "%zu after %zu", arena_size(arena), size);
}
