# SPDX-License-Identifier: GPL-3.0-or-later
"""The multirule against a second rendering of its definitions, which looks at whole windows instead of counting along."""
import random
from collections import defaultdict

from engine import check, same

ROWS = {'1-3s': (1, 3), '2-2s': (2, 2), '3-1s': (3, 1), '4-1s': (4, 1), '6x': (6, 0), '8x': (8, 0), '10x': (10, 0), '12x': (12, 0)}
CHAINS = ('4-1s', '6x', '8x', '10x', '12x')
ORDER = [*ROWS, 'R-4s', '2of3-2s']


def one_side(zs, limit):
    return all(z > limit for z in zs) or all(z < -limit for z in zs)


def within(controls, levels, chosen):
    for level in range(levels):
        series, lot = [], None
        for place, (its_level, _, its_lot, z) in enumerate(controls):
            if its_level != level:
                continue
            series = series if its_lot == lot else []
            lot = its_lot
            series.append((place, z))
            for name in chosen:
                if name in ROWS:
                    length, limit = ROWS[name]
                    hits = [len(w) == length and one_side([z for _, z in w], limit)
                            for w in (series[max(0, len(series) - length - back):len(series) - back] for back in (0, 1))]
                    if hits[0]:
                        yield place, 0, name, series[-length][0], not hits[1]


def day_sets(controls):
    """The sets in order: lists of places."""
    seen, sets = defaultdict(int), defaultdict(list)
    for place, (level, day, _, _) in enumerate(controls):
        seen[day, level] += 1
        sets[day, seen[day, level]].append(place)
    return [sets[key] for key in sorted(sets)]


def chains(controls):
    """The sets, cut where a level's control lot changes."""
    lots, out = {}, [[]]
    for members in day_sets(controls):
        if any(lots.get(controls[p][0], controls[p][2]) != controls[p][2] for p in members):
            out.append([])
        lots.update({controls[p][0]: controls[p][2] for p in members})
        out[-1].append(members)
    return out


def completes(name, chain, at, controls, levels):
    """The first control of the pattern that set `at` of the chain completes, or None."""
    zs = [controls[p][3] for p in chain[at]]
    two = sum(z > 2 for z in zs) > 1 or sum(z < -2 for z in zs) > 1
    if name == 'R-4s':
        return chain[at][0] if max(zs) > 2 and min(zs) < -2 else None
    if name == '2-2s':
        return chain[at][0] if two else None
    if name == '2of3-2s':
        return chain[at][0] if two and levels == 3 == len(zs) else None
    length, limit = ROWS[name]
    count = length // levels
    window = chain[max(0, at - count + 1):at + 1]
    if name not in CHAINS or length % levels or len(window) < count or any(len(s) < levels for s in window):
        return None
    return window[0][0] if one_side([controls[p][3] for s in window for p in s], limit) else None


def across(controls, levels, chosen):
    for chain in chains(controls) if levels > 1 else []:
        for at in range(len(chain)):
            for name in chosen:
                first = completes(name, chain, at, controls, levels)
                if first is not None:
                    begins = at == 0 or completes(name, chain, at - 1, controls, levels) is None
                    yield chain[at][-1], 1, name, first, begins


def told(controls, levels, chosen):
    hits = sorted([*within(controls, levels, chosen), *across(controls, levels, chosen)],
                  key=lambda hit: (hit[0], hit[1], ORDER.index(hit[2])))
    return ' '.join(f'{place}:{name}:{("within", "across")[form]}:{first}:{int(begins)}'
                    for place, form, name, first, begins in hits)


def history(rng, levels):
    """Controls of some weeks: drifts, wide days, values on limits, missed levels, repeats, changes of lot."""
    controls, lots, middle = [], [1] * levels, 0.0
    for day in range(rng.randint(1, 30)):
        middle = rng.choice([middle, middle, middle, rng.uniform(-2.5, 2.5)])
        for _ in range(rng.choice([1, 1, 1, 2])):
            for level in range(levels):
                if rng.random() < 0.03:
                    lots[level] += 1
                z = rng.choice([round(rng.gauss(middle, 1), 1), float(rng.randint(-3, 3)), rng.choice([-2.5, 2.5])]
                               if rng.random() < 0.5 else [round(rng.gauss(middle, 0.5), 1)])
                if rng.random() > 0.08:
                    controls.append((level, day, lots[level], z))
        if rng.random() < 0.2:  # controls of one day need not come level by level
            today = [c for c in controls if c[1] == day]
            rng.shuffle(today)
            controls = [c for c in controls if c[1] != day] + today
    return controls


@check
def two_renderings():
    """The multirule completes the same patterns as a second rendering of its definitions, 3,000 histories.

    Source: Westgard JO et al. Clin Chem 1981;27:493-501 (patterns from memory); sets, chains and streaks by our own rules."""
    rng = random.Random(31)
    cases, hits = [], 0
    for _ in range(3000):
        levels = rng.choice([1, 2, 2, 2, 3, 3, 4])
        controls = history(rng, levels)
        chosen = ORDER if rng.random() < 0.3 else rng.sample(ORDER, rng.randint(1, 5))
        line = ' '.join(f'{level} {day} {lot} {z!r}' for level, day, lot, z in controls)
        expected = told(controls, levels, chosen)
        hits += len(expected.split())
        cases.append((f'multirule {levels} {",".join(chosen)} {len(controls)} {line}', expected))
    assert hits > 10000, hits
    same(cases)
