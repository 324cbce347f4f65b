/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/sampling.h"

#include <math.h>

static const double slack =
    1e-9; /* of a count that should be whole, and of a chance that should be the one asked for */

uint64_t bad_records(uint64_t total, double share)
{
    return share >= 0 && share <= 1 ? (uint64_t)fmax(ceil(share * (double)total - slack), 0) : 0;
}

double chance_of_none(uint64_t total, uint64_t bad, uint64_t sample)
{
    if (bad > total || sample > total)
        return NAN;
    double chance = 1;
    for (uint64_t i = 0; i < sample && chance > 0; i++)
        chance *= i < total - bad ? (double)(total - bad - i) / (double)(total - i) : 0;
    return chance;
}

uint64_t discovery_sample(uint64_t total, uint64_t bad, double confidence)
{
    if (bad == 0 || bad > total || !(confidence > 0 && confidence < 1))
        return 0;
    double chance = 1, wanted = (1 - confidence) * (1 + slack);
    uint64_t sample = 0;
    while (chance > wanted && sample < total - bad) {
        chance *= (double)(total - bad - sample) / (double)(total - sample);
        sample++;
    }
    return chance > wanted ? sample + 1 : sample; /* all the good ones and one more hold a bad one */
}

uint64_t discovery_sample_endless(double share, double confidence)
{
    if (!(share > 0 && share < 1) || !(confidence > 0 && confidence < 1))
        return 0;
    return (uint64_t)ceil(log1p(-confidence) / log1p(-share) - slack);
}
