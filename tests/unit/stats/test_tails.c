/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/tails.h"

#include <criterion/criterion.h>

#include "near.h"
#include "published.h"

/* Source: tables of the normal, t and chi-square distributions (any textbook): 95 and 97.5 % points. */
Test(tails, points_of_the_printed_tables)
{
    cr_expect(is_near(normal_quantile(0.975), 1.9599639845, 5e-11));
    cr_expect(is_near(normal_upper(1.6448536270), 0.05, 5e-11) && is_near(normal_lower(1.6448536270), 0.95, 5e-11));
    cr_expect(is_near(student_quantile(0.975, 19), 2.0930240544, 5e-11));
    cr_expect(is_near(student_quantile(0.975, 16), 2.119905, 5e-7));
    cr_expect(is_near(chi_square_lower(32.85232686, 19), 0.975, 5e-10));
    cr_expect(is_near(chi_square_upper(32.85232686, 19), 0.025, 5e-10));
    cr_expect(is_near(chi_square_lower(3.841458821, 1), 0.95, 5e-10));
}

/* Source: chi-square with 19 degrees: the true SD behind an estimate from 20 values lies between 0.7605 and 1.4606
 * times it (95 %; from memory, recomputed). */
Test(tails, the_spread_of_an_sd_from_twenty_values)
{
    cr_expect(is_near(chi_square_lower(19 / (0.7605 * 0.7605), 19), 0.975, 2e-5));
    cr_expect(is_near(chi_square_lower(19 / (1.4606 * 1.4606), 19), 0.025, 2e-5));
}

/* With two degrees the tail is exp(-x/2), with four (1 + x/2)·exp(-x/2): far out, too. */
Test(tails, chi_square_tails_have_their_closed_forms)
{
    for (double x = 0.001; x < 1000; x *= 1.7) {
        cr_expect(is_close(chi_square_upper(x, 2), exp(-x / 2), 1e-12), "%g", x);
        cr_expect(is_close(chi_square_upper(x, 4), (1 + x / 2) * exp(-x / 2), 1e-12), "%g", x);
        cr_expect(is_close(chi_square_lower(x, 2), -expm1(-x / 2), 1e-12), "%g", x);
    }
}

Test(tails, beyond_the_ends_the_tails_are_none_and_all)
{
    cr_expect(chi_square_lower(0, 5) == 0 && chi_square_upper(0, 5) == 1 && chi_square_lower(-3, 5) == 0);
    cr_expect(chi_square_lower(INFINITY, 5) == 1 && chi_square_upper(INFINITY, 5) == 0);
    cr_expect(beta_lower(-1, 2, 3) == 0 && beta_lower(2, 2, 3) == 1);
    cr_expect(binomial_lower(-1, 10, 0.5) == 0 && binomial_lower(10, 10, 0.5) == 1);
}

Test(tails, outside_of_the_domain_there_is_no_probability)
{
    cr_expect(isnan(normal_lower(NAN)) && isnan(normal_upper(NAN)) && isnan(normal_quantile(0)));
    cr_expect(isnan(normal_quantile(1)) && isnan(student_quantile(0.5, 0)) && isnan(student_quantile(1, 3)));
    cr_expect(isnan(chi_square_lower(1, 0)) && isnan(chi_square_upper(1, -1)) && isnan(chi_square_lower(NAN, 3)));
    cr_expect(isnan(chi_square_lower(1, 1e9)) && isnan(beta_lower(0.5, 0, 1)) && isnan(beta_lower(NAN, 1, 1)));
    cr_expect(isnan(binomial_lower(1, 2, 1.5)) && isnan(binomial_lower(NAN, 2, 0.5)));
}

Test(tails, binomial_tails_are_sums_of_the_first_terms)
{
    double total = 0, term = pow(0.7, 12); /* of 12 trials at 0.3 */
    for (int k = 0; k <= 12; k++) {
        total += term;
        cr_expect(is_close(binomial_lower(k, 12, 0.3), total, 1e-12), "%d", k);
        term *= (12 - k) / (k + 1.0) * (0.3 / 0.7);
    }
}

/* ---- Mann-Whitney ---- */

/* Source: Mann HB, Whitney DR. Ann Math Stat 1947;18:50-60, table I: P(U <= u) for small samples (from memory):
 * n = m = 3, u = 0: .050; n = 4, m = 4, u = 1: .029 (2/70); n = 5, m = 5, u = 2: .016 (4/252); n = m = 8, u = 13: .025.
 */
