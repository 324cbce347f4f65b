# SPDX-License-Identifier: GPL-3.0-or-later
"""Facts of the trade against the program itself: small folders are written, audited, and the findings compared."""
import csv
import datetime
import json
import re
import subprocess
import tempfile
from decimal import Decimal
from pathlib import Path

from engine import ASSIZE, ROOT, check, expect

METHODS = ROOT / 'sample-site/methods'
LIMITS = ROOT / 'rules/data/acceptance-limits.csv'


def limits():
    with LIMITS.open(newline='', encoding='utf-8') as file:
        return {row['analyte']: row for row in csv.DictReader(file)}


def allowable_error(row):
    """As a method file writes it."""
    return ', '.join(f'{key}: {row[key]}' for key in ('absolute', 'percent') if row[key])


def findings(folder, rule):
    """The findings of one rule, of October 2026."""
    out = Path(folder, 'out')
    command = [ASSIZE, 'audit', folder, '--month', '2026-10', '--today', '2026-11-01', '--out', out]
    run = subprocess.run(command, capture_output=True, text=True)
    expect(run.returncode in (0, 1), f'audit ended with {run.returncode}: {run.stderr}')
    audit = json.loads(Path(out, 'findings.json').read_text())
    judged = {row['site']: row['judged'] for row in audit['rules'] if row['rule'] == rule}
    return [finding for finding in audit['findings'] if finding['rule'] == rule], judged


# Source: 42 CFR 493.37(e)(1): a certificate of waiver is valid for no more than two years. Each row: issued, last day that
# may be written on it; the day after may not.
CERTIFICATES = [('2025-03-01', '2027-03-01'), ('2024-02-29', '2026-02-28'), ('2026-02-28', '2028-02-28'),
                ('2026-03-01', '2028-03-01'), ('2025-12-31', '2027-12-31'), ('2025-01-01', '2027-01-01')]


@check
def certificates():
    """A certificate is good for two years and not a day more, also over 29 February.

    Source: 42 CFR 493.37(e)(1)."""
    with tempfile.TemporaryDirectory() as folder:
        Path(folder, 'program.yaml').write_text('program: terms\n')
        too_long = set()
        for number, (issued, last) in enumerate(CERTIFICATES):
            for extra in (-1, 0, 1):
                site = f'site-{number}-{extra + 1}'
                expires = datetime.date.fromisoformat(last) + datetime.timedelta(extra)
                Path(folder, 'sites', site, 'records').mkdir(parents=True)
                Path(folder, 'sites', site, 'site.yaml').write_text(
                    f'site: {site}\ncertificate: {{number: "99D0000000", kind: waiver, issued_on: {issued}, expires_on: {expires}}}\n')
                if extra > 0:
                    too_long.add(site)
        found, judged = findings(folder, 'site.certificate-term')
        expect(sum(judged.values()) == 3 * len(CERTIFICATES), f'judged: {judged}')
        expect({finding['site'] for finding in found} == too_long, f'found {sorted(f["site"] for f in found)}')


# Source: 42 CFR part 493 subpart I as amended by 87 FR 41194 (limits: see rules/data; targets and limits recomputed).
# Analyte, target, lowest and highest acceptable result.
WORKED = [('Hemoglobin A1c', '6.5', '5.98', '7.02'), ('Hemoglobin A1c', '9.0', '8.28', '9.72'), ('Glucose', '50', '44', '56'),
          ('Glucose', '75', '69', '81'), ('Glucose', '100', '92', '108'), ('Creatinine', '1.0', '0.8', '1.2'),
          ('Creatinine', '3.0', '2.7', '3.3'), ('HDL cholesterol', '25', '19', '31'), ('HDL cholesterol', '40', '32', '48'),
          ('Hemoglobin', '12.0', '11.52', '12.48'), ('Prothrombin time (seconds or INR)', '2.5', '2.125', '2.875'),
          ('Blood lead', '10', '8', '12'), ('Cholesterol, total', '200', '180', '220')]
STEP = Decimal('0.001')


