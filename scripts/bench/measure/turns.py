# SPDX-License-Identifier: GPL-3.0-or-later
"""The contenders in turn, round by round, and the median of each."""
import os
from dataclasses import dataclass, field
from statistics import median


@dataclass
class Results:
    rounds: int
    wall: dict = field(default_factory=dict)
    processor: dict = field(default_factory=dict)
    megabytes: dict = field(default_factory=dict)
    sizes: dict = field(default_factory=dict)       # bytes of a database
    load_before: float = 0
    load_after: float = 0


def take(bench, rounds):
    loads = {'load': bench.load, 'load again': bench.load_again, 'load next day': bench.load_next_day,
             'sqlite3 load': bench.sqlite_load, 'DuckDB load': bench.duckdb_load, 'floor load': bench.floor_load}
    checks = {'judge': bench.judge, 'sqlite3 checks': bench.sqlite_checks, 'DuckDB checks': bench.duckdb_checks,
              'audit': bench.audit, 'judge month': bench.judge_month,
              'judge, 1 thread': lambda: bench.judge(threads=1), 'judge, 2 threads': lambda: bench.judge(threads=2),
              'run rules': lambda: bench.judge('run', 1), 'no rules': lambda: bench.judge('none', 1)}
    results = Results(rounds, load_before=os.getloadavg()[0])
    _rounds(results, loads, rounds)
    bench.load()    # the store as it is without the next day
    results.sizes = {'assize': bench.store.stat().st_size, 'sqlite3': bench.imported.stat().st_size,
                     'DuckDB': bench.duck.stat().st_size, 'floor': bench.bare.stat().st_size}
    _rounds(results, checks, rounds)
    results.load_after = os.getloadavg()[0]
    return results


def _rounds(results, contenders, rounds):
    taken = {name: [] for name in contenders}
    for _ in range(rounds):
        for name, run in contenders.items():
            taken[name].append(run())
    for name, all_taken in taken.items():
        results.wall[name] = median(one.wall for one in all_taken)
        results.processor[name] = median(one.processor for one in all_taken)
        results.megabytes[name] = max(one.megabytes for one in all_taken)
