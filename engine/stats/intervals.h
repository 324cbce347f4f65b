/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Intervals for a share: how far the true rate behind "x of n" may lie from x/n, and how far x/n may lie from a rate.
 */
#ifndef ASSIZE_STATS_INTERVALS_H
#define ASSIZE_STATS_INTERVALS_H

#include <stdint.h>

struct interval {
    double low, high; /* shares, 0 to 1 */
};

/* The two-sided 95 % score interval for `count` of `total`, count <= total, without continuity correction. Unlike the
 * textbook x/n ± 1.96 standard errors it stays within 0 to 1 and is of use for small n and for 0 and all of n. Nothing
 * counted (total 0) tells nothing: 0 to 1.
 * Source: Wilson EB. Probable inference, the law of succession, and statistical inference.
 * J Am Stat Assoc 1927;22:209-12. */
struct interval wilson_interval(uint64_t count, uint64_t total);

/* The same at another confidence, 0 < confidence < 1; else NaN. */
struct interval wilson_interval_at(uint64_t count, uint64_t total, double confidence);

/* The exact two-sided interval, each tail at most (1 - confidence)/2: `low` is the rate at which count or more have
 * that chance, `high` the rate at which count or fewer have it; found by halving a bracket on the distribution
 * function, to the last digit. Wider than Wilson's: it never falls short of its confidence. Domain: count <= total <=
 * 1e8, 0 < confidence < 1; else NaN. Nothing counted: 0 to 1. Source: Clopper CJ, Pearson ES. Biometrika
 * 1934;26:404-13. */
struct interval clopper_pearson_interval(uint64_t count, uint64_t total, double confidence);

/* Funnel limits: between which shares the result of `total` events lies with chance 1 - 2·tail if their true rate is
 * `share`; binomial, read between two counts in proportion, so that the limits of a funnel run smoothly: with r the
 * lowest count whose P(R <= r) >= p, the limit is (r - (P(R <= r) - p)/P(R = r))/total; not below 0.
 * Domain: 0 <= share <= 1, 1 <= total <= 1e8, 0 < tail < 1/2; else NaN. Customary tails: 0.025 and 0.001.
 * Source: Spiegelhalter DJ. Funnel plots for comparing institutional performance. Stat Med 2005;24:1185-202, appendix
 * A.1.1, from memory. */
struct interval funnel_limits(double share, uint64_t total, double tail);

#endif
