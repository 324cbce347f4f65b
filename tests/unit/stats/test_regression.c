/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/regression.h"

#include <criterion/criterion.h>

#include "near.h"
#include "published.h"

/* Source: Bland JM, Altman DG. Lancet 1986;i:307-10. Printed (from memory): mean difference -2.1, SD 38.8, limits -79.7
 * to 75.5 (of the rounded SD; -79.6 to 75.4 of the unrounded one, recomputed), interval of the bias -22.1 to 17.8. */
Test(regression, bland_and_altmans_peak_flow_meters)
{
    struct agreement found = bland_altman(pefr_large_first, pefr_small_first, 17, 2, 0.95);
    cr_expect(is_near(found.bias, -2.1, 0.05) && is_near(found.bias, -2.117647, 5e-7), "%f", found.bias);
    cr_expect(is_near(found.sd, 38.8, 0.05) && is_near(found.sd, 38.765130, 5e-7), "%f", found.sd);
    cr_expect(is_near(found.limits.low, -79.6479, 5e-5) && is_near(found.limits.high, 75.4126, 5e-5));
    cr_expect(is_near(found.bias_interval.low, -22.0488, 5e-5) && is_near(found.bias_interval.high, 17.8135, 5e-5));
    cr_expect(is_near(found.low_interval.low, -114.17, 0.005) && is_near(found.low_interval.high, -45.13, 0.005));
    cr_expect(is_near(found.high_interval.low, 40.89, 0.005) && is_near(found.high_interval.high, 109.93, 0.005));
    struct agreement narrow = bland_altman(pefr_large_first, pefr_small_first, 17, 1.96, 0.95);
    cr_expect(is_near(narrow.limits.low, -78.0973, 5e-5) && is_near(narrow.limits.high, 73.8620, 5e-5));
}

/* Source: as above, table 2: SD of the differences of the means of two readings, 33.2. */
Test(regression, means_of_two_readings_agree_better)
{
    double large[17], small[17];
    for (size_t i = 0; i < 17; i++) {
        large[i] = (pefr_large_first[i] + pefr_large_second[i]) / 2;
        small[i] = (pefr_small_first[i] + pefr_small_second[i]) / 2;
    }
    cr_expect(is_near(bland_altman(large, small, 17, 2, 0.95).sd, 33.2041, 5e-5));
}

/* Source: tests of the R package "deming" (Therneau T): data of Sen PK, J Am Stat Assoc 1968;63:1379-89. */
Test(regression, passing_and_bablok_on_sens_data)
{
    static const double x[] = {1, 2, 3, 4, 10, 12, 18}, y[] = {9, 15, 19, 20, 45, 55, 78};
    struct passing_bablok found = passing_bablok(x, y, 7, 0.93);
    cr_expect(found.slopes == 21 && found.offset == 0);
    cr_expect(is_near(found.line.slope, 4, 1e-12) && is_near(found.line.intercept, 6, 1e-12));
    cr_expect(is_near(found.slope.low, 26 / 7.0, 1e-12) && is_near(found.slope.high, 35 / 8.0, 1e-12));
}

/* Source: the same package; the interval recomputed. */
Test(regression, passing_and_bablok_with_a_slope_below_minus_one)
{
    static const double x[] = {1, 2, 3, 4, 5, 6}, y[] = {2, 1.2, 4.1, 3.5, 6.3, 3};
    struct passing_bablok found = passing_bablok(x, y, 6, 0.95);
    cr_expect(found.slopes == 15 && found.offset == 1);
    cr_expect(is_near(found.line.slope, 1.05, 1e-12) && is_near(found.line.intercept, 0.125, 1e-12));
    cr_expect(is_near(found.slope.low, -0.6, 1e-12) && is_near(found.slope.high, 2.9, 1e-12));
}

/* Source: the data of Bland and Altman 1986; recomputed by an independent calculation. */
Test(regression, passing_and_bablok_on_peak_flow_meters)
{
    struct passing_bablok found = passing_bablok(pefr_large_first, pefr_small_first, 17, 0.95);
    cr_expect(found.slopes == 135 && found.offset == 13);
    cr_expect(is_near(found.line.slope, 1.064815, 5e-7) && is_near(found.line.intercept, -24.305556, 5e-7));
    cr_expect(is_near(found.slope.low, 0.837079, 5e-7) && is_near(found.slope.high, 1.396825, 5e-7));
    cr_expect(is_near(found.intercept.low, -178.032, 5e-4) && is_near(found.intercept.high, 82.938, 5e-4));
}

