/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/descriptive.h"

#include <criterion/criterion.h>
#include <stdlib.h>

#include "near.h"
#include "published.h"

/* Source: NIST StRD, certified values. */
Test(descriptive, mean_and_sd_give_the_certified_digits_of_nist)
{
    static const struct {
        const char *name;
        const double *numbers;
        size_t count;
        double mean, sd;
    } rows[] = {
        {"Lew", strd_lew, COUNT(strd_lew), -177.435, 277.332168044316},
        {"Lottery", strd_lottery, COUNT(strd_lottery), 518.958715596330, 291.699727470969},
        {"Mavro", strd_mavro, COUNT(strd_mavro), 2.001856, 0.000429123454003053},
        {"Michelso", strd_michelso, COUNT(strd_michelso), 299.8524, 0.0790105478190518},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct summary found = summary_of(rows[i].numbers, rows[i].count);
        cr_expect(is_close(found.mean, rows[i].mean, 1e-14), "%s: mean %.17g", rows[i].name, found.mean);
        cr_expect(is_close(found.sd, rows[i].sd, 1e-12), "%s: sd %.17g", rows[i].name, found.sd);
    }
}

/* Source: NIST StRD, NumAcc1 to 4: 1 + (count - 1) numbers, the middle one, then a step below and above it by turns.
 * The decimals of sets 3 and 4 are no doubles themselves: 9 and 8 digits are what the data hold. */
Test(descriptive, large_means_do_not_swallow_small_deviations)
{
    static const struct {
        double middle, step;
        size_t count;
        double sd, relative;
    } rows[] = {{1.2, 0.1, 1001, 0.1, 1e-13}, {1000000.2, 0.1, 1001, 0.1, 1e-9}, {10000000.2, 0.1, 1001, 0.1, 1e-8}};
    for (size_t i = 0; i < COUNT(rows); i++) {
        double numbers[1001] = {rows[i].middle};
        for (size_t k = 1; k < rows[i].count; k++)
            numbers[k] = rows[i].middle + (k % 2 == 1 ? -rows[i].step : rows[i].step);
        struct summary found = summary_of(numbers, rows[i].count);
        cr_expect(is_close(found.mean, rows[i].middle, 1e-15), "row %zu: mean %.17g", i, found.mean);
        cr_expect(is_close(found.sd, rows[i].sd, rows[i].relative), "row %zu: sd %.17g", i, found.sd);
    }
    static const double numacc1[] = {10000001, 10000003, 10000002};
    struct summary found = summary_of(numacc1, 3);
    cr_expect(found.mean == 10000002 && found.sd == 1);
}

/* Source: our own, recomputed in exact rational arithmetic: a HbA1c control, 20 days. */
Test(descriptive, a_month_of_a_control_gives_mean_sd_and_cv)
{
    static const double numbers[] = {6.1, 6.3, 6.0, 6.2, 6.4, 6.1, 6.2, 6.0, 6.3, 6.2,
                                     6.1, 6.2, 6.3, 6.1, 6.0, 6.2, 6.4, 6.2, 6.1, 6.3};
    struct summary found = summary_of(numbers, COUNT(numbers));
    cr_expect(is_near(found.mean, 6.185, 1e-12));
    cr_expect(is_near(found.sd, 0.122581874, 5e-10));
    cr_expect(is_near(found.squares, 0.122581874 * 0.122581874 * 19, 1e-8));
    cr_expect(is_near(cv_percent(found.sd, found.mean), 1.98192197, 5e-9));
}

Test(descriptive, cv_and_bias_are_percent_and_need_something_to_divide_by)
{
    cr_expect(cv_percent(2, 50) == 4);
    cr_expect(cv_percent(2, -50) == 4);
    cr_expect(isnan(cv_percent(2, 0)) && isnan(cv_percent(-1, 5)) && isnan(cv_percent(NAN, 5)));
    cr_expect(is_close(bias_percent(5.5, 5), 10, 1e-14));
    cr_expect(is_close(bias_percent(4.5, 5), -10, 1e-14));
    cr_expect(isnan(bias_percent(5, 0)));
}

Test(descriptive, too_few_numbers_give_nan_and_one_gives_a_mean)
{
    static const double one[] = {5.4};
    struct summary none = summary_of(NULL, 0), single = summary_of(one, 1);
    cr_expect(none.count == 0 && isnan(none.mean) && isnan(none.squares) && isnan(none.sd));
    cr_expect(single.count == 1 && single.mean == 5.4 && single.squares == 0 && isnan(single.sd));
}

Test(descriptive, numbers_that_are_not_finite_give_nan)
{
    static const double rows[][3] = {{1, NAN, 2}, {1, INFINITY, 2}, {-INFINITY, INFINITY, 0}};
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct summary found = summary_of(rows[i], 3);
        cr_expect(isnan(found.mean) && isnan(found.sd) && isnan(found.squares), "row %zu", i);
        cr_expect(isnan(median_of(rows[i], 3)), "row %zu", i);
    }
}

Test(descriptive, equal_numbers_have_no_deviation_at_all)
{
    double numbers[100];
    for (size_t i = 0; i < COUNT(numbers); i++)
        numbers[i] = 0.1;
    cr_expect(summary_of(numbers, COUNT(numbers)).sd == 0);
}

Test(descriptive, the_median_is_the_middle_and_leaves_the_numbers_alone)
{
    static const double numbers[] = {9, 1, 5, 3, 100};
    cr_expect(median_of(numbers, 5) == 5);
    cr_expect(median_of(numbers, 4) == 4);
    cr_expect(median_of(numbers, 1) == 9);
    cr_expect(isnan(median_of(numbers, 0)));
    static const double huge[] = {1.7e308, 1.7e308};
    cr_expect(median_of(huge, 2) == 1.7e308);
}
