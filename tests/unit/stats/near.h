/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef ASSIZE_TESTS_STATS_NEAR_H
#define ASSIZE_TESTS_STATS_NEAR_H

#include <math.h>
#include <stdbool.h>

/* A published figure has so many digits: half a unit of the last one, and a little for the rounding of a tie. */
static inline bool is_near(double found, double published, double half_a_digit)
{
    return fabs(found - published) <= half_a_digit * 1.000001;
}

static inline bool is_close(double found, double expected, double relative)
{
    return fabs(found - expected) <= relative * fabs(expected);
}

#endif
