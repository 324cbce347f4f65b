# SPDX-License-Identifier: GPL-3.0-or-later
"""What the cases of fooling have in common: a sample site that was loaded and audited, to be tampered with."""
import csv
import json
import os
import pathlib
import shutil
import subprocess
import tempfile

ROOT = pathlib.Path(__file__).resolve().parents[3]
ASSIZE = os.environ.get('ASSIZE', str(ROOT / 'build/assize'))
REPORT = 'reports/2026-10'


class Tampered:
    """A copy of the audited site. `told` is all that commands said so far, blanks and line ends made one blank."""

    def __init__(self, base, folder):
        shutil.copytree(base, folder)
        self.folder = pathlib.Path(folder)
        self.told = ''
        self.status = None

    def run(self, *words, program=ASSIZE):
        done = subprocess.run([program, *words], cwd=self.folder.parent, capture_output=True, timeout=120)
        said = (done.stdout + done.stderr).decode().replace(str(self.folder), 'SITE')
        self.told += ' '.join(said.split()) + ' '
        self.status = done.returncode
        return self

    def load(self, today='2026-11-05'):
        return self.run('load', str(self.folder), '--today', today)

    def audit(self, *more, today='2026-11-05'):
        return self.run('audit', str(self.folder), '--month', '2026-10', '--today', today, *more)

    def verify(self, *more, report=False):
        words = ['--report', str(self.folder / REPORT)] if report else []
        return self.run('verify', str(self.folder), *words, *more)

    def sql(self, statements):
        subprocess.run(['sqlite3', '-batch', '-bail', str(self.folder / 'assize.db')], input=statements, text=True, check=True,
                       capture_output=True, timeout=60)

    def rows(self, kind):
        with open(self.folder / f'records/{kind}.csv', newline='', encoding='utf-8') as log:
            return list(csv.DictReader(log))

    def write(self, kind, rows):
        with open(self.folder / f'records/{kind}.csv', 'w', newline='', encoding='utf-8') as log:
            writer = csv.DictWriter(log, rows[0].keys(), lineterminator='\n')
            writer.writeheader()
            writer.writerows(rows)

    def change(self, kind, where, **cells):
        """Changes the one row that has the cells of `where`."""
        rows = self.rows(kind)
        found = [row for row in rows if all(row[name] == value for name, value in where.items())]
        assert len(found) == 1, f'{kind}: {len(found)} rows with {where}'
        found[0].update(cells)
        self.write(kind, rows)

    def remove(self, kind, **where):
        rows = self.rows(kind)
        kept = [row for row in rows if any(row[name] != value for name, value in where.items())]
        assert len(kept) == len(rows) - 1, f'{kind}: {len(rows) - len(kept)} rows with {where}'
        self.write(kind, kept)

    def insert(self, kind, place, **cells):
        """A row before the `place`-th, with the cells; the others are empty."""
        rows = self.rows(kind)
        rows.insert(place, {name: '' for name in rows[0]} | cells)
        self.write(kind, rows)

    def append_settings(self, text):
        with open(self.folder / 'site.yaml', 'a', encoding='utf-8') as settings:
            settings.write(text)

    def findings(self, rule):
        report = json.loads((self.folder / REPORT / 'findings.json').read_text(encoding='utf-8'))
        return [finding for finding in report['findings'] if finding['rule'] == rule]


class Bench:
    """Makes the audited site once, and counts what the cases say."""

    def __init__(self):
        self.temporary = tempfile.TemporaryDirectory()
        self.place = pathlib.Path(self.temporary.name)
        self.failed = 0
        shutil.copytree(ROOT / 'sample-site', self.place / 'base',
                        ignore=shutil.ignore_patterns('assize.db*', 'reports'))
        self.base = self.place / 'base'
        first = Tampered(self.base, self.place / 'first').audit(today='2026-11-02')
        assert first.status == 1, first.told
        shutil.rmtree(self.base)
        first.folder.rename(self.base)

    def play(self, name, case):
        site = Tampered(self.base, self.place / 'site')
        try:
            wrong = case(site)
        except (AssertionError, subprocess.SubprocessError, OSError, LookupError) as error:
            wrong = f'{type(error).__name__}: {error}; said {site.told[-400:]!r}'
        print(f'not ok fooled {name}: {wrong}' if wrong else f'ok fooled {name}', flush=True)
        self.failed += bool(wrong)
        shutil.rmtree(self.place / 'site', ignore_errors=True)


def says(site, *texts):
    """What is not said, or None."""
    missing = [text for text in texts if text not in site.told]
    return f'does not say {missing}, but {site.told[-600:]!r}' if missing else None


def finds(site, rule, **fields):
    """None if a finding of the rule has these fields."""
    found = site.findings(rule)
    if any(all(finding[name] == value for name, value in fields.items()) for finding in found):
        return None
    return f'no {rule} with {fields} among {[(f["record"], f["detail"], f["from"], f["tests"][:5], f["state"]) for f in found]}'


def first_of(*wrongs):
    return next((wrong for wrong in wrongs if wrong), None)
