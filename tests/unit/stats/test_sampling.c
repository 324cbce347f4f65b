/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/sampling.h"

#include <criterion/criterion.h>

#include "near.h"
#include "published.h"

/* Source: hypergeometric distribution, recomputed in exact arithmetic; Cannon JG, Roe RM, Sampling tables (1982), from
 * memory, agree at 100/5 % 45, 100/10 % 25, 500/1 % 225 and without end 59, 29, 299. */
Test(sampling, discovery_samples_of_the_tables)
{
    static const uint64_t totals[] = {10, 20, 30, 50, 100, 200, 300, 500, 1000, 5000};
    static const struct {
        double share;
        uint64_t samples[10], endless_95, endless_99;
    } rows[] = {
        {0.01, {10, 19, 29, 48, 95, 155, 189, 225, 258, 290}, 299, 459},
        {0.02, {10, 19, 29, 48, 78, 105, 117, 129, 138, 147}, 149, 228},
        {0.05, {10, 19, 23, 31, 45, 51, 54, 56, 57, 59}, 59, 90},
        {0.10, {10, 16, 19, 22, 25, 27, 28, 28, 29, 29}, 29, 44},
        {0.20, {8, 10, 11, 12, 13, 13, 14, 14, 14, 14}, 14, 21},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        for (size_t k = 0; k < COUNT(totals); k++) {
            uint64_t found = discovery_sample(totals[k], bad_records(totals[k], rows[i].share), 0.95);
            cr_expect(found == rows[i].samples[k], "%g of %d: %d", rows[i].share, (int)totals[k], (int)found);
        }
        cr_expect(discovery_sample_endless(rows[i].share, 0.95) == rows[i].endless_95, "%g, 95 %%", rows[i].share);
        cr_expect(discovery_sample_endless(rows[i].share, 0.99) == rows[i].endless_99, "%g, 99 %%", rows[i].share);
    }
}

/* Source: as above: for 5 % of 50 the answer hangs on whether 2 or 3 records are bad. */
Test(sampling, the_share_of_bad_records_is_rounded_up)
{
    cr_expect(bad_records(50, 0.05) == 3);
    cr_expect(bad_records(100, 0.05) == 5 && bad_records(300, 0.07) == 21 && bad_records(1000, 0.003) == 3);
    cr_expect(discovery_sample(50, 3, 0.95) == 31 && discovery_sample(50, 2, 0.95) == 39);
    cr_expect(bad_records(10, 0) == 0 && bad_records(10, 1) == 10 && bad_records(10, 0.0001) == 1);
    cr_expect(bad_records(10, 1.5) == 0 && bad_records(10, -0.1) == 0);
}

/* Source: hypergeometric distribution, recomputed. */
Test(sampling, the_chance_that_a_sample_shows_nothing)
{
    cr_expect(is_near(chance_of_none(100, 5, 45), 0.0462063, 5e-8));
    cr_expect(is_near(chance_of_none(100, 5, 44), 0.0507364, 5e-8));
    cr_expect(is_near(chance_of_none(50, 5, 10), 0.310563, 5e-7));
    cr_expect(chance_of_none(10, 0, 10) == 1 && chance_of_none(10, 1, 10) == 0 && chance_of_none(10, 4, 7) == 0);
    cr_expect(chance_of_none(10, 4, 6) > 0);
    cr_expect(isnan(chance_of_none(10, 11, 1)) && isnan(chance_of_none(10, 1, 11)));
}

Test(sampling, the_sample_is_the_least_that_does)
{
    for (uint64_t total = 1; total <= 60; total++)
        for (uint64_t bad = 1; bad <= total; bad++) {
            uint64_t sample = discovery_sample(total, bad, 0.95);
            cr_expect(sample >= 1 && sample <= total - bad + 1, "%d of %d", (int)bad, (int)total);
            cr_expect(chance_of_none(total, bad, sample) <= 0.05 * (1 + 1e-9), "%d of %d", (int)bad, (int)total);
            cr_expect(chance_of_none(total, bad, sample - 1) > 0.05 * (1 - 1e-9), "%d of %d", (int)bad, (int)total);
        }
}

Test(sampling, questions_without_an_answer_give_none)
{
    cr_expect(discovery_sample(100, 0, 0.95) == 0 && discovery_sample(100, 101, 0.95) == 0);
    cr_expect(discovery_sample(100, 5, 0) == 0 && discovery_sample(100, 5, 1) == 0);
    cr_expect(discovery_sample_endless(0, 0.95) == 0 && discovery_sample_endless(0.05, 1) == 0);
}
