# SPDX-License-Identifier: GPL-3.0-or-later
"""What was measured as Markdown: what each contender took, then the ratios beside what they must and what they should be."""
import os
import platform
import subprocess
from collections import namedtuple

# A ratio of two contenders; `least`: it must be at least `must`, else at most. None: not asked for at this size.
# Threads save no processor time: only the wall counts there.
Ratio = namedtuple('Ratio', 'case over under must aim least wall_only', defaults=(False,))

TAKEN = (
    ('load', 'assize, fresh load'),
    ('load again', 'assize, the unchanged folder loaded again'),
    ('load next day', 'assize, one more day at every site'),
    ('sqlite3 load', "sqlite3, `.import` with keys and index"),
    ('DuckDB load', 'DuckDB, read flat'),
    ('floor load', 'bare C floor'),
    ('judge', 'assize, full rulebook, whole period'),
    ('judge, 1 thread', '… with one thread'),
    ('judge, 2 threads', '… with two threads'),
    ('judge month', '… its last month only'),
    ('audit', 'assize, full audit with all reports'),
    ('sqlite3 checks', 'sqlite3, twelve checks'),
    ('DuckDB checks', 'DuckDB, twelve checks'),
)


def ratios(size):
    """One site says how small can be, it is not held to anything."""
    return [ratio._replace(must=None, aim=None) if size == 'S' else ratio for ratio in _ratios_asked_for(size)]


def _ratios_asked_for(size):
    duck = {'L': (1, 1.5)}.get(size, (1.5, 2.5))
    return (
        Ratio('fresh load against `.import`', 'sqlite3 load', 'load', 2.5, 4, True),
        Ratio('fresh load against DuckDB', 'DuckDB load', 'load', *duck, True),
        Ratio('fresh load against the bare C floor', 'floor load', 'load', None, None, True),
        Ratio('full rulebook against twelve checks in sqlite3', 'sqlite3 checks', 'judge', 10, 20, True),
        Ratio('full rulebook against twelve checks in DuckDB', 'DuckDB checks', 'judge', 1.5, 2.8, True),
        Ratio('full audit with all reports against twelve checks in sqlite3', 'sqlite3 checks', 'audit', 6, 12, True),
        Ratio("one month's audit against the whole period's", 'judge month', 'judge', 0.5, 0.2, False),
        Ratio('unchanged folder again against fresh load', 'load', 'load again', 6, 8, True),
        Ratio('one more day against fresh load', 'load', 'load next day', 3, 4, True),
        Ratio('two threads against one', 'judge, 1 thread', 'judge, 2 threads', 1.6, 1.85, True, True),
    )


def lines(size, bench, answers, results):
    rows, counts = answers
    sites = '1 site' if size == 'S' else f'{rows["analyzers"] // 3} sites'
    yield f'### {size}: {sites}, {bench.data.first_day} to {bench.data.last_day}'
    yield ''
    yield (f'{rows["tests"]:,} tests, {sum(rows.values()):,} rows, {bench.data.bytes_of_logs() / 1e6:,.0f} MB of logs, '
           f'{sum(counts.values()):,} failing events of the twelve checks, the same for all contenders. '
           f'Whole processes in turn, medians of {results.rounds} rounds; peak memory is the greatest.')
    yield ''
    yield from _machine(results)
    yield ''
    yield from _taken(results)
    yield ''
    yield from _ratios(size, results)
    yield from _limits(size, bench, rows, results)


def _first_line(*command):
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout.split('\n')[0]


def _machine(results):
    with open('/proc/cpuinfo', encoding='ascii') as file:
        model = next((line.split(':')[1].strip() for line in file if line.startswith('model name')), platform.machine())
    cores = os.cpu_count()
    yield (f'{cores} processors ({model}); sqlite3 {_first_line("sqlite3", "--version").split()[0]}, '
           f'DuckDB 1.5.6, Python {platform.python_version()}. Load average {results.load_before:.1f} before, '
           f'{results.load_after:.1f} after (the measured processes themselves make 1 to 2).')
    if max(results.load_before, results.load_after) > cores + 1:
        yield 'The machine was busy with other work: wall times are stretched, go by processor time.'


def _taken(results):
    yield '| | wall, s | processor, s | peak, MB |'
    yield '| --- | ---: | ---: | ---: |'
    for name, words in TAKEN:
        yield f'| {words} | {results.wall[name]:.2f} | {results.processor[name]:.2f} | {results.megabytes[name]:.0f} |'


def _verdict(value, must, aim, least):
    if must is None:
        return ''
    reaches = (lambda limit: value >= limit) if least else (lambda limit: value <= limit)
    return 'aim' if reaches(aim) else 'must' if reaches(must) else 'missed'


def _limit(value):
    return '' if value is None else f'{value:g}'


def _ratios(size, results):
    yield '| | must | aim | by wall time | | by processor time | |'
    yield '| --- | ---: | ---: | ---: | --- | ---: | --- |'
    for ratio in ratios(size):
        wall = results.wall[ratio.over] / results.wall[ratio.under]
        processor = results.processor[ratio.over] / results.processor[ratio.under]
        by_processor = f'{processor:.2f} | {_verdict(processor, *ratio[3:6])}' if not ratio.wall_only else '|'
        yield (f'| {ratio.case} | {_limit(ratio.must)} | {_limit(ratio.aim)} '
               f'| {wall:.2f} | {_verdict(wall, *ratio[3:6])} | {by_processor} |')


def _limits(size, bench, rows, results):
    """What is no ratio of two times."""
    facts = dict(line.split() for line in bench.judge('run', 1).output.splitlines()[:2])
    seconds = results.processor['run rules'] - results.processor['no rules']
    nanoseconds = seconds * 1e9 / (int(facts['rules']) * int(facts['runs']))
    of_store = results.sizes['assize'] / results.sizes['sqlite3']
    nothing = (None, None)
    held = (lambda *limits: limits if size != 'S' else nothing)
    memory = {'L': ((250, 170), (200, 80))}.get(size, (nothing, nothing))
    for case, value, must, aim in (
            (f'a run rule, by run, mean of {facts["rules"]}, ns', nanoseconds, *held(50, 25)),
            ("the store's size against `.import`'s", of_store, *held(0.8, 0.5)),
            ('peak memory of the load, MB', results.megabytes['load'], *memory[0]),
            ('peak memory of the audit with reports, MB', results.megabytes['audit'], *memory[1])):
        yield (f'| {case} | {_limit(must)} | {_limit(aim)} | {value:.{2 if value < 10 else 0}f} '
               f'| {_verdict(value, must, aim, False)} | | |')
