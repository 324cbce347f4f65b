# SPDX-License-Identifier: GPL-3.0-or-later
"""A site written as its logs: lived day by day, so that the logs grow as real ones do."""
import random

from network import bench, plan

HEADERS = {
    'operators': 'operator,name,role,may_assess,started_on,left_on,note',
    'analyzers': 'analyzer,method,serial,in_service_on,retired_on,note',
    'lots': 'lot,method,use,level,code,mean,sd,low,high,received_on,expires_on,discarded_on,note',
    'openings': 'opened_on,lot,container,operator,note',
    'codes': 'changed_at,analyzer,code,lot,operator,note',
    'tests': 'test,performed_at,analyzer,method,operator,specimen,lot,code,result,unit,collected_at,reported_at,'
             'notified_at,sequence,recorded_at,note',
    'controls': 'performed_at,analyzer,method,operator,control_lot,level,lot,code,result,unit,accepted,sequence,'
                'recorded_at,note',
    'cleaning': 'cleaned_at,analyzer,task,operator,recorded_at,note',
    'training': 'operator,method,event,held_on,assessor,outcome,techniques,note',
    'temperatures': 'read_at,place,celsius,humidity,operator,recorded_at,note',
    'maintenance': 'done_at,analyzer,event,operator,note',
    'comparisons': 'event,sample,analyzer,method,tested_at,operator,result,target,low,high,unit,note',
    'lot_checks': 'checked_at,analyzer,method,old_lot,new_lot,specimen,old_result,new_result,operator,note',
    'procedures': 'procedure,method,revision,effective_on,reviewed_on,reviewed_by,insert_revision,note',
    'actions': 'action,opened_on,finding,analyzer,about,problem,taken,owner,due_on,closed_on,verified_by,note',
}
PLACES = (('supply-fridge', 5.0, 0.6), ('test-room', 21.5, 1.2))
PLACE_OUTSIDE = 0.003


class Site:
    def __init__(self, number, years, sets):
        self.name = f'site-{number:03}'
        self.rng = random.Random(self.name)
        self.logs = {kind: [] for kind in HEADERS}
        self.years = years
        self.days = plan.open_days(years)
        self.people = plan.People(self.rng, number, self.days)
        self.tests = 0
        self.benches = [bench.METHODS[method](self, method, kept) for kept in range(1, sets + 1)
                        for method in plan.METHODS]

    def put(self, kind, *cells):
        self.logs[kind].append(','.join(map(str, cells)))

    def write_down_what_stands(self):
        for person in self.people.log():
            self.put('operators', *person)
        for row in self.people.training():
            self.put('training', *row)
        for method in plan.METHODS:
            self.put('procedures', f'{method}-procedure', method, '2', '2024-03-04', '2024-12-02', 'Dr A. Example', 'rev 3', '')
        for one in self.benches:
            one.write_down_what_stands()

    def live(self, number):
        """The number-th open day, in the order in which its rows are written down."""
        day = str(self.days[number])
        operators = self.people.operators(number)
        tests = []
        for one in self.benches:
            tests += one.live(number, day, operators)
        tests.sort()
        for performed, rest in tests:
            self.tests += 1
            self.logs['tests'].append(f'T-{self.tests:07},{performed},{rest}')
        self.read_temperatures(day, operators)

    def read_temperatures(self, day, operators):
        rng = self.rng
        for time in ('07:05', '17:50'):
            for place, mean, sd in PLACES:
                celsius = mean + max(-2.9, min(2.9, rng.gauss(0, sd)))
                if rng.random() < PLACE_OUTSIDE:
                    celsius = mean + rng.uniform(9, 12)
                self.put('temperatures', f'{day} {time}', place, f'{celsius:.1f}', rng.randint(35, 60), operators[0],
                         f'{day} {time}', '')

    def settings(self):
        closed = ', '.join(map(str, plan.closed_days(self.years)))
        return (f'site: {self.name}\nname: {self.name.capitalize()}\n'
                f'certificate: {{number: "99D{self.rng.randrange(10 ** 7):07}", kind: waiver, issued_on: 2025-01-01, '
                'expires_on: 2027-01-01}\n'
                'director: Dr A. Example\nopen_days: [mon, tue, wed, thu, fri]\n'
                f'closed_on: [{closed}]\nplaces:\n'
                '  - {place: supply-fridge, low: 2, high: 8, readings_per_open_day: 2}\n'
                '  - {place: test-room, low: 15, high: 30, humidity_high: 80, readings_per_open_day: 2}\n'
                'menu: [strip, meter, cassette]\n')


def write(folder, number, years, sets):
    """FOLDER/program/sites/NAME, and what its logs gain on one more day in FOLDER/next-day/NAME."""
    site = Site(number, years, sets)
    site.write_down_what_stands()
    for day in range(len(site.days) - 1):
        site.live(day)
    until_then = {kind: len(rows) for kind, rows in site.logs.items()}
    site.live(len(site.days) - 1)

    place = folder / 'program' / 'sites' / site.name
    more = folder / 'next-day' / site.name
    (place / 'records').mkdir(parents=True)
    more.mkdir(parents=True)
    (place / 'site.yaml').write_text(site.settings())
    for kind, rows in site.logs.items():
        known = until_then[kind]
        (place / 'records' / f'{kind}.csv').write_text('\n'.join([HEADERS[kind], *rows[:known], '']))
        if rows[known:]:
            (more / f'{kind}.csv').write_text('\n'.join([*rows[known:], '']))
