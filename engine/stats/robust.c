/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/robust.h"

#include <math.h>
#include <stdbool.h>

#include "base/memory.h"
#include "stats/descriptive.h"

static double median_deviation(const double *numbers, size_t count, double middle, double *room)
{
    for (size_t i = 0; i < count; i++)
        room[i] = fabs(numbers[i] - middle);
    sort_numbers(room, count);
    return median_of_sorted(room, count);
}

/* One step: true if x* or s* moved. */
static bool iterate(struct robust *at, const double *numbers, size_t count, double *room)
{
    double reach = 1.5 * at->sd;
    for (size_t i = 0; i < count; i++)
        room[i] = fmin(fmax(numbers[i], at->mean - reach), at->mean + reach);
    struct summary brought_in = summary_of(room, count);
    double mean = brought_in.mean, sd = 1.134 * brought_in.sd;
    bool moved = fabs(mean - at->mean) > 1e-13 * fabs(mean) || fabs(sd - at->sd) > 1e-13 * sd;
    at->mean = mean;
    at->sd = sd;
    at->iterations++;
    return moved;
}

struct robust algorithm_a(const double *numbers, size_t count, unsigned iterations_most)
{
    struct robust at = {.mean = median_of(numbers, count), .sd = NAN};
    if (count < 2 || isnan(at.mean))
        return (struct robust){NAN, NAN, 0};
    double *room = memory_resize(NULL, count, sizeof *room);
    at.sd = 1.483 * median_deviation(numbers, count, at.mean, room);
    while (at.sd > 0 && at.iterations < iterations_most && iterate(&at, numbers, count, room))
        continue;
    memory_free(room);
    return at;
}

double robust_uncertainty(double sd, size_t count)
{
    return count > 0 && sd >= 0 ? 1.25 * sd / sqrt((double)count) : NAN;
}

static double score(double difference, double a, double b)
{
    double divisor = hypot(a, b);
    return a >= 0 && b >= 0 && divisor > 0 ? difference / divisor : NAN;
}

double z_score(double result, double assigned, double sd) { return score(result - assigned, sd, 0); }

double z_prime_score(double result, double assigned, double sd, double uncertainty)
{
    return score(result - assigned, sd, uncertainty);
}

double en_score(double result, double assigned, double result_uncertainty, double assigned_uncertainty)
{
    return score(result - assigned, result_uncertainty, assigned_uncertainty);
}
