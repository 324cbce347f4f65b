/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two methods, or two lots of one, on the same specimens: do they agree?
 *
 * x is the old method or lot, y the new one; both have `count` finite numbers. Outside of the domain all results are
 * NaN, and so is a single one that is not defined. */
#ifndef ASSIZE_STATS_REGRESSION_H
#define ASSIZE_STATS_REGRESSION_H

#include <stddef.h>

#include "stats/intervals.h"

struct line { /* y = intercept + slope·x */
    double slope, intercept;
};

/* Deming regression, for two methods that both have error: with λ = variance of y's error / variance of x's,
 * slope = (Syy - λSxx + √((Syy - λSxx)² + 4λSxy²))/(2Sxy), through the means. λ = 1 is orthogonal regression.
 * Domain: count >= 2, λ > 0, Sxy not 0. Source: Deming WE, Statistical Adjustment of Data (1943); the closed form:
 * Linnet K. Clin Chem 1993;39:424-32 (from memory). */
struct line deming(const double *x, const double *y, size_t count, double lambda);

struct passing_bablok {
    struct line line;
    struct interval slope, intercept; /* at the confidence asked for */
    size_t slopes;                    /* N: slopes of pairs that counted */
    size_t offset;                    /* K: of those, how many lie below -1 */
};

/* Passing-Bablok regression, without assumptions about errors, and little moved by single wild results: the median of
 * the slopes between all pairs, shifted by K = the number of slopes below -1; pairs of one point and slopes of exactly
 * -1 do not count; a vertical pair has slope +∞. The intercept is the median of y - slope·x. Interval of the slope: the
 * ranks M1 + K and N - M1 + 1 + K with M1 = round((N - C)/2), C = z·√(n(n - 1)(2n + 5)/18), where there are such ranks;
 * of the intercept: the medians of y - slope·x at the two ends of it. Domain: 3 <= count <= PASSING_BABLOK_MOST, 0 <
 * confidence < 1, values that rise together. Source: Passing H, Bablok W. J Clin Chem Clin Biochem 1983;21:709-20. */
enum { PASSING_BABLOK_MOST = 2000 };
struct passing_bablok passing_bablok(const double *x, const double *y, size_t count, double confidence);

struct agreement {
    double bias, sd;                             /* mean and SD (n - 1) of x - y */
    struct interval limits;                      /* bias ± multiple·sd */
    struct interval bias_interval;               /* bias ± t·sd/√n */
    struct interval low_interval, high_interval; /* each limit ± t·√(3·sd²/n) */
};

/* Bland-Altman limits of agreement: between which most differences x - y lie. `multiple` is 1.96, or 2 as in the first
 * paper; t is Student's with n - 1 degrees at `confidence`. Domain: count >= 2, 0 < confidence < 1.
 * Source: Bland JM, Altman DG. Lancet 1986;i:307-10. */
struct agreement bland_altman(const double *x, const double *y, size_t count, double multiple, double confidence);

#endif
