# SPDX-License-Identifier: GPL-3.0-or-later
"""Records that seem to meet a rule because they cannot be judged: each must be told."""
from bench import REPORT, first_of, says


def told(site, *texts):
    """By the audit and on its page."""
    wrong = says(site.audit(), *texts)
    page = (site.folder / REPORT / 'findings.html').read_text(encoding='utf-8')
    return wrong or next((f'the page does not say: {text}' for text in texts if text not in page), None)


def an_analyzer_that_nobody_lists(site):
    """A repair after which controls are asked for, and a proficiency sample that failed."""
    repair = {'done_at': '2026-10-21 12:00', 'analyzer': 'A-1', 'event': 'repair', 'operator': 'OP-1'}
    site.insert('maintenance', 0, **repair)
    site.insert('maintenance', 1, **(repair | {'done_at': '2026-10-21 12:05'}))
    site.insert('comparisons', 0, event='R3', sample='1', analyzer='A1', method='hba1c', tested_at='2026-10-12 12:10',
                operator='OP-1', result='7.2', target='5.2', unit='%')
    wrong = told(site, 'records/maintenance.csv:2: A-1: the analyzers log has no such analyzer',
                 'records/comparisons.csv:2: hba1c: there is no file of such a method')
    return wrong or ('told twice' if site.told.count('A-1: the analyzers log') != 1 else None)


def tests_whose_method_nobody_can_tell(site):
    """They are judged by next to nothing, and must not count as vouched for."""
    for kind in ('tests', 'controls'):
        site.write(kind, [row | {'method': '' if row['analyzer'] == 'G1' else row['method']} for row in site.rows(kind)])
    site.remove('analyzers', analyzer='G1')
    return told(site, 'G1: runs without method, and the analyzers log does not tell which: 111 tests, 42 controls',
                '145 of 299')


CASES = [an_analyzer_that_nobody_lists, tests_whose_method_nobody_can_tell]
