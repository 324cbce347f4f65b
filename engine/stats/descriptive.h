/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Mean, standard deviation, CV and bias of control results, and the median.
 *
 * All functions of this room are pure. Outside of its domain a function returns NaN (in structs: in every member that
 * is not known); a NaN or an infinity among the numbers given makes the result NaN. */
#ifndef ASSIZE_STATS_DESCRIPTIVE_H
#define ASSIZE_STATS_DESCRIPTIVE_H

#include <stddef.h>

struct summary {
    size_t count;
    double mean;    /* Σx/n; n >= 1 */
    double squares; /* Σ(x - mean)²; n >= 1 */
    double sd;      /* √(squares/(n - 1)), of a sample; n >= 2 */
};

/* In two passes, the mean corrected for what rounding left over, so that large means with small deviations keep their
 * digits where the one-pass formula of textbooks loses them all. Source: Chan TF, Golub GH, LeVeque RJ. Algorithms for
 * computing the sample variance. Am Stat 1983;37:242-7. */
struct summary summary_of(const double *numbers, size_t count);

/* Coefficient of variation, 100·sd/|mean|, in percent. Domain: sd >= 0, mean not 0. Source: ISO 3534-1. */
double cv_percent(double sd, double mean);

/* Bias, 100·(mean - assigned)/assigned, in percent of the assigned value. Domain: assigned not 0. Source: ISO 5725-1.
 */
double bias_percent(double mean, double assigned);

/* The middle number, or the mean of the two middle ones; count >= 1. `numbers` is left as it is. */
double median_of(const double *numbers, size_t count);

/* The same for numbers in rising order, without a copy. */
double median_of_sorted(const double *sorted, size_t count);
void sort_numbers(double *numbers, size_t count); /* in rising order; none may be NaN */

#endif
