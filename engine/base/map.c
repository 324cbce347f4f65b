/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/map.h"

struct slot {
    uint64_t key; /* 0: empty; the key 0 itself is kept as 1's neighbour by map_key never giving 0 */
    uint64_t value;
};

struct map {
    struct slot *slots;
    size_t count, size; /* size is a power of two */
};

static uint64_t mix(uint64_t x)
{
    /* The finaliser of MurmurHash3 (public domain): every bit of the input touches every bit of the output. */
    x ^= x >> 33;
    x *= 0xff51afd7ed558ccdULL;
    x ^= x >> 33;
    x *= 0xc4ceb9fe1a85ec53ULL;
    x ^= x >> 33;
    return x;
}

uint64_t map_key(uint32_t a, uint32_t b, uint32_t c, uint32_t d, uint32_t e)
{
    uint64_t key = mix(((uint64_t)a << 32 | b) + 0x9e3779b97f4a7c15ULL);
    key = mix(key ^ ((uint64_t)c << 32 | d));
    key = mix(key ^ ((uint64_t)e + 0x632be59bd9b4e019ULL));
    return key;
}

struct map *map_new(void)
{
    struct map *map = memory_new(sizeof *map);
    map->size = 64;
    map->slots = memory_new(map->size * sizeof *map->slots);
    return map;
}

static struct slot *find(const struct map *map, uint64_t key)
{
    size_t at = mix(key) & (map->size - 1);
    while (map->slots[at].key && map->slots[at].key != key)
        at = (at + 1) & (map->size - 1);
    return &map->slots[at];
}

static void grow(struct map *map)
{
    struct slot *old = map->slots;
    size_t size = map->size;
    map->size = size * 2;
    map->slots = memory_new(map->size * sizeof *map->slots);
    for (size_t i = 0; i < size; i++)
        if (old[i].key)
            *find(map, old[i].key) = old[i];
    memory_free(old);
}

uint64_t *map_at(struct map *map, uint64_t key)
{
    if (!key)
        key = 1;
    if ((map->count + 1) * 4 > map->size * 3)
        grow(map);
    struct slot *slot = find(map, key);
    if (!slot->key) {
        slot->key = key;
        map->count++;
    }
    return &slot->value;
}

const uint64_t *map_find(const struct map *map, uint64_t key)
{
    const struct slot *slot = find(map, key ? key : 1);
    return slot->key ? &slot->value : NULL;
}

size_t map_count(const struct map *map) { return map->count; }

void map_free(struct map *map)
{
    if (!map)
        return;
    memory_free(map->slots);
    memory_free(map);
}
