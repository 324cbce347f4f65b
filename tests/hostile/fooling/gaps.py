# SPDX-License-Identifier: GPL-3.0-or-later
"""Records that seem to meet a rule because they cannot be judged: each must be told."""
import re

from bench import REPORT, finds, first_of, says


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
    wrong = told(site, 'G1: runs whose method neither they nor the analyzers log tell: tests 111, controls 42', '145 of 299')
    return wrong or says(site.run('trace', str(site.folder), 'T-1823'), 'cannot be vouched for: its method cannot be told')


def a_control_lot_out_of_date(site):
    """controls.lot names the tests of the controls' day; those after it have no other controls."""
    last = '2026-10-16'
    site.write('lots', [row | {'expires_on': '2026-10-15' if row['lot'] == 'GC-4' else row['expires_on']} for row in site.rows('lots')])
    site.write('controls', [row for row in site.rows('controls')
                            if row['analyzer'] != 'G1' or row['performed_at'][:10] <= last])
    later = [row for row in site.rows('tests') if row['analyzer'] == 'G1' and last < row['performed_at'][:10] < '2026-11']
    return told(site, 'a good control on G1, but the control lot was out of date, discarded or not there yet: tests of later days that rest on such controls, '
                f'from {later[0]["performed_at"]} on: {len(later)}')


def a_replacement_over_a_run_left_out(site):
    last = [row for row in site.rows('tests') if row['analyzer'] == 'G1' and row['performed_at'].startswith('2026-10-23')][-1]
    site.remove('tests', test=last['test'])
    site.insert('maintenance', 0, done_at='2026-10-26 07:00', analyzer='G1', event='replacement', operator='OP-1')
    number = int(last['sequence'])
    return told(site, f'G1: replaced by the maintenance log, but its counter goes on from {number - 1} to {number + 1}: '
                'numbers on no log, which records.gap does not judge: 1')


def a_control_lot_without_the_mean_for_its_patterns(site):
    site.change('lots', {'lot': 'HC-7', 'level': 'high'}, mean='', sd='', low='9.7', high='10.7')
    return told(site, 'HC-7 high: the control lot has no mean and sd, so controls.multirule')


def a_control_in_a_unit_that_nobody_knows(site):
    site.change('controls', {'performed_at': '2026-10-20 12:26', 'analyzer': 'A1', 'level': 'high'}, unit='mg/dL')
    return told(site, 'HC-7 high: a control in a unit that the method does not use')


def no_run_has_the_counter(site):
    for kind in ('tests', 'controls'):
        site.write(kind, [{name: cell for name, cell in row.items() if name != 'sequence'} for row in site.rows(kind)])
    return told(site, '429 of 429 runs have no sequence, so records.gap does not judge them')


def a_specimen_of_no_age(site):
    site.change('tests', {'test': 'T-1785'}, collected_at='')
    return told(site, '1 of 299 runs have no collected_at, so results.specimen-age does not judge them')


def logs_put_behind_one_another(site):
    """The second has its columns in another order: by the first header a reported time would be that of the notice."""
    rows = [row for row in site.rows('tests') if row['test'] == 'T-1823']
    site.remove('tests', test='T-1823')
    names = sorted(rows[0])
    with open(site.folder / 'records/tests.csv', 'a', encoding='utf-8') as log:
        log.write(','.join(names) + '\n' + ','.join(rows[0][name] for name in names) + '\n')
    site.audit()
    return first_of(says(site, 'records/tests.csv:898: a header row again; the rows behind it are read by it'),
                    finds(site, 'results.follow-up', tests=['T-1823']), *site.findings('records.withdrawn'))


def a_log_cut_off_before_a_control_was_not_accepted(site):
    log = site.folder / 'records/controls.csv'
    lines = log.read_text(encoding='utf-8').split('\n')
    place = next(number for number, line in enumerate(lines) if line.endswith(',no') or ',no,' in line)
    log.write_text('\n'.join(lines[:place + 1]).rsplit(',no', 1)[0], encoding='utf-8')
    (site.folder / 'assize.db').unlink()
    return says(site.load(), f'records/controls.csv:{place + 1}: the last row has fewer cells than the header, and no line end')


def a_place_that_nobody_reads(site):
    settings = site.folder / 'site.yaml'
    settings.write_text(settings.read_text(encoding='utf-8').replace(', readings_per_open_day: 1', ''), encoding='utf-8')
    site.write('temperatures', [row for row in site.rows('temperatures') if row['place'] != 'supply-fridge'])
    return told(site, 'supply-fridge: it has limits, and no log has a reading of the period')


def a_place_with_one_limit(site):
    settings = site.folder / 'site.yaml'
    settings.write_text(settings.read_text(encoding='utf-8').replace('low: 2, high: 8', 'low: 2'), encoding='utf-8')
    return told(site, 'supply-fridge: it has a low limit only, so no reading is too warm')


def no_places_at_all(site):
    settings = site.folder / 'site.yaml'
    lines = settings.read_text(encoding='utf-8').split('\n')
    settings.write_text('\n'.join(line for line in lines if not line.startswith(('places:', '  - {place:'))), encoding='utf-8')
    return told(site, 'storage: supply-fridge: site.yaml lists no such place')


def humidity_that_nobody_reads(site):
    site.write('temperatures', [row | {'humidity': ''} if row['read_at'] >= '2026-10-29' else row for row in site.rows('temperatures')])
    return told(site, '2 of 21 readings at test-room have no humidity, though site.yaml limits it')


def tests_on_a_day_called_closed(site):
    settings = site.folder / 'site.yaml'
    settings.write_text(settings.read_text(encoding='utf-8').replace('closed_on: [', 'closed_on: [2026-10-08, 2026-10-09, '),
                        encoding='utf-8')
    count = len([row for row in site.rows('tests') if row['performed_at'][:10] in ('2026-10-08', '2026-10-09')])
    return told(site, f'tests run on days that site.yaml calls closed: {count}, such days: 2 (the first: 2026-10-08')


def a_word_where_numbers_have_limits(site):
    method = site.folder / 'methods/glucose-strip.yaml'
    method.write_text(method.read_text(encoding='utf-8') + 'words: [HI, LO]\n', encoding='utf-8')
    site.change('tests', {'test': 'T-1823'}, result='HI')
    return told(site, '1 of 299 runs have no number as their result, so results.follow-up does not judge them (the first: records/tests.csv:823)')


def a_bound_short_of_what_cannot_wait(site):
    method = site.folder / 'methods/glucose-strip.yaml'
    text, count = re.subn(r'(?m)^follow_up:.*$', 'follow_up: {low: 50, high: 700, within_minutes: 30}', method.read_text(encoding='utf-8'))
    assert count == 1
    method.write_text(text, encoding='utf-8')
    site.change('tests', {'test': 'T-1823'}, result='>600')
    return told(site, 'runs have no result that tells the side of the limit (a bound does not), so results.follow-up does not judge them (the '
                      'first: records/tests.csv:823)')


CASES = [an_analyzer_that_nobody_lists, tests_whose_method_nobody_can_tell, a_control_lot_out_of_date,
         a_replacement_over_a_run_left_out, a_control_lot_without_the_mean_for_its_patterns,
         a_control_in_a_unit_that_nobody_knows, no_run_has_the_counter, a_specimen_of_no_age,
         logs_put_behind_one_another, a_log_cut_off_before_a_control_was_not_accepted, a_place_that_nobody_reads,
         a_place_with_one_limit, no_places_at_all, humidity_that_nobody_reads, tests_on_a_day_called_closed, a_word_where_numbers_have_limits,
         a_bound_short_of_what_cannot_wait]
