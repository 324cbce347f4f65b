/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/draw.h"

#include <string.h>

#include "base/memory.h"

uint64_t generator_next(struct generator *generator)
{
    uint64_t mixed = generator->state += UINT64_C(0x9E3779B97F4A7C15);
    mixed = (mixed ^ mixed >> 30) * UINT64_C(0xBF58476D1CE4E5B9);
    mixed = (mixed ^ mixed >> 27) * UINT64_C(0x94D049BB133111EB);
    return mixed ^ mixed >> 31;
}

uint64_t generator_below(struct generator *generator, uint64_t count)
{
    if (count == 0)
        return 0;
    uint64_t whole_rounds = UINT64_MAX - UINT64_MAX % count, number;
    do
        number = generator_next(generator);
    while (number >= whole_rounds);
    return number % count;
}

size_t draw_without_return(uint64_t seed, size_t total, size_t count, size_t *out)
{
    struct generator generator = {seed};
    size_t *left = memory_resize(NULL, total + 1, sizeof *left);
    count = count < total ? count : total;
    for (size_t i = 0; i < total; i++)
        left[i] = i;
    for (size_t i = 0; i < count; i++) {
        size_t chosen = i + (size_t)generator_below(&generator, total - i), first = left[i];
        left[i] = left[chosen];
        left[chosen] = first;
    }
    memcpy(out, left, count * sizeof *out);
    memory_free(left);
    return count;
}
