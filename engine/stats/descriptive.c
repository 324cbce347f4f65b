/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/descriptive.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"

/* Means with an error of the order of one rounding: a first mean, plus the mean of what is left over. */
static double mean_of(const double *numbers, size_t count)
{
    double sum = 0, rest = 0;
    for (size_t i = 0; i < count; i++)
        sum += numbers[i];
    double mean = sum / (double)count;
    for (size_t i = 0; i < count; i++)
        rest += numbers[i] - mean;
    return mean + rest / (double)count;
}

struct summary summary_of(const double *numbers, size_t count)
{
    struct summary summary = {.count = count, .mean = NAN, .squares = NAN, .sd = NAN};
    if (count == 0)
        return summary;
    double mean = mean_of(numbers, count), squares = 0;
    for (size_t i = 0; i < count; i++) {
        double difference = numbers[i] - mean;
        squares += difference * difference;
    }
    if (!isfinite(mean))
        return summary;
    summary.mean = mean;
    summary.squares = squares;
    if (count > 1)
        summary.sd = sqrt(squares / (double)(count - 1));
    return summary;
}

double cv_percent(double sd, double mean) { return sd >= 0 && mean != 0 ? 100 * sd / fabs(mean) : NAN; }

double bias_percent(double mean, double assigned) { return assigned != 0 ? 100 * (mean - assigned) / assigned : NAN; }

static int compare_numbers(const void *a, const void *b)
{
    double left = *(const double *)a, right = *(const double *)b;
    return (left > right) - (left < right);
}

void sort_numbers(double *numbers, size_t count)
{
    if (count > 1)
        qsort(numbers, count, sizeof *numbers, compare_numbers);
}

double median_of_sorted(const double *sorted, size_t count)
{
    if (count == 0)
        return NAN;
    size_t middle = count / 2;
    return count % 2 == 1 ? sorted[middle] : sorted[middle - 1] / 2 + sorted[middle] / 2;
}

double median_of(const double *numbers, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (!isfinite(numbers[i]))
            return NAN;
    if (count == 0)
        return NAN;
    double *sorted = memory_resize(NULL, count, sizeof *sorted);
    memcpy(sorted, numbers, count * sizeof *sorted);
    sort_numbers(sorted, count);
    double median = median_of_sorted(sorted, count);
    memory_free(sorted);
    return median;
}
