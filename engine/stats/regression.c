/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/regression.h"

#include <math.h>
#include <stdbool.h>

#include "base/memory.h"
#include "stats/descriptive.h"
#include "stats/tails.h"

static const struct interval unknown_interval = {NAN, NAN};

static bool are_finite(const double *numbers, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (!isfinite(numbers[i]))
            return false;
    return true;
}

static double products(const double *x, const double *y, size_t count, double x_mean, double y_mean)
{
    double sum = 0;
    for (size_t i = 0; i < count; i++)
        sum += (x[i] - x_mean) * (y[i] - y_mean);
    return sum;
}

struct line deming(const double *x, const double *y, size_t count, double lambda)
{
    struct summary xs = summary_of(x, count), ys = summary_of(y, count);
    double sxy = products(x, y, count, xs.mean, ys.mean), away = ys.squares - lambda * xs.squares;
    if (count < 2 || !(lambda > 0) || !(fabs(sxy) > 0))
        return (struct line){NAN, NAN};
    double root = sqrt(away * away + 4 * lambda * sxy * sxy);
    /* of the two forms of the same root, the one that does not take a difference of nearly equal numbers */
    double slope = away >= 0 ? (away + root) / (2 * sxy) : 2 * lambda * sxy / (root - away);
    return (struct line){.slope = slope, .intercept = ys.mean - slope * xs.mean};
}

/* ---- Passing-Bablok ---- */

/* The slopes that count, in rising order; owned by the caller. */
static double *slopes_of(const double *x, const double *y, size_t count, struct passing_bablok *out)
{
    double *slopes = memory_resize(NULL, count * (count - 1) / 2, sizeof *slopes);
    for (size_t i = 0; i < count; i++)
        for (size_t j = i + 1; j < count; j++) {
            double dx = x[j] - x[i], dy = y[j] - y[i];
            if ((dx == 0 && dy == 0) || dy == -dx)
                continue;
            slopes[out->slopes++] = dx == 0 ? INFINITY : dy / dx;
            out->offset += dx != 0 && dy / dx < -1;
        }
    sort_numbers(slopes, out->slopes);
    return slopes;
}

static double median_intercept(const double *x, const double *y, size_t count, double slope)
{
    if (!isfinite(slope))
        return NAN;
    double *rest = memory_resize(NULL, count, sizeof *rest);
    for (size_t i = 0; i < count; i++)
        rest[i] = y[i] - slope * x[i];
    sort_numbers(rest, count);
    double median = median_of_sorted(rest, count);
    memory_free(rest);
    return median;
}

/* The slope of a rank counted from 1, or NaN if there is no such rank. */
static double slope_at(const double *slopes, size_t count, double rank)
{
    return rank >= 1 && rank <= (double)count ? slopes[(size_t)rank - 1] : NAN;
}

static double shifted_median(const double *slopes, size_t count, double offset)
{
    size_t half = count / 2;
    double middle = (double)half + offset;
    double upper = slope_at(slopes, count, middle + 1);
    return count % 2 == 1 ? upper : (slope_at(slopes, count, middle) + upper) / 2;
}

static struct interval slope_interval(const double *slopes, size_t slope_count, double offset, double n,
                                      double confidence)
{
    double c = -normal_quantile((1 - confidence) / 2) * sqrt(n * (n - 1) * (2 * n + 5) / 18);
    double first = round(((double)slope_count - c) / 2), last = (double)slope_count - first + 1;
    if (first < 1)
        return unknown_interval;
    return (struct interval){slope_at(slopes, slope_count, first + offset),
                             slope_at(slopes, slope_count, last + offset)};
}

struct passing_bablok passing_bablok(const double *x, const double *y, size_t count, double confidence)
{
    struct passing_bablok out = {{NAN, NAN}, unknown_interval, unknown_interval, 0, 0};
    bool good = count >= 3 && count <= PASSING_BABLOK_MOST && confidence > 0 && confidence < 1;
    if (!good || !are_finite(x, count) || !are_finite(y, count))
        return out;
    double *slopes = slopes_of(x, y, count, &out), offset = (double)out.offset;
    out.line.slope = shifted_median(slopes, out.slopes, offset);
    out.slope = slope_interval(slopes, out.slopes, offset, (double)count, confidence);
    memory_free(slopes);
    out.line.intercept = median_intercept(x, y, count, out.line.slope);
    out.intercept.low = median_intercept(x, y, count, out.slope.high);
    out.intercept.high = median_intercept(x, y, count, out.slope.low);
    return out;
}

/* ---- Bland-Altman ---- */

static struct interval around(double middle, double half) { return (struct interval){middle - half, middle + half}; }

struct agreement bland_altman(const double *x, const double *y, size_t count, double multiple, double confidence)
{
    struct agreement out = {NAN, NAN, unknown_interval, unknown_interval, unknown_interval, unknown_interval};
    if (count < 2 || !(confidence > 0 && confidence < 1))
        return out;
    double *differences = memory_resize(NULL, count, sizeof *differences);
    for (size_t i = 0; i < count; i++)
        differences[i] = x[i] - y[i];
    struct summary summary = summary_of(differences, count);
    memory_free(differences);
    double n = (double)count, t = student_quantile((1 + confidence) / 2, n - 1), sd = summary.sd;
    out.bias = summary.mean;
    out.sd = sd;
    out.limits = around(out.bias, multiple * sd);
    out.bias_interval = around(out.bias, t * sd / sqrt(n));
    out.low_interval = around(out.limits.low, t * sqrt(3 * sd * sd / n));
    out.high_interval = around(out.limits.high, t * sqrt(3 * sd * sd / n));
    return out;
}
