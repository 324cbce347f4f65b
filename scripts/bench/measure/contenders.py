# SPDX-License-Identifier: GPL-3.0-or-later
"""Who is measured: each contender loads the same files and judges by the same checks, each as a process of its own."""
import json
import sqlite3

from measure import process
from measure.network_made import HERE

CHECKS = ('analyzer.run-time', 'cleaning.daily', 'controls.failed-then-tested', 'controls.frequency', 'environment.range',
          'lots.code-match', 'lots.expired', 'people.competency', 'people.trained', 'results.follow-up',
          'results.reportable', 'results.specimen-age')
KINDS = ('operators', 'analyzers', 'lots', 'openings', 'codes', 'tests', 'controls', 'cleaning', 'training',
         'temperatures', 'maintenance', 'comparisons', 'lot_checks', 'procedures', 'actions')
LOADED_ON = '2027-01-04'


class Differ(Exception):
    """Contenders that do not answer alike."""


def counts_of(output):
    """Lines of a word and a number, those of the twelve checks."""
    pairs = (line.split() for line in output.splitlines())
    return {pair[0]: int(pair[1]) for pair in pairs if len(pair) == 2 and pair[0] in CHECKS}


def rows_of(database):
    with sqlite3.connect(f'file:{database}?mode=ro', uri=True) as handle:
        return {kind: handle.execute(f'SELECT count(*) FROM "{kind}"').fetchone()[0] for kind in KINDS}


class Bench:
    def __init__(self, build, data, packages):
        self.build, self.data, self.packages = build, data, packages
        self.store = data.program / 'assize.db'
        self.imported, self.duck, self.bare = (data.folder / name for name in ('import.db', 'duck.db', 'floor.db'))

    def _run(self, *command, stdin=None, statuses=(0,)):
        return process.run(self.build / 'bench/took', command, self.data.program, stdin, statuses)

    @staticmethod
    def _remove(database):
        for file in database.parent.glob(database.name + '*'):
            file.unlink()

    # ---- loading ----

    def load(self):
        self._remove(self.store)
        return self.load_again()

    def load_again(self):
        return self._run(self.build / 'assize', 'load', '.', '--today', LOADED_ON)

    def load_next_day(self):
        """The logs grow by a day, and are as before afterwards; the store is not."""
        grown = []
        for more in sorted(self.data.next_day.glob('*/*.csv')):
            log = self.data.program / 'sites' / more.parent.name / 'records' / more.name
            grown.append((log, log.stat().st_size))
            with open(log, 'ab') as file:
                file.write(more.read_bytes())
        taken = self.load_again()
        for log, size in grown:
            with open(log, 'ab') as file:
                file.truncate(size)
        return taken

    def sqlite_load(self):
        self._remove(self.imported)
        return self._run('sqlite3', '-bail', self.imported, stdin=HERE / 'sqlite/load.sql')

    def duckdb_load(self):
        self._remove(self.duck)
        return self._duckdb('load.sql')

    def floor_load(self):
        self._remove(self.bare)
        return self._run(self.build / 'bench/floor', '.', self.bare)

    # ---- judging ----

    def judge(self, which='all', threads=0, first_day=None):
        return self._run(self.build / 'bench/judge', '.', self.build / 'rules', first_day or self.data.first_day,
                         self.data.last_day, which, threads)

    def judge_month(self):
        return self.judge(first_day=self.data.last_day[:8] + '01')

    def audit(self):
        return self._run(self.build / 'assize', 'audit', '.', '--from', self.data.first_day, '--to', self.data.last_day,
                         '--today', LOADED_ON, '--out', self.data.folder / 'reports', statuses=(0, 1))

    def sqlite_checks(self):
        return self._run('sqlite3', '-bail', self.imported, stdin=HERE / 'sqlite/checks.sql')

    def duckdb_checks(self):
        return self._duckdb('checks.sql')

    def _duckdb(self, file):
        return self._run('node', HERE / 'duckdb/run.mjs', self.packages, self.duck, HERE / 'duckdb' / file)

    # ---- the same answers ----

    def _audit_counts(self):
        counts = dict.fromkeys(CHECKS, 0)
        for rule in json.loads((self.data.folder / 'reports/findings.json').read_text())['rules']:
            if rule['rule'] in counts:
                counts[rule['rule']] += rule['judged'] - rule['met']
        return counts

    def _duckdb_rows(self):
        question = self.data.folder / 'rows.sql'
        question.write_text(';\n'.join(f"SELECT '{kind}', count(*) FROM {kind}" for kind in KINDS))
        output = self._run('node', HERE / 'duckdb/run.mjs', self.packages, self.duck, question).output
        return {line.split()[0]: int(line.split()[1]) for line in output.splitlines()}

    def compare(self):
        """The rows of each kind and the failing events of each check; raises Differ if contenders do not say the same."""
        self.load(), self.sqlite_load(), self.duckdb_load(), self.floor_load()
        self.audit()
        rows = {'assize': rows_of(self.store), 'sqlite3': rows_of(self.imported), 'DuckDB': self._duckdb_rows(),
                'floor': rows_of(self.bare)}
        counts = {'assize audit': self._audit_counts(), 'assize judge': counts_of(self.judge().output),
                  'sqlite3': counts_of(self.sqlite_checks().output), 'DuckDB': counts_of(self.duckdb_checks().output)}
        for answers in (rows, counts):
            if any(answer != answers['sqlite3'] for answer in answers.values()):
                raise Differ('\n'.join(['the answers differ:', *(f'{name}: {answer}' for name, answer in answers.items())]))
        if len(counts['sqlite3']) != len(CHECKS) or sum(counts['sqlite3'].values()) == 0:
            raise Differ(f'not twelve checks, or none that found anything: {counts["sqlite3"]}')
        return rows['sqlite3'], counts['sqlite3']
