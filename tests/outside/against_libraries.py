# SPDX-License-Identifier: GPL-3.0-or-later
"""Statistics against SciPy, statsmodels, NumPy and Python's exact fractions, on random inputs.

Both sides claim to be exact, so they must agree to 1e-9 of the value.
"""
import math
import random
import statistics
from fractions import Fraction

import numpy
from scipy import optimize, stats
from statsmodels.stats.proportion import proportion_confint

from engine import Mismatch, ask, check, compare, expect, is_near, listed

TINY = 1e-15  # where an end of an interval is exactly 0 or 1 here and nearly so there


def sample(rng, count, middle=None, spread=None):
    middle = rng.choice([0, 5.7, 120, -40, 1e6]) if middle is None else middle
    spread = rng.choice([0.1, 1, 25]) if spread is None else spread
    return [rng.gauss(middle, spread) for _ in range(count)]


@check
def mean_sd_and_median():
    """Mean, SD, sum of squares and median agree with exact fractions, 2,000 samples.

    Source: Python's statistics module, which computes in rational numbers; numpy.median."""
    rng = random.Random(1)
    cases = []
    for _ in range(2000):
        xs = sample(rng, rng.randint(2, 60))
        exact = [Fraction(x) for x in xs]
        mean = sum(exact) / len(xs)
        squares = sum((x - mean) ** 2 for x in exact)
        cases.append((f'summary {listed(xs)}', [mean, statistics.stdev(xs), squares, numpy.median(xs)]))
    compare(cases, absolute=1e-14)


@check
def normal_distribution():
    """Normal tails and quantiles agree with SciPy, 3,000 values out to 37 SD.

    Source: scipy.stats.norm."""
    rng = random.Random(2)
    cases = []
    for _ in range(1000):
        z, p = rng.uniform(-37, 37), rng.choice([rng.random(), 10 ** rng.uniform(-300, 0)])
        cases += [(f'normal_lower {z!r}', [stats.norm.cdf(z)]), (f'normal_upper {z!r}', [stats.norm.sf(z)]),
                  (f'normal_quantile {p!r}', [stats.norm.ppf(p)])]
    compare(cases, absolute=1e-15)


@check
def student_quantiles():
    """Quantiles of Student's t are those that SciPy's distribution function turns back, 2,000 values.

    Source: scipy.stats.t.cdf (its quantiles have fewer digits: 0.8634501571 for p 0.8027392051166495 and 31 degrees, where
    the closed form for odd degrees gives 0.8634501585)."""
    rng = random.Random(3)
    asked = [(rng.uniform(0.5, 0.9999), rng.choice([rng.randint(1, 40), rng.randint(1, 5000)])) for _ in range(2000)]
    for (p, degrees), t in zip(asked, ask([f'student_quantile {p!r} {degrees}' for p, degrees in asked])):
        back = stats.t.cdf(float(t), degrees)
        expect(abs(back - p) <= 1e-9 * p, f'{p} with {degrees} degrees: {t}, which SciPy turns back into {back}')


def student_quantile(p, degrees):
    """Found on SciPy's distribution function."""
    return optimize.brentq(lambda t: stats.t.cdf(t, degrees) - p, 0, 1000, xtol=1e-13, rtol=1e-14)


@check
def chi_square_tails():
    """Chi-square tails agree with SciPy, 4,000 values, 1 to 5,000 degrees.

    Source: scipy.stats.chi2."""
    rng = random.Random(4)
    cases = []
    for _ in range(2000):
        degrees = rng.choice([rng.randint(1, 40), rng.randint(1, 5000)])
        x = degrees * math.exp(rng.gauss(0, 1.5 / math.sqrt(degrees) + 0.2))
        if stats.chi2.cdf(x, degrees) > 1e-280 and stats.chi2.sf(x, degrees) > 1e-280:
            cases += [(f'chi_square_lower {x!r} {degrees}', [stats.chi2.cdf(x, degrees)]),
                      (f'chi_square_upper {x!r} {degrees}', [stats.chi2.sf(x, degrees)])]
    expect(len(cases) > 3500, f'only {len(cases)} cases')
    compare(cases)


