# SPDX-License-Identifier: GPL-3.0-or-later
"""Where a finding means that patients may have been given wrong results, the text asks for a review by the laboratory director; no
text of rules, pages or commands names a diagnosis or says how to treat anyone. The rules' texts are read from the catalogue,
which another check holds against the rule files.

    cautions.py ASSIZE"""
import pathlib
import re
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parents[2]
# What belongs to the practitioner alone: names of illnesses, of what is done about them, and what a patient has or must do.
CLINICAL = re.compile(
    r'\b(diagnos\w+|diseas\w+|diabet\w+|(hypo|hyper)glyc\w+|an(a)?emi[ac]\w*|illness\w*|sick\w*|infected|symptom\w*|prognos\w+|'
    r'therap\w+|treatment\w*|treat (the|a|this) patient\w*|medicat\w+|medicine\w*|insulin|dos(e|es|age)|prescri\w+|'
    r'the patient (is|has|suffers|should|must|needs)\b(?! still there))', re.I)
CAUTION = 'clinical review'


def catalogue():
    """Of each rule: its severities and its remedy."""
    text = (ROOT / 'docs/catalogue.md').read_text(encoding='utf-8')
    for part in text.split('\n### ')[1:]:
        severity = re.search(r'^- Severity: (.*)$', part, re.M)[1]
        yield part.split('\n')[0], severity, re.search(r'^- What to do: (.*)$', part, re.M)[1]


def names_tests(rule):
    """Whether one of its examples has a finding with affected tests."""
    source = (ROOT / 'rules' / f'{rule.replace(".", "/", 1)}.lua').read_text(encoding='utf-8')
    return re.search(r'finds = \{ *\{[^}]*tests = \{ "', source) is not None


def asks_for_review(remedy):
    return re.search(r'laboratory director (reviews|decides)', remedy) is not None


def rules_without_review():
    found = list(catalogue())
    at_risk = [rule for rule, severity, _ in found if 'at-risk' in severity]
    assert len(at_risk) >= 19, f'only {len(at_risk)} at-risk rules in the catalogue'
    return [f'{rule} ({severity}): {remedy}' for rule, severity, remedy in found if not asks_for_review(remedy)
            and ('at-risk' in severity or ('breach' in severity and names_tests(rule)))]


def texts():
    """What people may read: rule files, strings of the engine, pages of docs/, the example methods."""
    for path in sorted(ROOT.glob('rules/**/*.lua')):
        yield path, path.read_text(encoding='utf-8')
    for path in sorted(ROOT.glob('engine/**/*.c')) + sorted(ROOT.glob('engine/**/*.def')):
        yield path, '\n'.join(re.findall(r'"((?:[^"\\\n]|\\.)*)"', path.read_text(encoding='utf-8')))
    for pattern in ('docs/guides/*.md', 'docs/catalogue.md', 'docs/starter/*', 'sample-site/**/*.yaml', 'sample-site/README.md'):
        for path in sorted(ROOT.glob(pattern)):
            yield path, path.read_text(encoding='utf-8')


def clinical_words():
    return [f'{path.relative_to(ROOT)}: {match[0]!r}' for path, text in texts() for match in CLINICAL.finditer(text)]


def pages_without_caution(assize):
    with tempfile.TemporaryDirectory() as folder:
        site = pathlib.Path(folder) / 'site'
        subprocess.run(['cp', '-r', ROOT / 'sample-site', site], check=True)
        done = subprocess.run([assize, 'audit', site, '--month', '2026-10', '--today', '2026-11-02', '--out', f'{folder}/out'],
                              capture_output=True, text=True, timeout=120)
        told = {'audit, in the terminal': done.stdout}
        for words in (['fixlist'], ['summary'], ['trace', 'T-1727']):
            done = subprocess.run([assize, words[0], site, *words[1:]], capture_output=True, text=True, timeout=120)
            told[' '.join(words)] = done.stdout
        pages = {str(path.relative_to(f'{folder}/out')): path.read_text(encoding='utf-8')
                 for path in sorted(pathlib.Path(folder, 'out').rglob('*.html'))}
    assert len(pages) == 3, f'pages: {sorted(pages)}'
    return [name for name, text in (told | pages).items() if CAUTION not in ' '.join(text.split())]


bad = False
for name, wrong in (
        ('where results are in doubt the laboratory director is asked', rules_without_review()),
        ('no text names a diagnosis or a treatment', clinical_words()),
        ('whatever people read asks for a clinical review', pages_without_caution(sys.argv[1]))):
    print(f'not ok {name}: {"; ".join(wrong)}' if wrong else f'ok {name}')
    bad = bad or bool(wrong)
sys.exit(bad)
