/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Intervals for a share: how far the true rate behind "x of n" may lie from x/n. */
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

#endif
