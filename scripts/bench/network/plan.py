# SPDX-License-Identifier: GPL-3.0-or-later
"""What is known of a site before its days are lived: open days, people and their training, analyzers, lots."""
import datetime
from dataclasses import dataclass

FIRST = datetime.date(2025, 1, 1)
HOLIDAYS = {(1, 1), (7, 4), (12, 25), (12, 26)}
METHODS = ('strip', 'meter', 'cassette')

# Gaps, as chances: together about one failing event in a hundred tests.
LOT_EXPIRES_IN_USE = 0.06
NEWCOMER_UNTRAINED = 0.2
ASSESSED_LATE = 0.03
ASSESSMENT_FAILED = 0.01


def days_later(day, count):
    return day + datetime.timedelta(days=count)


def closed_days(years):
    return [datetime.date(year, *day) for year in range(FIRST.year, FIRST.year + years + 1) for day in sorted(HOLIDAYS)]


def open_days(years):
    """Monday to Friday but holidays, and one day more."""
    days, day = [], FIRST
    while True:
        if day.weekday() < 5 and (day.month, day.day) not in HOLIDAYS:
            days.append(day)
            if day.year == FIRST.year + years:
                return days
        day = days_later(day, 1)


@dataclass
class Lot:
    lot: str
    code: str
    first_use: int      # number of the open day
    received_on: datetime.date
    expires_on: datetime.date


def reagent_lots(rng, letter, days, coded):
    """One after the other, each in use for about sixty open days."""
    lots, first, code = [], 0, 0
    while first < len(days):
        last = first + rng.randint(55, 66)
        code = (code + rng.randint(1, 88)) % 89 + 10 if coded else 0
        last_day = days[min(last, len(days)) - 1]
        expires = days_later(last_day, rng.randint(30, 240))
        if first and rng.random() < LOT_EXPIRES_IN_USE:
            expires = days_later(last_day, -rng.randint(1, 3))
        received = days_later(days[first], -rng.randint(4, 20))
        if not first:
            received = days_later(days[0], -rng.randint(30, 60))
        lots.append(Lot(f'{letter}{len(lots) + 1:02}{rng.randint(10, 99)}', str(code or ''), first, received, expires))
        first = last
    return lots


def control_lots(rng, letter, days):
    """Each in use for about half a year."""
    lots, first = [], 0
    while first < len(days):
        last = first + rng.randint(120, 135)
        lots.append(Lot(f'C{letter}{len(lots) + 1}{rng.randint(10, 99)}', '', first, days_later(days[first], -30),
                        days_later(days[min(last, len(days)) - 1], rng.randint(40, 200))))
        first = last
    return lots


@dataclass
class Person:
    operator: str
    first_day: int      # number of the open day from which they test


class People:
    """Five operators; at some sites the fifth comes in the course of the year and tests before being trained."""

    def __init__(self, rng, site_number, days):
        self.rng, self.days = rng, days
        self.people = [Person(f'n{site_number:03}-{letter}', 0) for letter in 'abcde']
        self.newcomer = rng.random() < NEWCOMER_UNTRAINED and len(days) > 200
        if self.newcomer:
            self.people[4].first_day = rng.randint(100, 180)

    def operators(self, number):
        return [person.operator for person in self.people if person.first_day <= number]

    def log(self):
        for person in self.people:
            started = days_later(self.days[person.first_day], -2 if person.first_day else -700)
            may_assess = 'yes' if person.operator[-1] in 'ab' else 'no'
            yield person.operator, f'Nurse {person.operator[-1].upper()}.', 'nurse', may_assess, started, '', ''

    def training(self):
        for person in self.people:
            assessor = self.people[1 if person is self.people[0] else 0].operator
            for method in METHODS:
                for event, day, outcome in self._events(person):
                    yield (person.operator, method, event, day, assessor, outcome, 'observation;written', '')

    def _events(self, person):
        held = days_later(self.days[0], -self.rng.randint(10, 300))
        if person.first_day:
            held = self.days[person.first_day + 2]
        event = 'initial'
        while held <= self.days[-1]:
            failed = event == 'competency' and self.rng.random() < ASSESSMENT_FAILED
            yield event, held, 'fail' if failed else 'pass'
            if failed:
                held = days_later(held, 3)
                yield 'retraining', held, 'pass'
            late = self.rng.random() < ASSESSED_LATE
            held = days_later(held, self.rng.randint(366, 371) if late else self.rng.randint(330, 360))
            event = 'competency'
