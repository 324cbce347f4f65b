/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How many records a review by hand must look at. */
#ifndef ASSIZE_STATS_SAMPLING_H
#define ASSIZE_STATS_SAMPLING_H

#include <stdint.h>

/* The least number of bad records that makes a share of `share` in `total`: share·total, rounded up (a count within
 * 1e-9 of a whole number is that number). Domain: 0 <= share <= 1; else 0. */
uint64_t bad_records(uint64_t total, double share);

/* The chance that a sample of `sample` out of `total` records, drawn without putting back, holds none of the `bad`
 * ones: Π (total - bad - i)/(total - i), i = 0 .. sample - 1 (hypergeometric). Domain: bad, sample <= total; else NaN.
 */
double chance_of_none(uint64_t total, uint64_t bad, uint64_t sample);

/* Discovery sample: the least sample in which at least one of the `bad` records shows up with chance `confidence`, so
 * that a sample without one says "fewer than that" with that confidence. Domain: 1 <= bad <= total, 0 < confidence < 1;
 * else 0. Source: hypergeometric distribution; tables: Cannon JG, Roe RM. Sampling tables (1982), from memory. */
uint64_t discovery_sample(uint64_t total, uint64_t bad, double confidence);

/* The same where there is no end of records: the least n with (1 - share)^n <= 1 - confidence.
 * Domain: 0 < share < 1, 0 < confidence < 1; else 0. */
uint64_t discovery_sample_endless(double share, double confidence);

#endif