def beta_and_binomial_cases(rng, most):
    cases = []
    for _ in range(1000):
        total = int(10 ** rng.uniform(0, math.log10(most)))
        share = rng.random() ** 3
        count = min(total, max(0, round(rng.gauss(total * share, 2 * math.sqrt(total * share * (1 - share))))))
        if stats.binom.cdf(count, total, share) > 1e-200:
            cases.append((f'binomial_lower {count} {total} {share!r}', [stats.binom.cdf(count, total, share)]))
        a, b = 10 ** rng.uniform(-0.5, math.log10(most / 2)), 10 ** rng.uniform(-0.5, math.log10(most / 2))
        x = min(max(rng.gauss(a / (a + b), 2 * math.sqrt(a * b / (a + b + 1)) / (a + b)), 1e-12), 1 - 1e-12)
        if stats.beta.cdf(x, a, b) > 1e-200:
            cases.append((f'beta_lower {x!r} {a!r} {b!r}', [stats.beta.cdf(x, a, b)]))
    expect(len(cases) > 1800, f'only {len(cases)} cases')
    return cases


@check
def beta_and_binomial_tails():
    """Beta and binomial tails agree with SciPy, 2,000 values up to 100,000 trials.

    Source: scipy.stats.beta, scipy.stats.binom."""
    compare(beta_and_binomial_cases(random.Random(5), 1e5))


@check
def beta_and_binomial_tails_of_many_trials():
    """Beta and binomial tails agree with SciPy to 1e-8, 2,000 values up to a million trials.

    Source: scipy.stats.beta, scipy.stats.binom; both libraries lose digits to large factorials there."""
    compare(beta_and_binomial_cases(random.Random(55), 1e6), relative=1e-8)


def shares(rng):
    """Counts out of totals up to a million, the ends more often than chance would have them."""
    total = int(10 ** rng.uniform(0, 6))
    return rng.choice([0, total, rng.randint(0, total), min(total, rng.randint(0, 12))]), total


@check
def wilson_intervals():
    """Wilson's intervals agree with statsmodels, 2,000 counts up to a million.

    Source: statsmodels proportion_confint, method wilson."""
    rng = random.Random(6)
    cases = []
    for _ in range(2000):
        count, total = shares(rng)
        confidence = rng.choice([0.9, 0.95, 0.99, rng.uniform(0.5, 0.999)])
        there = proportion_confint(count, total, 1 - confidence, 'wilson')
        plain = proportion_confint(count, total, 0.05, 'wilson')
        cases.append((f'wilson {count} {total} {confidence!r}', [*there, *plain]))
    compare(cases, absolute=TINY)


@check
def clopper_pearson_intervals():
    """Clopper-Pearson intervals agree with statsmodels, 2,000 counts up to a million.

    Source: statsmodels proportion_confint, method beta."""
    rng = random.Random(7)
    cases = []
    for _ in range(2000):
        count, total = shares(rng)
        confidence = rng.choice([0.9, 0.95, 0.99, rng.uniform(0.5, 0.999)])
        low, high = proportion_confint(count, total, 1 - confidence, 'beta')
        cases.append((f'clopper_pearson {count} {total} {confidence!r}',
                      [0 if count == 0 else low, 1 if count == total else high]))
    compare(cases, absolute=TINY)


def funnel_limit(share, total, chance):
    r = stats.binom.ppf(chance, total, share)
    return max(r - (stats.binom.cdf(r, total, share) - chance) / stats.binom.pmf(r, total, share), 0) / total


@check
def funnels():
    """Funnel limits agree with SciPy's binomial, 1,000 sizes up to 100,000.

    Source: Spiegelhalter DJ. Stat Med 2005;24:1185-202 (formula from memory) over scipy.stats.binom."""
    rng = random.Random(8)
    cases = []
    for _ in range(1000):
        total, share, tail = int(10 ** rng.uniform(0, 5)), rng.uniform(0.001, 0.999), rng.choice([0.025, 0.001])
        cases.append((f'funnel {share!r} {total} {tail}', [funnel_limit(share, total, tail), funnel_limit(share, total, 1 - tail)]))
    compare(cases, absolute=1e-12)


def least_sample(total, bad, confidence):
    chance, n = Fraction(1), 0
    while chance > 1 - confidence:
        chance *= Fraction(total - bad - n, total - n)
        n += 1
    return n


