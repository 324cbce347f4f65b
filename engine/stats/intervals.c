/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/intervals.h"

#include <math.h>

static const double normal_975 = 1.959963984540054; /* 97.5 % quantile of the standard normal distribution */

struct interval wilson_interval(uint64_t count, uint64_t total)
{
    if (total == 0)
        return (struct interval){0, 1};
    double n = (double)total, share = (double)count / n, z2 = normal_975 * normal_975;
    double middle = share + z2 / (2 * n);
    double half = normal_975 * sqrt(share * (1 - share) / n + z2 / (4 * n * n));
    double scale = 1 + z2 / n;
    return (struct interval){
        .low = count == 0 ? 0 : (middle - half) / scale, /* exactly, without the rounding of a difference */
        .high = count == total ? 1 : (middle + half) / scale,
    };
}
