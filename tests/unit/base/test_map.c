/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>

#include "base/map.h"

Test(map, values_are_found_under_their_keys)
{
    enum { MANY = 50000 };
    AUTO(map) map = map_new();
    for (uint32_t i = 0; i < MANY; i++)
        *map_at(map, map_key(i % 7, i, i / 3, 0, i % 2)) += i + 1;
    cr_expect_eq(map_count(map), MANY);
    for (uint32_t i = 0; i < MANY; i++) {
        const uint64_t *value = map_find(map, map_key(i % 7, i, i / 3, 0, i % 2));
        cr_assert(value != NULL && *value == i + 1, "%u", i);
    }
    cr_expect_null(map_find(map, map_key(1, 2, 3, 4, 5)));
}

Test(map, a_new_value_is_zero_and_an_old_one_stays)
{
    AUTO(map) map = map_new();
    uint64_t *value = map_at(map, map_key(1, 0, 0, 0, 0));
    cr_expect_eq(*value, 0);
    *value = 9;
    cr_expect_eq(*map_at(map, map_key(1, 0, 0, 0, 0)), 9);
    cr_expect_eq(map_count(map), 1);
}

Test(map, the_place_of_an_id_matters)
{
    uint64_t keys[5];
    for (uint32_t i = 0; i < 5; i++)
        keys[i] = map_key(i == 0, i == 1, i == 2, i == 3, i == 4);
    for (int i = 0; i < 5; i++)
        for (int j = 0; j < i; j++)
            cr_expect_neq(keys[i], keys[j], "%d, %d", i, j);
}