Test(tails, the_exact_test_gives_the_first_table)
{
    static const double low3[] = {1, 2, 3}, high3[] = {4, 5, 6};
    cr_expect(is_near(mann_whitney_exact(low3, 3, high3, 3).p, 2 * 0.05, 1e-12));
    static const double low4[] = {1, 2, 3, 5}, high4[] = {4, 6, 7, 8};
    struct mann_whitney found = mann_whitney_exact(low4, 4, high4, 4);
    cr_expect(found.u == 1 && is_near(found.p, 2 * 2 / 70.0, 1e-12));
    static const double low5[] = {1, 2, 3, 4, 7}, high5[] = {5, 6, 8, 9, 10};
    found = mann_whitney_exact(low5, 5, high5, 5);
    cr_expect(found.u == 2 && is_near(found.p, 2 * 4 / 252.0, 1e-12));
    static const double low8[] = {1, 2, 3, 4, 5, 9, 12, 13}, high8[] = {6, 7, 8, 10, 11, 14, 15, 16};
    found = mann_whitney_exact(low8, 8, high8, 8);
    cr_expect(found.u == 13 && is_near(found.p / 2, .025, 5e-4), "%f %f", found.u, found.p / 2);
}

Test(tails, swapping_the_samples_turns_u_and_keeps_p)
{
    static const double a[] = {5.1, 5.3, 5.3, 5.8, 6.0, 6.1}, b[] = {5.3, 5.9, 6.1, 6.4, 6.6};
    struct mann_whitney there = mann_whitney_normal(a, 6, b, 5), back = mann_whitney_normal(b, 5, a, 6);
    cr_expect(there.u + back.u == 30 && there.p == back.p && there.z == -back.z);
    cr_expect(there.z < 0, "the first sample is the smaller one");
}

/* Source: the formula by hand: 20 values against 20 that are all larger: U = 0, (200 - 0.5)/√(400·41/12) = 5.39649. */
Test(tails, the_normal_test_is_corrected_for_continuity)
{
    double a[20], b[20];
    for (int i = 0; i < 20; i++) {
        a[i] = i;
        b[i] = 100 + i;
    }
    struct mann_whitney found = mann_whitney_normal(a, 20, b, 20);
    cr_expect(found.u == 0 && is_near(found.z, -5.39649, 5e-6), "%f", found.z);
    cr_expect(is_close(found.p, 2 * normal_upper(199.5 / sqrt(400 * 41 / 12.0)), 1e-12));
}

/* Source: the formula by hand: {1, 1, 2} and {1, 2, 2}: U = 3, mean 4.5, groups of 3 and 3: Σ(t³ - t) = 48,
 * variance 9/12·(7 - 48/30) = 4.05, z = -(1.5 - 0.5)/√4.05 = -0.496904. */
Test(tails, the_normal_test_is_corrected_for_ties)
{
    static const double a[] = {1, 1, 2}, b[] = {1, 2, 2};
    struct mann_whitney found = mann_whitney_normal(a, 3, b, 3);
    cr_expect(found.u == 3 && is_near(found.z, -0.496904, 5e-7), "%f", found.z);
}

Test(tails, equal_values_tell_nothing)
{
    static const double same[] = {5, 5, 5, 5};
    struct mann_whitney found = mann_whitney_normal(same, 4, same, 4);
    cr_expect(found.u == 8 && found.z == 0 && found.p == 1);
}

Test(tails, the_tests_outside_of_their_domain)
{
    static const double a[] = {1, 2, NAN}, b[] = {1, 3}, c[] = {5, 6};
    cr_expect(isnan(mann_whitney_normal(a, 3, b, 2).p) && isnan(mann_whitney_normal(a, 0, b, 2).p));
    cr_expect(isnan(mann_whitney_exact(a, 2, b, 2).p), "ties have no exact distribution here");
    cr_expect(!isnan(mann_whitney_exact(a, 2, c, 2).p));
    double many[MANN_WHITNEY_EXACT_MOST + 1];
    for (int i = 0; i <= MANN_WHITNEY_EXACT_MOST; i++)
        many[i] = i + 0.5;
    cr_expect(isnan(mann_whitney_exact(many, MANN_WHITNEY_EXACT_MOST + 1, b, 2).p));
    cr_expect(!isnan(mann_whitney_exact(many, MANN_WHITNEY_EXACT_MOST, b, 2).p));
}