/* The method's own promise: it does not matter which of two methods is called x. */
Test(regression, passing_and_bablok_gives_the_reciprocal_for_swapped_methods)
{
    struct passing_bablok there = passing_bablok(pefr_large_first, pefr_small_first, 17, 0.95);
    struct passing_bablok back = passing_bablok(pefr_small_first, pefr_large_first, 17, 0.95);
    cr_expect(is_near(there.line.slope * back.line.slope, 1, 1e-12));
    cr_expect(is_near(there.slope.low * back.slope.high, 1, 1e-12));
}

Test(regression, passing_and_bablok_outside_of_its_domain)
{
    static const double x[] = {1, 2, 3}, y[] = {1, 2, 3}, same[] = {5, 5, 5}, bad[] = {1, NAN, 3};
    cr_expect(isnan(passing_bablok(x, y, 2, 0.95).line.slope) && isnan(passing_bablok(x, bad, 3, 0.95).line.slope));
    cr_expect(isnan(passing_bablok(x, y, 3, 1).line.slope));
    cr_expect(isnan(passing_bablok(same, same, 3, 0.95).line.slope), "all pairs are one point");
    struct passing_bablok few = passing_bablok(x, y, 3, 0.95);
    cr_expect(few.line.slope == 1 && few.line.intercept == 0);
    cr_expect(isnan(few.slope.low) && isnan(few.intercept.high), "three pairs have no 95 %% interval");
    struct passing_bablok vertical = passing_bablok(same, y, 3, 0.95);
    cr_expect(isinf(vertical.line.slope) && isnan(vertical.line.intercept));
}

/* Source: (a) Pearson K, Phil Mag 1901;2:559-72: slope -0.5456, intercept 5.784 (from memory, recomputed); (b) tests of
 * the R package "deming" (data; values recomputed); (c) Bland and Altman 1986 (data; values recomputed). */
Test(regression, deming_on_published_data)
{
    static const double px[] = {0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4};
    static const double py[] = {5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5};
    struct line found = deming(px, py, 10, 1);
    cr_expect(is_near(found.slope, -0.5455612, 5e-8) && is_near(found.intercept, 5.7840438, 5e-8));

    static const double steps[] = {0, -1, 2, -3, 4, -5, 6, -7, 8, -5};
    double x[10], y[10];
    for (int i = 0; i < 10; i++) {
        x[i] = i + 1;
        y[i] = 2.3 * x[i] + steps[i] / 2;
    }
    found = deming(x, y, 10, 1);
    cr_expect(is_near(found.slope, 2.53247121991245, 5e-13) && is_near(found.intercept, -1.3285917095, 5e-11));
    found = deming(y, x, 10, 1);
    cr_expect(is_near(found.slope, 0.39487121991245, 5e-13) && is_near(found.intercept, 0.5246226291, 5e-11));

    found = deming(pefr_large_first, pefr_small_first, 17, 1);
    cr_expect(is_near(found.slope, 0.97088082, 5e-9) && is_near(found.intercept, 15.23155552, 5e-9));
}

/* With no error in x it is the line of least squares. Source: Pearson's data, least squares -0.5395773, 5.7611852. */
Test(regression, deming_without_error_in_x_is_least_squares)
{
    static const double px[] = {0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4};
    static const double py[] = {5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5};
    struct line found = deming(px, py, 10, 1e9);
    cr_expect(is_near(found.slope, -0.5395773, 5e-8) && is_near(found.intercept, 5.7611852, 5e-8), "%.9f", found.slope);
}

Test(regression, deming_outside_of_its_domain)
{
    static const double x[] = {1, 2, 3}, flat[] = {5, 5, 5}, bad[] = {1, NAN, 3};
    cr_expect(isnan(deming(x, flat, 3, 1).slope) && isnan(deming(x, x, 1, 1).slope) && isnan(deming(x, x, 3, 0).slope));
    cr_expect(isnan(deming(x, bad, 3, 1).slope));
    cr_expect(isnan(bland_altman(x, x, 1, 2, 0.95).sd) && isnan(bland_altman(x, x, 3, 2, 1).bias));
    cr_expect(isnan(bland_altman(x, bad, 3, 2, 0.95).bias));
}
