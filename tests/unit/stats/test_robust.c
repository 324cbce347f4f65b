/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/robust.h"

#include <criterion/criterion.h>

#include "near.h"
#include "published.h"

/* Source: ISO 5725-5:1998, creosote data, as in the documentation of the R package "metRology"; steps recomputed. The
 * standard stops about the fourth step: x* has settled to three decimals there, s* has not. */
Test(robust, algorithm_a_on_the_creosote_data)
{
    static const double numbers[] = {24.140, 20.155, 19.500, 20.300, 20.705, 17.570, 20.100, 20.940, 21.185};
    static const struct {
        unsigned iterations;
        double mean, sd;
    } rows[] = {{1, 20.387222, 0.985597},
                {2, 20.406605, 1.009683},
                {3, 20.410912, 1.026682},
                {4, 20.411869, 1.038801},
                {ALGORITHM_A_CONVERGED, 20.412143, 1.069840}};
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct robust found = algorithm_a(numbers, COUNT(numbers), rows[i].iterations);
        cr_expect(is_near(found.mean, rows[i].mean, 5e-7), "row %zu: %.7f", i, found.mean);
        cr_expect(is_near(found.sd, rows[i].sd, 5e-7), "row %zu: %.7f", i, found.sd);
        cr_expect(found.iterations <= rows[i].iterations && found.iterations < 1000, "row %zu", i);
    }
}

/* Source: Analytical Methods Committee, technical brief 6 (2001), data from memory; values recomputed. (The remembered
 * printed answer, 5.36 and 1.15, agrees in the SD only.) */
Test(robust, algorithm_a_on_the_data_of_the_analytical_methods_committee)
{
    static const double numbers[] = {4.5, 4.9, 5.6, 4.2, 6.2, 5.2, 9.9};
    struct robust first = algorithm_a(numbers, 7, 1), found = algorithm_a(numbers, 7, ALGORITHM_A_CONVERGED);
    cr_expect(is_near(first.mean, 5.336736, 5e-7) && is_near(first.sd, 1.038693, 5e-7));
    cr_expect(is_near(found.mean, 5.386489, 5e-7) && is_near(found.sd, 1.145957, 5e-7), "%f %f", found.mean, found.sd);
}

/* Source: ISO 13528, antibody example, data from memory; values recomputed. */
Test(robust, algorithm_a_on_the_antibody_data)
{
    static const double numbers[] = {.0400, .0550, .1780, .2020, .2060, .2270, .2280, .2300, .2300, .2350, .2360,
                                     .2370, .2430, .2440, .2450, .2555, .2600, .2640, .2670, .2700, .2730, .2740,
                                     .2780, .2811, .2870, .2870, .2880, .2890, .2950, .2960, .3110, .3310, .4246};
    struct robust found = algorithm_a(numbers, COUNT(numbers), ALGORITHM_A_CONVERGED);
    cr_expect(is_near(found.mean, .256355, 5e-7) && is_near(found.sd, .040431, 5e-7), "%f %f", found.mean, found.sd);
    cr_expect(is_close(robust_uncertainty(found.sd, COUNT(numbers)), 1.25 * found.sd / sqrt(33), 1e-14));
}

Test(robust, one_wild_result_hardly_moves_it)
{
    static const double tame[] = {5.1, 5.2, 5.3, 5.4, 5.5, 5.6, 5.7}, wild[] = {5.1, 5.2, 5.3, 5.4, 5.5, 5.6, 570};
    struct robust a = algorithm_a(tame, 7, ALGORITHM_A_CONVERGED), b = algorithm_a(wild, 7, ALGORITHM_A_CONVERGED);
    cr_expect(fabs(a.mean - b.mean) < 0.1 && b.sd < 2 * a.sd);
}

Test(robust, most_values_the_same_leave_no_spread)
{
    static const double numbers[] = {5, 5, 5, 9};
    struct robust found = algorithm_a(numbers, 4, ALGORITHM_A_CONVERGED);
    cr_expect(found.mean == 5 && found.sd == 0 && found.iterations == 0);
}

/* Source: the definitions of ISO 13528 (from memory), worked by hand. */
Test(robust, scores_by_hand)
{
    cr_expect(is_close(z_score(6.9, 6.5, 0.2), 2, 1e-12) && is_close(z_score(6.1, 6.5, 0.2), -2, 1e-12));
    cr_expect(is_close(z_prime_score(7, 6.5, 0.3, 0.4), 1, 1e-12));
    cr_expect(is_close(en_score(6.5, 7, 0.4, 0.3), -1, 1e-12));
}

Test(robust, outside_of_the_domain_there_is_no_score)
{
    static const double bad[] = {1, NAN, 3};
    cr_expect(isnan(algorithm_a(bad, 3, 1).mean) && isnan(algorithm_a(bad, 1, 1).mean));
    cr_expect(isnan(z_score(1, 1, 0)) && isnan(z_score(1, 1, -1)) && isnan(en_score(1, 1, 0, 0)));
    cr_expect(isnan(z_prime_score(1, 1, 1, -1)) && isnan(robust_uncertainty(1, 0)) && isnan(robust_uncertainty(-1, 2)));
}
