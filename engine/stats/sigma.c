/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/sigma.h"

#include <math.h>

#include "stats/tails.h"

double sigma_metric(double allowable, double bias, double sd)
{
    return allowable > 0 && sd > 0 ? (allowable - fabs(bias)) / sd : NAN;
}

double critical_shift(double allowable, double bias, double sd) { return sigma_metric(allowable, bias, sd) - 1.65; }

double total_error(double bias, double sd) { return sd >= 0 ? fabs(bias) + 1.65 * sd : NAN; }

double miss_probability(double allowable, double bias, double sd, double shift)
{
    if (!(allowable > 0) || !(sd > 0))
        return NAN;
    double middle = fabs(bias) + shift * sd;
    return normal_upper((allowable - middle) / sd) + normal_lower((-allowable - middle) / sd);
}
