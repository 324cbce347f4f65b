/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/draw.h"

#include <criterion/criterion.h>
#include <string.h>

#include "stats/tails.h"

/* Source: numbers that SplitMix64 is known to give for seeds 1234567 (the generator's page at Rosetta Code) and 0, from
 * memory. */
Test(draw, the_generator_gives_the_numbers_it_is_known_for)
{
    static const uint64_t seeds[] = {1234567, 0};
    static const uint64_t numbers[][3] = {
        {UINT64_C(6457827717110365317), UINT64_C(3203168211198807973), UINT64_C(9817491932198370423)},
        {UINT64_C(0xE220A8397B1DCDAF), UINT64_C(0x6E789E6AA1B965F4), UINT64_C(0x06C45D188009454F)},
    };
    for (size_t i = 0; i < 2; i++) {
        struct generator generator = {seeds[i]};
        for (size_t k = 0; k < 3; k++)
            cr_expect(generator_next(&generator) == numbers[i][k], "seed %d, number %d", (int)seeds[i], (int)k);
    }
}

/* By hand: the generator's first numbers leave 5 of 8, 2 of 7, 3 of 6, 1 of 5 and 1 of 4. What stands in the place that
 * is drawn changes places with what stands first of those left: 0 goes to place 5 and is drawn from there, then 2. */
Test(draw, a_draw_is_the_one_worked_out_by_hand)
{
    static const size_t by_hand[] = {5, 3, 0, 4, 2};
    size_t drawn[5];
    cr_assert_eq(draw_without_return(1234567, 8, 5, drawn), 5);
    for (size_t i = 0; i < 5; i++)
        cr_expect_eq(drawn[i], by_hand[i], "%zu: %zu", i, drawn[i]);
}

/* Fails where a fair draw would be this uneven, or this even, once in a thousand times. */
static void expect_even(const size_t *counts, size_t cells, double expected, const char *what)
{
    double sum = 0;
    for (size_t i = 0; i < cells; i++)
        sum += ((double)counts[i] - expected) * ((double)counts[i] - expected) / expected;
    double chance = chi_square_upper(sum, (double)(cells - 1));
    cr_expect(chance > 0.001 && chance < 0.999, "%s: chance %g", what, chance);
}

/* 3 of 7, 35 sets. Each set, each number and each first number as often. The seeds are 1 to 35,000. */
Test(draw, every_set_is_drawn_as_often_as_any_other)
{
    enum { DRAWS = 35000 };
    size_t by_set[1 << 7] = {0}, sets[35], by_first[7] = {0}, set_count = 0;
    for (uint64_t seed = 1; seed <= DRAWS; seed++) {
        size_t drawn[3];
        draw_without_return(seed, 7, 3, drawn);
        by_set[1u << drawn[0] | 1u << drawn[1] | 1u << drawn[2]]++;
        by_first[drawn[0]]++;
    }
    for (size_t i = 0; i < sizeof by_set / sizeof *by_set; i++)
        if (by_set[i] > 0 && set_count < 35)
            sets[set_count++] = by_set[i];
    cr_assert_eq(set_count, 35);
    expect_even(sets, 35, DRAWS / 35.0, "sets");
    expect_even(by_first, 7, DRAWS / 7.0, "first");
}

/* Without throwing numbers away, the lower third of 3/4 of the range would come twice as often as the rest. */
Test(draw, numbers_below_a_count_are_even_where_the_range_does_not_divide)
{
    struct generator generator = {42};
    size_t counts[3] = {0};
    uint64_t quarter = UINT64_C(1) << 62;
    for (int i = 0; i < 30000; i++)
        counts[generator_below(&generator, 3 * quarter) / quarter]++;
    expect_even(counts, 3, 10000, "thirds");
}

Test(draw, nothing_is_drawn_twice_and_a_larger_draw_goes_on_from_a_smaller_one)
{
    static size_t few[60], many[5000];
    static char seen[5000];
    draw_without_return(99, 5000, 60, few);
    cr_assert_eq(draw_without_return(99, 5000, 5000, many), 5000);
    cr_expect_eq(memcmp(few, many, sizeof few), 0);
    for (size_t i = 0; i < 5000; i++) {
        cr_assert(many[i] < 5000 && !seen[many[i]], "%zu", many[i]);
        seen[many[i]] = 1;
    }
}

Test(draw, all_are_drawn_where_as_many_or_more_are_asked_for)
{
    size_t drawn[4] = {9, 9, 9, 9};
    cr_assert_eq(draw_without_return(5, 4, 100, drawn), 4);
    cr_expect_eq(1u << drawn[0] | 1u << drawn[1] | 1u << drawn[2] | 1u << drawn[3], 15u);
    cr_expect_eq(draw_without_return(5, 0, 3, drawn), 0);
    struct generator generator = {5};
    cr_expect_eq(generator_below(&generator, 0), 0);
    cr_expect_eq(generator_below(&generator, 1), 0);
}
