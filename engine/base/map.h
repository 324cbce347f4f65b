/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A hash map from 64-bit keys to 64-bit values. Keys of several ids are mixed by map_key; it keeps 64 bits of them, so
 * that two different keys of a site meet with a chance below 1e-7 for a million keys (birthday bound: n^2 / 2^65). Only
 * grows. */
#ifndef ASSIZE_BASE_MAP_H
#define ASSIZE_BASE_MAP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/memory.h"

struct map;
struct map *map_new(void);
/* The place of a key's value; a new key's value is 0. Valid until the next call of map_at. */
uint64_t *map_at(struct map *map, uint64_t key);
const uint64_t *map_find(const struct map *map, uint64_t key); /* NULL if it is not there */
size_t map_count(const struct map *map);
void map_free(struct map *map);
OWNER(map);

/* One key out of up to five ids. */
uint64_t map_key(uint32_t a, uint32_t b, uint32_t c, uint32_t d, uint32_t e);

#endif