def write_comparisons(folder):
    """A method an analyte, by the limits of the data file; an event a sample. Returns the events that are not acceptable."""
    analytes = list(dict.fromkeys(row[0] for row in WORKED))
    Path(folder, 'methods').mkdir()
    Path(folder, 'records').mkdir()
    Path(folder, 'site.yaml').write_text('site: worked-limits\n')
    analyzers, comparisons, bad = ['analyzer,method,in_service_on'], ['event,sample,analyzer,tested_at,operator,result,target'], set()
    for number, analyte in enumerate(analytes):
        row = limits()[analyte]
        Path(folder, 'methods', f'method-{number}.yaml').write_text(
            f'method: method-{number}\nwaived: true\nunit: "{row["unit"] or "%"}"\nallowable_error: {{{allowable_error(row)}}}\n')
        analyzers.append(f'A{number},method-{number},2020-01-01')
    for number, (analyte, target, low, high) in enumerate(WORKED):
        results = [(low, True), (high, True), (Decimal(low) - STEP, False), (Decimal(high) + STEP, False), (target, True)]
        for sample, (result, good) in enumerate(results):
            event = f'{number}-{sample}'
            comparisons.append(f'{event},1,A{analytes.index(analyte)},2026-10-05 10:00,OP-1,{result},{target}')
            if not good:
                bad.add(event)
    Path(folder, 'records/analyzers.csv').write_text('\n'.join(analyzers) + '\n')
    Path(folder, 'records/comparisons.csv').write_text('\n'.join(comparisons) + '\n')
    return bad


@check
def worked_limits():
    """Worked acceptance limits: a result on the limit is acceptable, a thousandth beyond it is not.

    Source: 42 CFR part 493 subpart I as amended by 87 FR 41194 (most limits from memory, see rules/data)."""
    with tempfile.TemporaryDirectory() as folder:
        bad = write_comparisons(folder)
        found, judged = findings(folder, 'comparison.acceptance')
        expect(judged.get('worked-limits') == 5 * len(WORKED), f'judged: {judged}')
        found = {finding['record'] for finding in found}
        expect(found == bad, f'wrongly found {sorted(found - bad)}, not found {sorted(bad - found)}')


def method_key(method, key):
    found = re.search(rf'^{key}: *\{{?([^}}#\n]*)', (METHODS / f'{method}.yaml').read_text(), re.M)
    return found[1].strip() if found else None


# Each example method with an allowable error, and its row of the data file.
ANALYTES = {'hba1c-strip': 'Hemoglobin A1c', 'glucose-strip': 'Glucose', 'hemoglobin-cuvette': 'Hemoglobin',
            'inr-strip': 'Prothrombin time (seconds or INR)'}


@check
def allowable_errors_of_the_example_methods():
    """The example methods have the allowable errors of the data file, and say so in a comment.

    Source: rules/data/acceptance-limits.csv."""
    with_error = {path.stem for path in METHODS.glob('*.yaml') if method_key(path.stem, 'allowable_error')}
    expect(with_error == set(ANALYTES), f'methods with an allowable error: {sorted(with_error)}')
    for method, analyte in ANALYTES.items():
        row, text = limits()[analyte], (METHODS / f'{method}.yaml').read_text()
        expect(method_key(method, 'allowable_error') == allowable_error(row), f'{method}: {method_key(method, "allowable_error")}')
        if row['absolute']:
            expect(method_key(method, 'unit') == f'"{row["unit"]}"', f'{method}: unit {method_key(method, "unit")}')
        comment = re.search(r'^# (.*)\nallowable_error:', text, re.M)
        expect(comment, f'{method}: no comment above allowable_error')
        for word in ('rules/data/acceptance-limits.csv', row['section'], row['in_force_from'], row['source']):
            expect(word in comment[1], f'{method}: the comment does not name {word}')
        expect(('from memory' in comment[1]) == (row['mark'] == 'from memory'), f'{method}: from memory or not?')


@check
def data_file():
    """Each row of the acceptance limits says a limit, a section, a day and a source.

    Source: the layout of rules/data/README.md."""
    for analyte, row in limits().items():
        expect(row['percent'] or row['absolute'], f'{analyte}: no limit')
        expect(bool(row['absolute']) == bool(row['unit']), f'{analyte}: an absolute limit and its unit belong together')
        expect(all(Decimal(row[key]) > 0 for key in ('percent', 'absolute') if row[key]), f'{analyte}: a limit above 0')
        expect(re.fullmatch(r'42 CFR 493\.9\d\d', row['section']), f'{analyte}: {row["section"]}')
        expect(datetime.date.fromisoformat(row['in_force_from']).year >= 2024, f'{analyte}: {row["in_force_from"]}')
        expect(row['source'] and row['mark'] in ('', 'from memory'), f'{analyte}: source and mark')


@check
def run_time_of_a_strip_test():
    """The run time of the example HbA1c strip is the sum of its timed steps.

    Source: common practice, no source: 10 s + 130 s + 130 s."""
    expect(method_key('hba1c-strip', 'run_seconds') == str(10 + 130 + 130), f'run_seconds: {method_key("hba1c-strip", "run_seconds")}')
