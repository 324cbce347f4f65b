/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Comparisons between sites or with a provider: a mean and an SD that single wild results do not move, and scores. */
#ifndef ASSIZE_STATS_ROBUST_H
#define ASSIZE_STATS_ROBUST_H

#include <stddef.h>

struct robust {
    double mean, sd;     /* x* and s* */
    unsigned iterations; /* done */
};

enum { ALGORITHM_A_CONVERGED = 10000 };

/* Algorithm A: x* starts as the median, s* as 1.483 times the median of |x - x*|; then all values are brought within
 * x* ± 1.5·s*, x* becomes their mean and s* 1.134 times their SD (n - 1), and so on, until s* and x* change by less
 * than 1e-13 of themselves or `iterations_most` are done. The standard stops earlier, when the third significant figure
 * of both stands still, and s* still moves then: compare s* only with its stopping rule. Where more than half of the
 * values are the same, s* is 0 from the start: x* is that value. Domain: count >= 2, finite; else NaN. Source: ISO
 * 13528 Annex C; ISO 5725-5 (from memory). */
struct robust algorithm_a(const double *numbers, size_t count, unsigned iterations_most);

/* Standard uncertainty of x* from `count` participants: 1.25 s* / √count. Source: ISO 13528, from memory. count >= 1.
 */
double robust_uncertainty(double sd, size_t count);

/* Scores of a result x against the assigned value. Up to 2 is satisfactory, from 3 on unsatisfactory; En within ±1.
 * Domain: the divisor > 0, deviations and uncertainties >= 0; else NaN. Source: ISO 13528, from memory.
 * z = (x - assigned)/sd; z' = (x - assigned)/√(sd² + u²), u the standard uncertainty of the assigned value;
 * En = (x - assigned)/√(U_x² + U_assigned²), with expanded uncertainties. */
double z_score(double result, double assigned, double sd);
double z_prime_score(double result, double assigned, double sd, double uncertainty);
double en_score(double result, double assigned, double result_uncertainty, double assigned_uncertainty);

#endif
