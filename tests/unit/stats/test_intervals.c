/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/intervals.h"

#include <criterion/criterion.h>

#include "near.h"
#include "published.h"

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

/* Source: NIST/SEMATECH handbook 7.2.4.1 gives the formula; 4 of 20 from memory, recomputed. */
Test(intervals, wilsons_interval_at_another_confidence)
{
    struct interval at_90 = wilson_interval_at(4, 20, 0.90), at_95 = wilson_interval_at(4, 20, 0.95);
    cr_expect(is_near(at_90.low, .0931, 5e-5) && is_near(at_90.high, .3784, 5e-5));
    cr_expect(is_close(at_95.low, wilson_interval(4, 20).low, 1e-13));
    cr_expect(is_close(at_95.high, wilson_interval(4, 20).high, 1e-13));
    cr_expect(isnan(wilson_interval_at(4, 20, 0).low) && isnan(wilson_interval_at(4, 20, 1).high));
    cr_expect(isnan(wilson_interval_at(5, 4, 0.95).low));
}

/* Source: Newcombe RG. Stat Med 1998;17:857-72, table I, method 5, for the first four rows (from memory); the others
 * recomputed with another library's beta quantiles. */
Test(intervals, clopper_and_pearsons_interval_gives_the_published_values)
{
    static const struct {
        uint64_t count, total;
        double low, high;
    } rows[] = {
        {81, 263, .2527, .3676}, {15, 148, .0578, .1617}, {0, 20, 0, .1684},      {1, 29, .0009, .1776},
        {29, 29, .8806, 1},      {5, 10, .1871, .8129},   {19, 20, .7513, .9987}, {20, 20, .8316, 1},
        {58, 60, .8847, .9959},  {0, 100, 0, .0362},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct interval found = clopper_pearson_interval(rows[i].count, rows[i].total, 0.95);
        cr_expect(is_near(found.low, rows[i].low, 5e-5), "row %zu: low is %f", i, found.low);
        cr_expect(is_near(found.high, rows[i].high, 5e-5), "row %zu: high is %f", i, found.high);
    }
}

/* Source: NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.4.2 (answers from memory): 4 of 20, exact 90 %. And 0 of
 * 30 at 95 %: 0.1157033082, of the GNU Scientific Library. */
Test(intervals, the_exact_interval_of_the_nist_handbook)
{
    struct interval found = clopper_pearson_interval(4, 20, 0.90);
    cr_expect(is_near(found.low, 0.0713539, 5e-8), "%.9f", found.low);
    cr_expect(is_near(found.high, 0.4010281, 5e-8), "%.9f", found.high);
    cr_expect(is_near(clopper_pearson_interval(0, 30, 0.95).high, 0.1157033082, 5e-11));
}

/* Source: the rule of three, from memory: no event in n, 95 % one-sided: exact 1 - 0.05^(1/n), about 3/n. */
Test(intervals, nothing_in_n_follows_the_rule_of_three)
{
    static const struct {
        uint64_t total;
        double upper;
    } rows[] = {{10, .2589}, {20, .1391}, {30, .0950},  {50, .0582},
                {59, .0495}, {60, .0487}, {100, .0295}, {300, .0099}};
    for (size_t i = 0; i < COUNT(rows); i++) {
        double found = clopper_pearson_interval(0, rows[i].total, 0.90).high;
        cr_expect(is_near(found, rows[i].upper, 5e-5), "row %zu: %f", i, found);
        cr_expect(is_close(found, -expm1(log(0.05) / (double)rows[i].total), 1e-12), "row %zu: %.15f", i, found);
    }
}

/* With all or none the interval has a closed form, and a share and its rest mirror each other: both at any n. */
Test(intervals, the_exact_interval_holds_up_to_a_million)
{
    for (uint64_t total = 1; total <= 1000000; total = total * 5 / 2 + 1) {
        double n = (double)total, edge = -expm1(log(0.025) / n);
        cr_expect(is_close(clopper_pearson_interval(0, total, 0.95).high, edge, 1e-11), "%g", n);
        cr_expect(is_close(clopper_pearson_interval(total, total, 0.95).low, 1 - edge, 1e-11), "%g", n);
        for (uint64_t parts = 0; parts <= 12; parts++) {
            uint64_t count = total * parts / 12;
            struct interval found = clopper_pearson_interval(count, total, 0.95);
            struct interval mirror = clopper_pearson_interval(total - count, total, 0.95);
            double share = (double)count / n;
            cr_expect(found.low <= share && share <= found.high, "%g of %g", (double)count, n);
            cr_expect(found.low == 0 || found.low < share, "%g of %g", (double)count, n);
            cr_expect(is_near(found.low, 1 - mirror.high, 1e-10), "%g of %g", (double)count, n);
        }
    }
    struct interval large = clopper_pearson_interval(500000, 1000000, 0.95);
    cr_expect(is_near(large.high - large.low, 2 * 1.959964 * 0.0005, 2e-6), "about the normal width");
}

Test(intervals, the_exact_interval_outside_of_its_domain)
{
    cr_expect(isnan(clopper_pearson_interval(3, 2, 0.95).low) && isnan(clopper_pearson_interval(1, 2, 1).low));
    cr_expect(isnan(clopper_pearson_interval(1, 1000000000, 0.95).low));
    cr_expect(clopper_pearson_interval(0, 0, 0.95).low == 0 && clopper_pearson_interval(0, 0, 0.95).high == 1);
}

/* Source: the formula, worked by hand: 2 of 2 trials at 1/2 have P = 1/4, 3/4, 1 for up to 0, 1, 2. At a tail of 1/8:
 * the lowest count that reaches 1/8 is 0, (0 - (1/4 - 1/8)/(1/4))/2 lies below 0; that reaches 7/8 is 2, (2 - (1 -
 * 7/8)/(1/4))/2 = 3/4. */
Test(intervals, funnel_limits_read_between_two_counts)
{
    struct interval found = funnel_limits(0.5, 2, 0.125);
    cr_expect(found.low == 0);
    cr_expect(is_near(found.high, 0.75, 1e-12), "%.15f", found.high);
}

Test(intervals, a_funnel_narrows_and_has_its_rate_within)
{
    double width = 1;
    for (uint64_t total = 20; total <= 1000000; total *= 3) {
        struct interval found = funnel_limits(0.2, total, 0.025), wide = funnel_limits(0.2, total, 0.001);
        cr_expect(found.low < 0.2 && found.high > 0.2 && found.high - found.low < width, "%d", (int)total);
        cr_expect(wide.low <= found.low && wide.high > found.high, "%d", (int)total);
        width = found.high - found.low;
    }
    cr_expect(is_near(width, 2 * 1.959964 * sqrt(0.16 / 885735), 0.01 * width) || width < 0.01);
    cr_expect(isnan(funnel_limits(0.2, 0, 0.025).low) && isnan(funnel_limits(-0.1, 5, 0.025).low));
    cr_expect(isnan(funnel_limits(0.2, 5, 0.5).low) && funnel_limits(0, 50, 0.025).low == 0);
}
