/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <math.h>

#include "stats/intervals.h"

/* Sources: 81/263, 15/148, 0/20 and 1/29: Newcombe RG. Two-sided confidence intervals for the single proportion.
 * Stat Med 1998;17:857-72, table I, method 3. The others: from memory, recomputed from the formula of Wilson (1927) in
 * an independent calculation. */
Test(intervals, wilsons_interval_gives_the_published_values)
{
    static const struct {
        uint64_t count, total;
        double low, high;
    } rows[] = {
        {81, 263, .2553, .3662}, {15, 148, .0624, .1605}, {0, 20, 0, .1611},      {1, 29, .0061, .1718},
        {29, 29, .8830, 1},      {5, 10, .2366, .7634},   {19, 20, .7639, .9911}, {20, 20, .8389, 1},
        {58, 60, .8864, .9908},  {0, 100, 0, .0370},      {4, 20, .0807, .4160},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct interval found = wilson_interval(rows[i].count, rows[i].total);
        cr_expect(fabs(found.low - rows[i].low) <= 0.00005, "%zu: low is %f", i, found.low);
        cr_expect(fabs(found.high - rows[i].high) <= 0.00005, "%zu: high is %f", i, found.high);
    }
}

Test(intervals, none_and_all_reach_the_ends_exactly)
{
    for (uint64_t total = 1; total <= 1000000; total = total * 3 + 1) {
        cr_expect(wilson_interval(0, total).low == 0 && wilson_interval(total, total).high == 1);
        cr_expect(wilson_interval(0, total).high > 0 && wilson_interval(total, total).low < 1);
    }
}

Test(intervals, nothing_counted_tells_nothing)
{
    struct interval found = wilson_interval(0, 0);
    cr_expect(found.low == 0 && found.high == 1);
}