@check
def discovery_samples():
    """Chances of none and discovery samples agree with SciPy and exact fractions, 1,500 populations.

    Source: scipy.stats.hypergeom; the least sample by search in fractions."""
    rng = random.Random(9)
    cases = []
    for _ in range(1500):
        total = int(10 ** rng.uniform(0, 3))
        bad, sampled = rng.randint(1, max(1, total // rng.choice([1, 5, 20]))), rng.randint(0, total)
        confidence = rng.choice([Fraction(9, 10), Fraction(95, 100), Fraction(99, 100)])
        chance = math.prod([Fraction(total - bad - i, total - i) for i in range(sampled)]) if sampled <= total - bad else 0
        if 0 < chance and chance > Fraction(1, 10 ** 200):
            expect(abs(stats.hypergeom.pmf(0, total, bad, sampled) / float(chance) - 1) < 1e-6, 'SciPy and fractions disagree')
        cases.append((f'sampling {total} {bad} {sampled} {float(confidence)}', [chance, least_sample(total, bad, confidence)]))
    compare(cases, absolute=1e-300)


@check
def mann_whitney_normal():
    """Mann-Whitney, normal with ties and continuity, agrees with SciPy, 2,000 pairs of samples.

    Source: scipy.stats.mannwhitneyu, method asymptotic, use_continuity."""
    rng = random.Random(10)
    cases = []
    for _ in range(2000):
        n1, n2, digits = rng.randint(1, 60), rng.randint(1, 60), rng.choice([0, 1, 1, 6])
        a = [round(x, digits) for x in sample(rng, n1, 6, 1)]
        b = [round(x, digits) for x in sample(rng, n2, rng.choice([6, 6.5, 8]), 1)]
        if len(set(a + b)) > 1:
            there = stats.mannwhitneyu(a, b, alternative='two-sided', method='asymptotic', use_continuity=True)
            cases.append((f'mann_whitney_normal {listed(a)} {listed(b)}', [there.statistic, there.pvalue]))
    compare(cases)


@check
def mann_whitney_exact():
    """Mann-Whitney, exact, agrees with SciPy, 1,000 pairs of samples without ties.

    Source: scipy.stats.mannwhitneyu, method exact."""
    rng = random.Random(11)
    cases = []
    for _ in range(1000):
        a, b = sample(rng, rng.randint(1, 25), 6, 1), sample(rng, rng.randint(1, 25), rng.choice([6, 7]), 1)
        there = stats.mannwhitneyu(a, b, alternative='two-sided', method='exact')
        cases.append((f'mann_whitney_exact {listed(a)} {listed(b)}', [there.statistic, there.pvalue]))
    compare(cases)


def two_methods(rng, count):
    true = [rng.uniform(4, 14) for _ in range(count)]
    slope, intercept, noise = rng.uniform(0.7, 1.4), rng.uniform(-1, 1), rng.choice([0.05, 0.3])
    digits = rng.choice([1, 2, 9])
    return ([round(rng.gauss(t, noise), digits) for t in true],
            [round(rng.gauss(intercept + slope * t, noise), digits) for t in true])


@check
def deming_lines():
    """Deming regression agrees with NumPy's singular vectors, 1,000 pairs of methods.

    Source: total least squares: the first singular vector of the centred data, y scaled by the root of lambda
    (numpy.linalg.svd)."""
    rng = random.Random(12)
    cases = []
    for _ in range(1000):
        x, y = two_methods(rng, rng.randint(5, 60))
        ratio = rng.choice([1, 1, rng.uniform(0.2, 5)])
        centred = numpy.column_stack([numpy.array(x) - numpy.mean(x), (numpy.array(y) - numpy.mean(y)) / math.sqrt(ratio)])
        direction = numpy.linalg.svd(centred)[2][0]
        slope = direction[1] / direction[0] * math.sqrt(ratio)
        cases.append((f'deming {ratio!r} {listed(x)} {listed(y)}', [slope, numpy.mean(y) - slope * numpy.mean(x)]))
    compare(cases, absolute=1e-10)


def passing_bablok(x, y, confidence):
    """By the paper, in fractions; each step on its own, nothing shared with the engine."""
    points = [(Fraction(a), Fraction(b)) for a, b in zip(x, y)]
    slopes = []
    for i, (xi, yi) in enumerate(points):
        for xj, yj in points[:i]:
            if (xi, yi) != (xj, yj) and (yi - yj) != -(xi - xj):
                slopes.append(math.inf if xi == xj else (yi - yj) / (xi - xj))
    slopes.sort()
    n, k = len(slopes), sum(s < -1 for s in slopes)
    slope = slopes[(n + 1) // 2 + k - 1] if n % 2 else (slopes[n // 2 + k - 1] + slopes[n // 2 + k]) / 2
    c = stats.norm.ppf((1 + confidence) / 2) * math.sqrt(len(x) * (len(x) - 1) * (2 * len(x) + 5) / 18)
    m1 = math.floor((n - c) / 2 + 0.5)
    low, high = slopes[m1 + k - 1], slopes[n - m1 + k]
    at = [statistics.median(b - s * a for a, b in points) for s in (slope, high, low)]
    return [slope, at[0], low, high, at[1], at[2]]


@check
def passing_bablok_lines():
    """Passing-Bablok regression agrees with the paper's steps in fractions, 300 pairs of methods.

    Source: Passing H, Bablok W. J Clin Chem Clin Biochem 1983;21:709-20, rendered anew."""
    rng = random.Random(13)
    cases = []
    for _ in range(300):
        x, y = two_methods(rng, rng.randint(12, 30))
        confidence = rng.choice([0.9, 0.95])
        cases.append((f'passing_bablok {confidence} {listed(x)} {listed(y)}', passing_bablok(x, y, confidence)))
    compare(cases, absolute=1e-9)


@check
def theil_sen_slopes():
    """Passing-Bablok without falling pairs agrees with SciPy's Theil-Sen slope, 500 rising lines.

    Source: scipy.stats.theilslopes: with no slope at or below -1 the two medians are one."""
    rng = random.Random(14)
    cases = []
    for _ in range(500):
        count = rng.randint(8, 40)
        x = sorted(rng.uniform(4, 14) for _ in range(count))
        y = [sum(rng.uniform(0.1, 1) for _ in range(i + 1)) + a for i, a in enumerate(x)]
        y.sort()
        slope, _, _, _ = stats.theilslopes(y, x)
        cases.append((f'passing_bablok 0.9 {listed(x)} {listed(y)}', [slope]))
    compare_first(cases)


def compare_first(cases):
    """As compare, for the first answer only."""
    for (line, expected), answer in zip(cases, ask([line for line, _ in cases])):
        if not is_near(float(answer.split()[0]), expected[0], 1e-9, 0):
            raise Mismatch(f'{line[:300]}: engine {answer}, expected {expected}')


@check
def bland_altman_limits():
    """Bland-Altman limits and their intervals agree with NumPy and SciPy, 1,000 pairs of methods.

    Source: numpy.mean, numpy.std, scipy.stats.t.cdf."""
    rng = random.Random(15)
    cases = []
    for _ in range(1000):
        x, y = two_methods(rng, rng.randint(3, 60))
        multiple, confidence = rng.choice([1.96, 2]), rng.choice([0.9, 0.95, 0.99])
        d = numpy.array(x) - numpy.array(y)
        bias, sd, n = numpy.mean(d), numpy.std(d, ddof=1), len(d)
        t = student_quantile((1 + confidence) / 2, n - 1)
        low, high, se, se_limit = bias - multiple * sd, bias + multiple * sd, sd / math.sqrt(n), math.sqrt(3 * sd * sd / n)
        cases.append((f'bland_altman {multiple} {confidence} {listed(x)} {listed(y)}',
                      [bias, sd, low, high, bias - t * se, bias + t * se, low - t * se_limit, low + t * se_limit,
                       high - t * se_limit, high + t * se_limit]))
    compare(cases, absolute=1e-12)


def algorithm_a(xs):
    xs = numpy.array(xs)
    mean = numpy.median(xs)
    sd = 1.483 * numpy.median(abs(xs - mean))
    before = None
    while before is None or abs(sd - before) > 1e-13 * sd:
        before = sd
        clipped = numpy.clip(xs, mean - 1.5 * sd, mean + 1.5 * sd)
        mean, sd = clipped.mean(), 1.134 * clipped.std(ddof=1)
    return [mean, sd]


@check
def robust_means():
    """Algorithm A agrees with NumPy's rendering of its steps, 100 samples with wild values.

    Source: ISO 13528 Annex C (from memory), with numpy.median, numpy.clip and numpy.std."""
    rng = random.Random(16)
    cases = []
    for _ in range(100):
        xs = sample(rng, rng.randint(5, 40), 6, 0.3) + [rng.uniform(0, 30) for _ in range(rng.randint(0, 3))]
        cases.append((f'algorithm_a {listed(xs)}', algorithm_a(xs)))
    compare(cases)


@check
def chances_of_a_miss():
    """The chance that a result misses its limit agrees with SciPy, 1,000 methods.

    Source: scipy.stats.norm."""
    rng = random.Random(17)
    cases = []
    for _ in range(1000):
        allowable, bias, sd, shift = rng.uniform(3, 20), rng.uniform(-4, 4), rng.uniform(0.5, 5), rng.uniform(0, 4)
        middle = abs(bias) + shift * sd
        chance = stats.norm.sf(allowable, middle, sd) + stats.norm.cdf(-allowable, middle, sd)
        cases.append((f'miss_probability {allowable!r} {bias!r} {sd!r} {shift!r}', [chance]))
    compare(cases)
