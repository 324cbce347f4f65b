# SPDX-License-Identifier: GPL-3.0-or-later
"""Published values that take many steps: run lengths by simulation, and the 5,000 digits of NIST's largest set.

The other published values are in tests/unit/stats. A simulation must meet a published run length within the 99 % interval
that it gives itself; its generator is seeded."""
import math
import sys

from engine import Mismatch, ask, check, compare, listed

NORMAL_995 = 2.5758293035489


def expect_run_lengths(rows, runs, seed):
    """Rows (patterns, shift, published average)."""
    answers = ask([f'run_length {names} {shift} {runs} {seed + i}' for i, (names, shift, _) in enumerate(rows)])
    for (names, shift, published), answer in zip(rows, answers):
        mean, sd = map(float, answer.split())
        reach = NORMAL_995 * sd / math.sqrt(runs)
        if abs(mean - published) > reach + 0.005:  # which is half a unit of the published figure's last digit
            raise Mismatch(f'{names} at {shift}: {mean:.2f} ± {reach:.2f}, published {published}')


@check
def champ_and_woodall():
    """Run lengths of Champ and Woodall's table, rules 1 and 1 with 4, thirteen shifts, by simulation.

    Source: Champ CW, Woodall WH. Technometrics 1987;29:393-9 (in control from memory; all recomputed by exact Markov
    chains). Their rule 1 is 1-3s, rule 4 is 8x; rules 2 and 3 (2 of 3 and 4 of 5 in a row) are not among our patterns."""
    shifts = [0, 0.2, 0.4, 0.6, 0.8, 1.0, 1.2, 1.4, 1.6, 1.8, 2.0, 2.4, 3.0]
    rule_1 = [370.40, 308.43, 200.08, 119.67, 71.55, 43.89, 27.82, 18.25, 12.38, 8.69, 6.30, 3.65, 2.00]
    rules_1_4 = [152.73, 110.52, 59.76, 33.64, 21.07, 14.58, 10.90, 8.60, 7.03, 5.85, 4.89, 3.38, 1.99]
    expect_run_lengths([('1-3s', *row) for row in zip(shifts, rule_1)], 10000, 1987)
    expect_run_lengths([('1-3s,8x', *row) for row in zip(shifts, rules_1_4)], 10000, 19870)


@check
def single_patterns():
    """Run lengths of single patterns in control, by simulation.

    Source: recomputed by exact Markov chains; k in a row on one side take 2^k - 1."""
    expect_run_lengths([('1-3s', 0, 370.40), ('2-2s', 0, 988.03), ('3-1s', 0, 148.22), ('4-1s', 0, 937.35),
                        ('6x', 0, 63), ('8x', 0, 255), ('10x', 0, 1023)], 10000, 1981)
    expect_run_lengths([('12x', 0, 4095)], 2500, 19810)


@check
def combined_patterns():
    """Run lengths of combined patterns on one level, in control and with a shift of 1 and 2 SD, by simulation.

    Source: recomputed by exact Markov chains."""
    table = {'1-3s,2-2s': (278.05, 25.61, 4.07), '1-3s,2-2s,4-1s': (218.58, 16.18, 3.45),
             '1-3s,2-2s,4-1s,10x': (183.00, 13.02, 3.43), '1-3s,2-2s,4-1s,8x': (121.61, 11.18, 3.40)}
    expect_run_lengths([(names, shift, row[shift]) for names, row in table.items() for shift in range(3)], 10000, 2024)


def upper(z):
    return math.erfc(z / math.sqrt(2)) / 2


@check
def single_runs():
    """Single runs of two and three levels are rejected as often as normal probabilities say, by simulation.

    Source: recomputed exactly (for two levels published as about 0.01 in control, from memory): 1-3s/2-2s/R-4s at shifts of
    0 to 4 SD and with the SD multiplied; 2of3-2s in control 2(3p²(1 - p) + p³), p = P(Z > 2)."""
    both, p, runs = '1-3s,2-2s,R-4s', upper(2), 200000
    rows = [(both, 2, 0, 1, .00722), (both, 2, 1, 1, .06387), (both, 2, 1.5, 1, .18770), (both, 2, 2, 1, .40868),
            (both, 2, 2.5, 1, .66851), (both, 2, 3, 1, .86652), (both, 2, 4, 1, .99330), (both, 2, 0, 1.5, .10768),
            (both, 2, 0, 2, .28312), (both, 2, 0, 3, .56916), ('1-3s', 2, 0, 1, .00539), ('1-3s', 2, 2, 1, .29214),
            ('2-2s', 2, 0, 1, .0010351), ('R-4s', 2, 0, 1, .0010351), ('2of3-2s', 3, 0, 1, 2 * (3 * p * p * (1 - p) + p ** 3)),
            ('1-3s', 3, 0, 1, .008078), ('1-3s', 4, 0, 1, .010756)]
    answers = ask([f'rejected {names} {levels} {shift} {spread} {runs} {2002 + i}'
                   for i, (names, levels, shift, spread, _) in enumerate(rows)])
    for (names, levels, shift, spread, chance), answer in zip(rows, answers):
        reach = NORMAL_995 * math.sqrt(chance * (1 - chance) / runs)
        if abs(float(answer) - chance) > reach:
            raise Mismatch(f'{names}, {levels} levels, shift {shift}, spread {spread}: {answer} ± {reach:.6f}, expected {chance}')


def digits_of_pi(count):
    """Machin's formula in whole numbers: pi = 16 arctan(1/5) - 4 arctan(1/239)."""
    sys.set_int_max_str_digits(2 * count)
    one = 10 ** (count + 10)

    def arctan(n):
        term, total, k = one // n, 0, 1
        while term:
            total += term // k if k % 4 == 1 else -(term // k)
            term //= n * n
            k += 2
        return total

    return [int(c) for c in str(16 * arctan(5) - 4 * arctan(239))[:count]]


@check
def digits():
    """Mean and SD of NIST's set PiDigits, 5,000 numbers, have the certified digits.

    Source: NIST StRD, PiDigits, certified values. Number 957 of the file is 3 where pi has 8 (its only difference)."""
    numbers = digits_of_pi(5000)
    if numbers[:6] != [3, 1, 4, 1, 5, 9] or numbers[956] != 8:
        raise Mismatch('these are not the digits of pi')
    numbers[956] = 3
    squares = 2.86733906028871 ** 2 * 4999
    compare([(f'summary {listed(numbers)}', [4.5348, 2.86733906028871, squares, 5])], relative=1e-13)
