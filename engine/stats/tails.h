/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tails of distributions, and the Mann-Whitney test.
 *
 * Distribution functions are those of the GNU Scientific Library (2.7). Arguments are checked here: outside of the
 * domain the result is NaN. */
#ifndef ASSIZE_STATS_TAILS_H
#define ASSIZE_STATS_TAILS_H

#include <stddef.h>

/* To be called once, before threads begin: where a series of GSL does not converge the functions here give NaN; its own
 * error handler would end the program. */
void tails_give_nan(void);

/* Standard normal distribution: P(Z <= z), P(Z >= z), and the z with P(Z <= z) = p, 0 < p < 1. */
double normal_lower(double z);
double normal_upper(double z);
double normal_quantile(double p);

/* Student's t distribution: the t with P(T <= t) = p. Domain: 0 < p < 1, 0 < degrees <= 1e6. */
double student_quantile(double p, double degrees);

/* Chi-square distribution: P(X <= x) and P(X >= x). Domain: 0 < degrees <= 1e6; 0 and 1 for x <= 0. A sum of squares
 * about the mean, divided by the true variance, has n - 1 degrees. */
double chi_square_lower(double x, double degrees);
double chi_square_upper(double x, double degrees);

/* Beta distribution: P(X <= x). Domain: a, b in (0, 1e8]. It carries the binomial one:
 * P(k or more of n at rate p) = beta_lower(p, k, n - k + 1), 1 <= k <= n. To 1e-9 of itself for a + b up to 1e5, to
 * 1e-8 up to 1e6. */
double beta_lower(double x, double a, double b);

/* Binomial distribution: P(count or fewer of total at rate `share`). Domain: 0 <= share <= 1, total <= 1e8. */
double binomial_lower(double count, double total, double share);
/* P(count or more of total): 1 for a count of 0. */
double binomial_upper(double count, double total, double share);

struct mann_whitney {
    double u; /* of the first sample: pairs in which it is larger, ties count half */
    double z; /* 0 if all values are the same */
    double p; /* two-sided, at most 1 */
};

/* Are two samples of one distribution? By the normal approximation, corrected for ties and for continuity:
 * U - n₁n₂/2, brought 1/2 nearer to 0, over √(n₁n₂/12 · (N + 1 - Σ(t³ - t)/(N(N - 1)))). Good from about 20 each.
 * Domain: n₁, n₂ >= 1 and finite numbers. Source: Mann HB, Whitney DR. Ann Math Stat 1947;18:50-60; the variance with
 * ties as in Lehmann EL, Nonparametrics (1975), from memory. */
struct mann_whitney mann_whitney_normal(const double *first, size_t first_count, const double *second,
                                        size_t second_count);

/* The same test, p by counting all orders of the two samples (the recurrence of Mann and Whitney 1947); z is the normal
 * one without continuity. Domain: n₁, n₂ from 1 to MANN_WHITNEY_EXACT_MOST, finite numbers, no ties; else NaN. */
enum { MANN_WHITNEY_EXACT_MOST = 25 };
struct mann_whitney mann_whitney_exact(const double *first, size_t first_count, const double *second,
                                       size_t second_count);

#endif
