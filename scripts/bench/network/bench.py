# SPDX-License-Identifier: GPL-3.0-or-later
"""An analyzer, or a reading bench, and its days: supplies, controls, tests, cleaning, and now and then a gap."""
from network import plan

# Gaps, as chances.
OLD_CODE_KEPT = 0.1         # at a change of lot: for two days
CONTROLS_FORGOTTEN = 0.002  # on an analyzer's day
CONTROL_REPEATED = 0.01     # failed, then good: no gap
CONTROL_LEFT_FAILED = 0.002
CLEANING_FORGOTTEN = 0.003
CLEANED_EARLY = 0.003
RESULT_MISWRITTEN = 0.0005
RESULT_TO_TELL = 0.006
NOT_TOLD = 0.07
SPECIMEN_OLD = 0.0006
RUN_TOO_SOON = 0.0006

OPENS, CLOSES = 8 * 3600 + 1800, 17 * 3600
MINUTES = [f'{minute // 60:02}:{minute % 60:02}' for minute in range(1440)]


class Bench:
    """What all three have in common. Times are seconds of the day."""
    writes_seconds = True
    counts = True           # keeps a counter of its runs
    coded = False
    run_seconds = 0
    specimen_seconds = 300  # from the specimen to the start of a run
    limit_minutes = 0       # within which a result must be told

    def __init__(self, site, method, number):
        self.site, self.rng, self.method = site, site.rng, method
        letter = method[0].upper()
        self.analyzer = f'{letter}{number}'
        self.kept = number
        self.lots = plan.reagent_lots(self.rng, letter + ('' if number == 1 else str(number)), site.days, self.coded)
        self.control_lots = plan.control_lots(self.rng, letter + ('' if number == 1 else str(number)), site.days)
        self.lot = self.control_lot = self.old_lot = None
        self.code = ''
        self.code_due_on = None     # number of the day on which the code is entered
        self.sequence = 0
        self.checked_clock = self.weekly = None

    # ---- what stands ----

    def write_down_what_stands(self):
        put, days = self.site.put, self.site.days
        put('analyzers', self.analyzer, self.method, f'SN-{self.rng.randint(10000, 99999)}', '2024-01-08', '', '')
        for lot in self.lots:
            put('lots', lot.lot, self.method, 'reagent', '', lot.code, '', '', '', '', lot.received_on, lot.expires_on, '', '')
        for lot in self.control_lots:
            for level, mean, sd, low, high in self.limits:
                put('lots', lot.lot, self.method, 'control', level, '', mean, sd, low, high, lot.received_on,
                    lot.expires_on, '', '')
        if self.is_cleaned_weekly:
            at = f'{plan.days_later(days[0], -2)} 17:00'
            put('cleaning', at, self.analyzer, 'weekly', self.site.people.operators(0)[0], at, '')
        for round_ in range(2 * self.site.years + 1):
            day = plan.days_later(days[0], 100 + 180 * round_)
            for sample in range(1, 6):
                if day <= days[-2]:
                    put('comparisons', f'round-{round_ + 1}-{self.method}', sample, self.analyzer, self.method,
                        f'{day} 18:1{sample}', self.site.people.operators(0)[0], *self.compared(sample))

    # ---- a day ----

    def time(self, day, second):
        text = f'{day} {MINUTES[second // 60]}'
        return f'{text}:{second % 60:02}' if self.writes_seconds else text

    def count(self):
        if not self.counts:
            return ''
        self.sequence += 1
        return self.sequence

    def live(self, number, day, operators):
        """The rows go into the site's logs; those of the tests are returned as (performed_at, the cells behind it)."""
        self.keep_supplies(number, day, operators)
        self.keep_up(number, day, operators)
        new_lots = number in (self.lot.first_use, self.control_lot.first_use)
        self.run_controls(day, self.rng.choice(operators), new_lots)
        tests, last = self.run_tests(day, operators)
        self.clean(number, day, last, self.rng.choice(operators))
        return tests

    def keep_supplies(self, number, day, operators):
        put = self.site.put
        for lot in self.control_lots:
            if lot.first_use == number:
                self.control_lot = lot
        for lot in self.lots:
            if lot.first_use == number:
                self.old_lot, self.lot = self.lot, lot
                put('openings', day, lot.lot, 1, operators[0], '')
                self.compare_lots(day, operators[0])
                kept = self.old_lot and self.rng.random() < OLD_CODE_KEPT
                self.code_due_on = number + (2 if kept else 0)
        if self.coded and self.code_due_on == number:
            self.code = self.lot.code
            put('codes', f'{day} 07:10', self.analyzer, self.code, self.lot.lot, operators[0], '')

    def compare_lots(self, day, operator):
        if not self.old_lot or not self.is_lot_checked:
            return
        for specimen in range(1, 4):
            old = self.plain_result()
            self.site.put('lot_checks', f'{day} 07:2{specimen}', self.analyzer, self.method, self.old_lot.lot,
                          self.lot.lot, f'V-{self.lot.lot}-{specimen}', old, old, operator, '')

    def keep_up(self, number, day, operators):
        if self.run_seconds and (self.checked_clock is None or number - self.checked_clock >= 55):
            self.checked_clock = number
            self.site.put('maintenance', f'{day} 06:50', self.analyzer, 'clock-check', operators[0], '')

    # ---- controls ----

    def run_controls(self, day, operator, new_lots):
        if not (self.is_controlled_daily or new_lots) or (not new_lots and self.rng.random() < CONTROLS_FORGOTTEN):
            return
        second = 7 * 3600 + 1800 + self.rng.randint(0, 200)
        luck = self.rng.random()
        bad = self.rng.randrange(2) if luck < CONTROL_REPEATED + CONTROL_LEFT_FAILED else None
        for place in range(2):
            self.run_control(day, second, operator, place, place != bad)
            second += 400
        if bad is None:
            return
        if luck < CONTROL_REPEATED:
            self.run_control(day, second, operator, bad, True)
        elif self.rng.random() < 0.5:
            self.site.put('actions', f'CA-{day}-{self.analyzer}', day, '', self.analyzer, 'controls',
                          'a control was out', 'cleaned the analyzer', operator, day, day, 'Dr A. Example', '')

    def run_control(self, day, second, operator, place, good):
        level = self.limits[place][0]
        performed = self.time(day, second)
        self.site.put('controls', performed, self.analyzer, self.method, operator, self.control_lot.lot, level,
                      self.lot.lot, self.code, self.control_result(place, good), self.unit, 'yes' if good else 'no',
                      self.count(), performed, '')

    # ---- tests ----

    def run_tests(self, day, operators):
        rng, tests = self.rng, []
        wanted = self.tests_a_day + (self.method == 'meter' and rng.random() < 0.5)
        slot = (CLOSES - OPENS) // wanted
        second = OPENS
        for place in range(wanted):
            before, second = second, OPENS + place * slot + rng.randrange(slot - 600)
            if place and rng.random() < RUN_TOO_SOON:
                second = before + max(self.run_seconds // 2, 1)
            tests.append(self.test(day, second, rng.choice(operators)))
        return tests, second

    def test(self, day, second, operator):
        rng = self.rng
        result, told = self.patient_result()
        collected = second - self.run_seconds - rng.randrange(60, self.specimen_seconds - 60)
        if rng.random() < SPECIMEN_OLD:
            collected -= rng.randrange(self.specimen_seconds, 3600)
        notified = ''
        if told and rng.random() >= NOT_TOLD:
            notified = f'{day} {MINUTES[second // 60 + rng.randint(1, self.limit_minutes - 1)]}'
        performed = self.time(day, second)
        reported = f'{day} {MINUTES[second // 60 + rng.randint(1, 20)]}'
        specimen = f'P-{rng.randrange(10 ** 7):07}'
        return (performed,
                f'{self.analyzer},{self.method},{operator},{specimen},{self.lot.lot},{self.code},{result},{self.unit},'
                f'{day} {MINUTES[collected // 60]},{reported},{notified},{self.count()},{reported},')

    # ---- cleaning ----

    def clean(self, number, day, last, operator):
        luck = self.rng.random()
        if luck < CLEANING_FORGOTTEN:
            return
        early = luck < CLEANING_FORGOTTEN + CLEANED_EARLY
        at = f'{day} {MINUTES[(last - 3600) // 60 if early else 17 * 60 + self.rng.randint(20, 40)]}'
        self.site.put('cleaning', at, self.analyzer, 'daily', operator, at, '')
        if self.is_cleaned_weekly and (self.weekly is None or number - self.weekly >= 3):
            self.weekly = number
            self.site.put('cleaning', at, self.analyzer, 'weekly', operator, at, '')


class Strip(Bench):
    unit, coded, run_seconds, limit_minutes, tests_a_day = '%', True, 270, 60, 8
    is_controlled_daily = is_lot_checked = is_cleaned_weekly = True
    limits = (('low', '5.6', '0.2', '', ''), ('high', '10.4', '0.3', '', ''))

    def control_result(self, place, good):
        mean, sd = float(self.limits[place][1]), float(self.limits[place][2])
        z = max(-1.9, min(1.9, self.rng.gauss(0, 0.95)))
        return f'{mean + (z if good else 3.5) * sd:.1f}'

    def plain_result(self):
        return f'{max(4.3, min(13.8, self.rng.gauss(6.6, 1.3))):.1f}'

    def patient_result(self):
        luck = self.rng.random()
        if luck < RESULT_MISWRITTEN:
            return ('3.9', '15.2', '<4.0', 'high')[int(luck * 1e6) % 4], False
        if luck < RESULT_MISWRITTEN + RESULT_TO_TELL:
            return ('14.0', '14.3', '14.6', '>14.6')[int(luck * 1e6) % 4], True
        return self.plain_result(), False

    def compared(self, sample):
        return f'{5 + sample}.0', f'{5 + sample}.1', '', '', '%', ''


class Meter(Bench):
    unit, run_seconds, limit_minutes, tests_a_day = 'mg/dL', 8, 15, 9
    is_controlled_daily = is_lot_checked = True
    is_cleaned_weekly = False
    limits = (('low', '60', '2.5', '50', '70'), ('high', '250', '10', '225', '275'))

    def control_result(self, place, good):
        mean, sd = float(self.limits[place][1]), float(self.limits[place][2])
        z = max(-1.9, min(1.9, self.rng.gauss(0, 0.95)))
        return round(mean + (z if good else 5) * sd)

    def plain_result(self):
        return str(round(max(60, min(390, self.rng.gauss(130, 40)))))

    def patient_result(self):
        luck = self.rng.random()
        if luck < RESULT_MISWRITTEN:
            return ('15', '640', '<15', 'HI')[int(luck * 1e6) % 4], False
        if luck < RESULT_MISWRITTEN + RESULT_TO_TELL:
            return ('42', '50', '455', '>600')[int(luck * 1e6) % 4], True
        return self.plain_result(), False

    def compared(self, sample):
        return f'{100 + 20 * sample}', f'{102 + 20 * sample}', '', '', 'mg/dL', ''


class Cassette(Bench):
    unit, tests_a_day, specimen_seconds = '', 3, 1800
    writes_seconds = counts = is_controlled_daily = is_lot_checked = is_cleaned_weekly = False
    limits = (('negative', '', '', 'negative', ''), ('positive', '', '', 'positive', ''))

    def control_result(self, place, good):
        return self.limits[place][0] if good else 'invalid'

    def patient_result(self):
        luck = self.rng.random()
        if luck < RESULT_MISWRITTEN:
            return 'weak', False
        return 'positive' if luck < 0.2 else 'negative', False

    def compared(self, sample):
        word = 'positive' if sample % 2 else 'negative'
        return word, word, '', '', '', ''


METHODS = {'strip': Strip, 'meter': Meter, 'cassette': Cassette}
