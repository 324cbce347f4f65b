/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/intervals.h"

#include <math.h>
#include <stdbool.h>

#include "stats/tails.h"

static const double normal_975 = 1.959963984540054; /* 97.5 % quantile of the standard normal distribution */
static const uint64_t total_most = 100000000;

static const struct interval unknown = {NAN, NAN};

static bool is_inside(double share) { return share > 0 && share < 1; }

static struct interval wilson_at(uint64_t count, uint64_t total, double quantile)
{
    if (total == 0)
        return (struct interval){0, 1};
    double n = (double)total, share = (double)count / n, z2 = quantile * quantile;
    double middle = share + z2 / (2 * n);
    double half = quantile * sqrt(share * (1 - share) / n + z2 / (4 * n * n));
    double scale = 1 + z2 / n;
    return (struct interval){
        .low = count == 0 ? 0 : (middle - half) / scale, /* exactly, without the rounding of a difference */
        .high = count == total ? 1 : (middle + half) / scale,
    };
}

struct interval wilson_interval(uint64_t count, uint64_t total) { return wilson_at(count, total, normal_975); }

struct interval wilson_interval_at(uint64_t count, uint64_t total, double confidence)
{
    if (count > total || !is_inside(confidence))
        return unknown;
    return wilson_at(count, total, -normal_quantile((1 - confidence) / 2));
}

/* The rate p with P(count or more of total at p) = chance, 1 <= count <= total. The distribution function rises with p,
 * so the bracket is halved until no double lies between its ends. */
static double rate_of(double count, double total, double chance)
{
    double low = 0, high = 1;
    for (;;) {
        double middle = low + (high - low) / 2;
        if (middle <= low || middle >= high)
            return middle;
        if (beta_lower(middle, count, total - count + 1) < chance)
            low = middle;
        else
            high = middle;
    }
}

struct interval clopper_pearson_interval(uint64_t count, uint64_t total, double confidence)
{
    if (count > total || total > total_most || !is_inside(confidence))
        return unknown;
    double x = (double)count, n = (double)total, tail = (1 - confidence) / 2;
    return (struct interval){
        .low = count == 0 ? 0 : rate_of(x, n, tail),
        .high = count == total ? 1 : rate_of(x + 1, n, 1 - tail), /* x or fewer: not x + 1 or more */
    };
}

/* The lowest count with P(R <= count) >= chance. */
static uint64_t lowest_count(uint64_t total, double share, double chance)
{
    uint64_t low = 0, high = total;
    while (low < high) {
        uint64_t middle = low + (high - low) / 2;
        if (binomial_lower((double)middle, (double)total, share) >= chance)
            high = middle;
        else
            low = middle + 1;
    }
    return low;
}

static double funnel_limit(double share, uint64_t total, double chance)
{
    double n = (double)total, r = (double)lowest_count(total, share, chance);
    double reached = binomial_lower(r, n, share), before = binomial_lower(r - 1, n, share);
    return fmax(r - (reached - chance) / (reached - before), 0) / n;
}

struct interval funnel_limits(double share, uint64_t total, double tail)
{
    if (!(share >= 0 && share <= 1) || total == 0 || total > total_most || !(tail > 0 && tail < 0.5))
        return unknown;
    return (struct interval){funnel_limit(share, total, tail), funnel_limit(share, total, 1 - tail)};
}
