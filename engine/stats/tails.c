/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/tails.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include "base/memory.h"

static const double degrees_most = 1e6, shape_most = 1e8;

void tails_give_nan(void) { gsl_set_error_handler_off(); }

double normal_lower(double z) { return isnan(z) ? NAN : gsl_cdf_ugaussian_P(z); }

double normal_upper(double z) { return isnan(z) ? NAN : gsl_cdf_ugaussian_Q(z); }

double normal_quantile(double p) { return p > 0 && p < 1 ? gsl_cdf_ugaussian_Pinv(p) : NAN; }

static bool is_degrees(double degrees) { return degrees > 0 && degrees <= degrees_most; }

double student_quantile(double p, double degrees)
{
    return p > 0 && p < 1 && is_degrees(degrees) ? gsl_cdf_tdist_Pinv(p, degrees) : NAN;
}

double chi_square_lower(double x, double degrees)
{
    if (isnan(x) || !is_degrees(degrees))
        return NAN;
    return x == INFINITY ? 1 : gsl_cdf_chisq_P(x, degrees);
}

double chi_square_upper(double x, double degrees)
{
    if (isnan(x) || !is_degrees(degrees))
        return NAN;
    return x == INFINITY ? 0 : gsl_cdf_chisq_Q(x, degrees);
}

static bool is_shape(double shape) { return shape > 0 && shape <= shape_most; }

double beta_lower(double x, double a, double b)
{
    if (isnan(x) || !is_shape(a) || !is_shape(b))
        return NAN;
    return gsl_cdf_beta_P(x, a, b);
}

double binomial_lower(double count, double total, double share)
{
    if (!(share >= 0 && share <= 1) || !(total >= 0 && total <= shape_most) || isnan(count))
        return NAN;
    count = floor(count);
    if (count < 0)
        return 0;
    if (count >= total)
        return 1;
    return gsl_cdf_beta_Q(share, count + 1, total - count);
}

double binomial_upper(double count, double total, double share)
{
    return count > 0 ? beta_lower(share, count, total - count + 1) : 1;
}

/* ---- Mann-Whitney ---- */

struct ranked {
    double number;
    bool first; /* of the first sample */
};

struct ranking {
    double u;         /* of the first sample */
    double tie_cubes; /* Σ(t³ - t) over groups of t equal numbers */
};

static int compare_ranked(const void *a, const void *b)
{
    double left = ((const struct ranked *)a)->number, right = ((const struct ranked *)b)->number;
    return (left > right) - (left < right);
}

static bool put_ranked(struct ranked *to, const double *numbers, size_t count, bool first)
{
    bool finite = true;
    for (size_t i = 0; i < count; i++) {
        to[i] = (struct ranked){numbers[i], first};
        finite = finite && isfinite(numbers[i]);
    }
    return finite;
}

static struct ranking rank_groups(const struct ranked *all, size_t count, size_t first_count)
{
    double rank_sum = 0, tie_cubes = 0;
    for (size_t from = 0, end; from < count; from = end) {
        size_t of_first = 0;
        for (end = from; end < count && all[end].number == all[from].number; end++)
            of_first += all[end].first;
        double size = (double)(end - from);
        rank_sum += (double)of_first * ((double)from + (size + 1) / 2); /* tied numbers share their mean rank */
        tie_cubes += size * size * size - size;
    }
    double n1 = (double)first_count;
    return (struct ranking){.u = rank_sum - n1 * (n1 + 1) / 2, .tie_cubes = tie_cubes};
}

/* False if a sample is empty or a number is not finite. */
static bool rank_samples(const double *first, size_t first_count, const double *second, size_t second_count,
                         struct ranking *out)
{
    if (first_count == 0 || second_count == 0)
        return false;
    size_t count = first_count + second_count;
    struct ranked *all = memory_resize(NULL, count, sizeof *all);
    bool finite = put_ranked(all, first, first_count, true);
    finite = put_ranked(all + first_count, second, second_count, false) && finite;
    if (finite) {
        qsort(all, count, sizeof *all, compare_ranked);
        *out = rank_groups(all, count, first_count);
    }
    memory_free(all);
    return finite;
}

static double rank_deviation(double n1, double n2, double tie_cubes)
{
    double n = n1 + n2;
    return sqrt(fmax(n1 * n2 / 12 * (n + 1 - tie_cubes / (n * (n - 1))), 0));
}

struct mann_whitney mann_whitney_normal(const double *first, size_t first_count, const double *second,
                                        size_t second_count)
{
    struct ranking ranking;
    if (!rank_samples(first, first_count, second, second_count, &ranking))
        return (struct mann_whitney){NAN, NAN, NAN};
    double n1 = (double)first_count, n2 = (double)second_count;
    double away = ranking.u - n1 * n2 / 2, corrected = fmax(fabs(away) - 0.5, 0);
    double deviation = rank_deviation(n1, n2, ranking.tie_cubes);
    double z = corrected > 0 && deviation > 0 ? copysign(corrected / deviation, away) : 0;
    return (struct mann_whitney){.u = ranking.u, .z = z, .p = 2 * normal_upper(fabs(z))};
}

/* ways[u]: in how many orders of n1 and n2 different numbers the first sample has this U. It is the coefficient of q^u
 * in the Gaussian binomial Π (1 - q^(n2 + i))/(1 - q^i), i = 1..n1. All are whole numbers below 2^53, as 25 of 50 is,
 * so the sums and differences are exact. */
static void count_orders(double *ways, size_t n1, size_t n2)
{
    size_t most = n1 * n2;
    for (size_t u = 0; u <= most; u++)
        ways[u] = u == 0;
    for (size_t i = 1; i <= n1; i++) {
        for (size_t u = most; u >= n2 + i; u--)
            ways[u] -= ways[u - (n2 + i)];
        for (size_t u = i; u <= most; u++)
            ways[u] += ways[u - i];
    }
}

static double exact_two_sided(double u, size_t n1, size_t n2)
{
    size_t most = n1 * n2;
    double *ways = memory_resize(NULL, most + 1, sizeof *ways);
    count_orders(ways, n1, n2);
    double all = 0, tail = 0, low = fmin(u, (double)most - u);
    for (size_t i = 0; i <= most; i++) {
        all += ways[i];
        tail += (double)i <= low ? ways[i] : 0;
    }
    memory_free(ways);
    return fmin(2 * tail / all, 1);
}

struct mann_whitney mann_whitney_exact(const double *first, size_t first_count, const double *second,
                                       size_t second_count)
{
    struct ranking ranking;
    bool few = first_count <= MANN_WHITNEY_EXACT_MOST && second_count <= MANN_WHITNEY_EXACT_MOST;
    if (!few || !rank_samples(first, first_count, second, second_count, &ranking) || ranking.tie_cubes > 0)
        return (struct mann_whitney){NAN, NAN, NAN};
    double n1 = (double)first_count, n2 = (double)second_count;
    return (struct mann_whitney){
        .u = ranking.u,
        .z = (ranking.u - n1 * n2 / 2) / rank_deviation(n1, n2, 0),
        .p = exact_two_sided(ranking.u, first_count, second_count),
    };
}
