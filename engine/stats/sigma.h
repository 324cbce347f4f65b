/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How much room a method's imprecision and bias leave within its allowable error.
 *
 * All arguments are in one unit, percent or absolute, at one level. Domain: allowable > 0, sd (or CV) > 0, bias of any
 * sign; else NaN. */
#ifndef ASSIZE_STATS_SIGMA_H
#define ASSIZE_STATS_SIGMA_H

/* Sigma metric, (allowable - |bias|)/sd; negative where the bias alone breaks the limit.
 * Source: common practice; from memory: Westgard JO, Six Sigma Quality Design and Control (2001). */
double sigma_metric(double allowable, double bias, double sd);

/* Critical systematic shift, in SD: the shift that brings 5 % of the results over the limit,
 * (allowable - |bias|)/sd - 1.65. Source: from memory, as above; 1.65 is the customary rounding of the 95 % quantile.
 */
double critical_shift(double allowable, double bias, double sd);

/* Total error, |bias| + 1.65·sd: what 95 % of the results stay within, on the side of the bias. Source: from memory,
 * Westgard JO, Carey RN, Wold S. Clin Chem 1974;20:825-33. Domain here: sd >= 0. */
double total_error(double bias, double sd);

/* The chance that a result misses the allowable error when the method has shifted by `shift` SD to the side of its
 * bias: P(|bias + shift·sd + sd·Z| > allowable), Z standard normal. The building block of patient risk (Parvin CA. Clin
 * Chem 2008;54:2049-54, from memory). */
double miss_probability(double allowable, double bias, double sd, double shift);

#endif
