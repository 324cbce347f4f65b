/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/sigma.h"

#include <criterion/criterion.h>

#include "near.h"
#include "published.h"
#include "stats/tails.h"

/* Source: from memory; the first row is the classic cholesterol example, the others recomputed from the formula. */
Test(sigma, metric_and_critical_shift_of_worked_examples)
{
    static const struct {
        double allowable, bias, cv, sigma, shift;
    } rows[] = {
        {10, 2, 2, 4.0, 2.35}, {10, 0, 2, 5.0, 3.35},   {8, 0, 2, 4.0, 2.35},      {8, 1, 2, 3.5, 1.85},
        {8, 2, 2, 3.0, 1.35},  {8, 3, 2.5, 2.0, 0.35},  {6, 1, 1.5, 3.333, 1.683}, {15, 5, 5, 2.0, 0.35},
        {8, -2, 2, 3.0, 1.35}, {8, 10, 2, -1.0, -2.65},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        double sigma = sigma_metric(rows[i].allowable, rows[i].bias, rows[i].cv);
        double shift = critical_shift(rows[i].allowable, rows[i].bias, rows[i].cv);
        cr_expect(is_near(sigma, rows[i].sigma, 0.0005), "row %zu: %f", i, sigma);
        cr_expect(is_near(shift, rows[i].shift, 0.0005), "row %zu: %f", i, shift);
    }
}

/* Source: common practice (defects per million with a shift of 1.5, one tail); recomputed. And without a shift, two
 * tails. */
Test(sigma, defects_per_million_are_tails_of_the_normal_distribution)
{
    static const struct {
        double sigma, shifted, both;
    } rows[] = {{3, 66807.20, 2699.80}, {4, 6209.67, 63.34}, {5, 232.63, 0.573}, {6, 3.40, 0.00197}};
    for (size_t i = 0; i < COUNT(rows); i++) {
        double shifted = 1e6 * normal_upper(rows[i].sigma - 1.5), both = 1e6 * miss_probability(rows[i].sigma, 0, 1, 0);
        cr_expect(is_near(shifted, rows[i].shifted, 0.005), "row %zu: %f", i, shifted);
        cr_expect(is_close(both, rows[i].both, 0.003), "row %zu: %f", i, both);
    }
}

/* Source: recomputed from the formula: allowable 8 %, bias 1 %, CV 2 %, and a shift in SD. */
Test(sigma, the_chance_of_a_miss_grows_with_the_shift)
{
    static const struct {
        double shift, chance;
    } rows[] = {{0, 0.000236}, {1, 0.006210}, {2, 0.066807}, {3, 0.308538}};
    for (size_t i = 0; i < COUNT(rows); i++) {
        double found = miss_probability(8, 1, 2, rows[i].shift);
        cr_expect(is_near(found, rows[i].chance, 5e-7), "row %zu: %.9f", i, found);
        cr_expect(is_near(miss_probability(8, -1, 2, rows[i].shift), found, 0), "row %zu: the side of the bias", i);
    }
}

Test(sigma, total_error_adds_the_bias_and_its_share_of_imprecision)
{
    cr_expect(is_close(total_error(-1, 2), 4.3, 1e-14));
    cr_expect(isnan(total_error(1, -2)));
}

Test(sigma, outside_of_the_domain_there_is_no_figure)
{
    cr_expect(isnan(sigma_metric(8, 1, 0)) && isnan(sigma_metric(0, 1, 2)) && isnan(sigma_metric(8, NAN, 2)));
    cr_expect(isnan(critical_shift(8, 1, 0)) && isnan(miss_probability(8, 1, 0, 0)) &&
              isnan(miss_probability(-1, 1, 2, 0)));
}
