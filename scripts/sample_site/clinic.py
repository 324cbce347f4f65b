# SPDX-License-Identifier: GPL-3.0-or-later
"""The clean logs of the sample site: three months in which nothing goes wrong that was not put right at once."""
import random
from datetime import date, datetime, time, timedelta

FIRST, LAST = date(2026, 8, 1), date(2026, 10, 31)
CLOSED = [date(2026, 8, 14), date(2026, 9, 7), date(2026, 10, 12)]
COLUMNS = {  # the columns of each log, in the order written
    "operators": "operator name role may_assess started_on left_on",
    "analyzers": "analyzer method serial in_service_on retired_on",
    "lots": "lot method use level code mean sd low high received_on expires_on discarded_on",
    "openings": "opened_on lot container operator note",
    "codes": "changed_at analyzer code lot operator note",
    "tests": "test performed_at analyzer method operator specimen lot code result unit collected_at reported_at "
             "notified_at sequence recorded_at note",
    "controls": "performed_at analyzer method operator control_lot level lot code result unit accepted sequence "
                "recorded_at note",
    "cleaning": "cleaned_at analyzer task operator recorded_at note",
    "training": "operator method event held_on assessor outcome techniques note",
    "temperatures": "read_at place celsius humidity operator recorded_at note",
    "maintenance": "done_at analyzer event operator note",
    "comparisons": "event sample analyzer method tested_at operator result target low high unit note",
    "lot_checks": "checked_at analyzer method old_lot new_lot specimen old_result new_result operator note",
    "procedures": "procedure method revision effective_on reviewed_on reviewed_by insert_revision note",
    "actions": "action opened_on finding analyzer about problem taken owner due_on closed_on verified_by note",
}
METHOD = {"A1": "hba1c-strip", "A2": "hba1c-strip", "G1": "glucose-strip"}
UNIT = {"hba1c-strip": "%", "glucose-strip": "mg/dL"}
CODE = {"HS-31": "214", "HS-32": "307", "HS-33": "455"}
IN_USE = {  # the reagent lot on each analyzer, from the morning of the day
    "A1": [("2026-08-03", "HS-31"), ("2026-08-26", "HS-32"), ("2026-10-06", "HS-33")],
    "A2": [("2026-08-03", "HS-31"), ("2026-08-26", "HS-32"), ("2026-10-20", "HS-33")],
    "G1": [("2026-08-03", "GS-10"), ("2026-08-05", "GS-11"), ("2026-10-15", "GS-12")],
}
CONTROL_LOTS = {"hba1c-strip": [("2026-08-03", "HC-6"), ("2026-09-15", "HC-7")],
                "glucose-strip": [("2026-08-03", "GC-4")]}
TESTS_A_DAY = {"A1": (4, 6), "A2": (3, 5), "G1": (4, 7)}
ASSIGNED = {  # control lot: level: mean, sd
    "HC-6": {"low": (5.4, 0.15), "high": (10.1, 0.25)},
    "HC-7": {"low": (5.3, 0.15), "high": (10.2, 0.25)},
    "GC-4": {"low": (62, 2.5), "high": (285, 9)},
}
CONTROL_TIMES = {"A1": {"low": "07:50", "high": "07:56"}, "A2": {"low": "07:52", "high": "07:58"},
                 "G1": {"low": "08:02", "high": "08:04"}}
NOTABLE = {  # tests of a day, by analyzer and place in the day, whose result someone had to be told about
    ("A2", "2026-08-19", 2): "12.6", ("G1", "2026-09-03", 3): "43", ("G1", "2026-09-24", 1): "418",
    ("A1", "2026-10-02", 2): ">14.0", ("G1", "2026-10-23", 3): "438",
}
MISSED_FIRST = {  # controls out of limits at first, handled as they should be: action and repeat before any test
    ("A1", "2026-08-20", "high"): 2.4, ("A2", "2026-09-17", "low"): -2.67, ("G1", "2026-10-01", "low"): 2.4,
}


def day_of(text):
    return date.fromisoformat(text)


def at(day, clock, minutes=0):
    return datetime.combine(day, time.fromisoformat(clock)) + timedelta(minutes=minutes)


def later(moment, minutes):
    return moment + timedelta(minutes=minutes)


def working_days():
    days = (FIRST + timedelta(n) for n in range((LAST - FIRST).days + 1))
    return [d for d in days if d.weekday() < 5 and d not in CLOSED]


def in_force(table, day):
    return [value for start, value in table if day_of(start) <= day][-1]


class Noise:
    """Numbers that look random and are the same at every run. Sums and products only: no machine rounds otherwise."""

    def __init__(self, seed):
        self.random = random.Random(seed).random

    def whole(self, low, high):
        return low + int(self.random() * (high - low + 1))

    def normal(self):
        return sum(self.random() for _ in range(12)) - 6


class Logs(dict):
    """The rows of each log, in the order in which they were written."""

    def __init__(self):
        super().__init__((kind, []) for kind in COLUMNS)

    def add(self, kind, **cells):
        row = {"kind": kind, **cells}
        self[kind].append(row)
        return row

    def sort(self, kind, column):
        self[kind].sort(key=lambda row: row[column])

    def on(self, kind, analyzer, *days, column="performed_at"):
        """The rows of an analyzer on the days given, in time order."""
        wanted = {day_of(d) for d in days}
        rows = [r for r in self[kind] if r["analyzer"] == analyzer and r[column].date() in wanted]
        return sorted(rows, key=lambda r: r[column])

    def runs(self, analyzer, *days):
        return sorted(self.on("controls", analyzer, *days) + self.on("tests", analyzer, *days),
                      key=lambda r: (r["performed_at"], r["kind"]))


def standing_records(logs):
    """People, machines, supplies, procedures: what stands before the first day."""
    for operator, name, role, assess, started in (
            ("OP-1", "Nurse A.", "site lead", "yes", "2023-02-01"), ("OP-2", "Nurse B.", "nurse", "yes", "2023-10-02"),
            ("OP-3", "Assistant C.", "medical assistant", "no", "2024-05-06"),
            ("OP-4", "Assistant D.", "medical assistant", "no", "2025-08-11"),
            ("OP-5", "Assistant E.", "medical assistant", "no", "2026-09-14")):
        logs.add("operators", operator=operator, name=name, role=role, may_assess=assess, started_on=day_of(started))
    for analyzer, serial, since in (("A1", "NM-30417", "2024-03-04"), ("A2", "NM-30988", "2025-01-13"),
                                    ("G1", "NM-77125", "2024-03-04")):
        logs.add("analyzers", analyzer=analyzer, method=METHOD[analyzer], serial=serial, in_service_on=day_of(since))
    for lot, method, received, expires, discarded in (
            ("HS-31", "hba1c-strip", "2026-06-15", "2026-12-31", "2026-08-28"),
            ("HS-32", "hba1c-strip", "2026-08-17", "2027-01-31", ""),
            ("HS-33", "hba1c-strip", "2026-09-28", "2027-03-31", ""),
            ("GS-10", "glucose-strip", "2026-03-16", "2027-01-31", ""),
            ("GS-11", "glucose-strip", "2026-05-11", "2026-10-14", "2026-10-16"),
            ("GS-12", "glucose-strip", "2026-10-05", "2027-08-31", "")):
        logs.add("lots", lot=lot, method=method, use="reagent", code=CODE.get(lot), received_on=day_of(received),
                 expires_on=day_of(expires), discarded_on=day_of(discarded) if discarded else None)
    for lot, method, received, expires in (("HC-6", "hba1c-strip", "2026-05-18", "2026-09-30"),
                                           ("HC-7", "hba1c-strip", "2026-09-01", "2027-04-30"),
                                           ("GC-4", "glucose-strip", "2026-07-01", "2027-06-30")):
        for level, (mean, sd) in ASSIGNED[lot].items():
            logs.add("lots", lot=lot, method=method, use="control", level=level, mean=mean, sd=sd,
                     received_on=day_of(received), expires_on=day_of(expires))
    standing_training(logs)
    standing_comparisons(logs)
    for procedure, method, revision, effective, reviewed, insert in (
            ("P-11", "hba1c-strip", "1", "2024-03-04", "2025-02-10", "2023-11"),
            ("P-11", "hba1c-strip", "2", "2025-11-17", "2026-06-22", "2025-09"),
            ("P-12", "glucose-strip", "1", "2024-03-04", "2026-02-09", "2024-01")):
        logs.add("procedures", procedure=procedure, method=method, revision=revision, effective_on=day_of(effective),
                 reviewed_on=day_of(reviewed), reviewed_by="Dr F.", insert_revision=insert)


def standing_training(logs):
    for operator, assessor, method, dates in (
            ("OP-1", "OP-2", "hba1c-strip", "2024-03-11 2025-03-10 2026-03-09"),
            ("OP-1", "OP-2", "glucose-strip", "2024-03-11 2025-03-10 2026-03-09"),
            ("OP-2", "OP-1", "hba1c-strip", "2024-03-12 2025-03-11 2026-03-10"),
            ("OP-2", "OP-1", "glucose-strip", "2024-03-12 2024-10-10 2025-10-09 2026-10-08"),
            ("OP-3", "OP-1", "hba1c-strip", "2024-05-13 2025-05-12 2026-05-11"),
            ("OP-3", "OP-1", "glucose-strip", "2024-05-14 2025-05-13 2026-05-12"),
            ("OP-4", "OP-2", "hba1c-strip", "2025-08-18 2026-08-17"),
            ("OP-4", "OP-2", "glucose-strip", "2025-08-19 2026-08-18"),
            ("OP-5", "OP-1", "glucose-strip", "2026-09-15"), ("OP-5", "OP-1", "hba1c-strip", "2026-10-16")):
        for number, held in enumerate(dates.split()):
            logs.add("training", operator=operator, method=method, event="competency" if number else "initial",
                     held_on=day_of(held), assessor=assessor, outcome="pass",
                     techniques="observation;blind-sample" if number % 2 else "observation;written")
    logs["training"].sort(key=lambda row: (row["held_on"], row["operator"]))


def standing_comparisons(logs):
    """Two rounds of five samples a year and method; no sample misses its target."""
    a1c, glucose = (5.2, 6.5, 7.8, 9.4, 11.6), (54, 98, 141, 222, 365)
    for event, day, analyzer, operator, targets, off in (
            ("R0-A1C", "2025-11-12", "A1", "OP-1", a1c, (0.0, 0.1, -0.2, 0.2, 0.3)),
            ("R0-GLU", "2025-11-12", "G1", "OP-4", glucose, (2, -3, 4, 7, -6)),
            ("R1-A1C", "2026-03-12", "A1", "OP-3", a1c, (0.1, -0.1, 0.2, 0.1, -0.3)),
            ("R1-GLU", "2026-03-12", "G1", "OP-2", glucose, (1, -2, 3, -5, 8)),
            ("R2-A1C", "2026-09-10", "A2", "OP-4", a1c, (-0.1, 0.2, 0.1, -0.2, 0.2)),
            ("R2-GLU", "2026-09-10", "G1", "OP-3", glucose, (-2, 3, 4, 6, -9))):
        for n, (target, error) in enumerate(zip(targets, off)):
            logs.add("comparisons", event=event, sample=str(n + 1), analyzer=analyzer, method=METHOD[analyzer],
                     tested_at=at(day_of(day), "12:10", 8 * n), operator=operator, result=round(target + error, 1),
                     target=target, unit=UNIT[METHOD[analyzer]])
    logs.sort("comparisons", "tested_at")


def on_duty(day, method):
    """Who may be drawn for a test: all but the one who is off that day, once trained for the method."""
    trained_from = {"OP-5": {"glucose-strip": date(2026, 9, 16), "hba1c-strip": date(2026, 10, 19)}}
    off = f"OP-{day.toordinal() % 5 + 1}"
    staff = [f"OP-{n}" for n in range(1, 6)]
    return [o for o in staff if o != off and trained_from.get(o, {}).get(method, FIRST) <= day]


def working_day(logs, day, noise, series):
    staff = on_duty(day, "hba1c-strip")
    opener, closer = staff[day.toordinal() // 3 % len(staff)], staff[day.toordinal() // 2 % len(staff)]
    week_begins = not any(d.isocalendar()[:2] == day.isocalendar()[:2] for d in working_days() if d < day)
    for place, celsius, humidity, clock in (
            ("supply-fridge", max(2.6, min(7.2, 4.6 + 0.7 * noise.normal())), None, "07:35"),
            ("test-room", 21.8 + 0.8 * noise.normal(), round(43 + 4 * noise.normal()), "07:37")):
        read_at = at(day, clock, noise.whole(-2, 2))
        logs.add("temperatures", read_at=read_at, place=place, celsius=round(celsius, 1), humidity=humidity,
                 operator=opener, recorded_at=later(read_at, 1))
    for analyzer, method in METHOD.items():
        if week_begins and method == "hba1c-strip":
            clean(logs, at(day, "07:28" if analyzer == "A1" else "07:32"), analyzer, "weekly", opener)
        new_lot_on_analyzer(logs, day, analyzer, opener, noise)
        morning_controls(logs, day, analyzer, opener, noise, series)
        patient_tests(logs, day, analyzer, noise)
        clean(logs, at(day, "16:50", noise.whole(0, 20)), analyzer, "daily", closer)


def clean(logs, cleaned_at, analyzer, task, operator):
    logs.add("cleaning", cleaned_at=cleaned_at, analyzer=analyzer, task=task, operator=operator,
             recorded_at=later(cleaned_at, 2))


def new_lot_on_analyzer(logs, day, analyzer, operator, noise):
    """On the day a lot changes: its code goes in before the controls, three specimens are compared after them."""
    lots = [lot for _, lot in IN_USE[analyzer]]
    lot = in_force(IN_USE[analyzer], day)
    if (day.isoformat(), lot) not in IN_USE[analyzer]:
        return
    if lot in CODE:
        logs.add("codes", changed_at=at(day, "07:40"), analyzer=analyzer, code=CODE[lot], lot=lot, operator=operator)
    for n in range(3 if lot != lots[0] else 0):
        low, high, step = ((5.6, 7.4, 9.1), 0.2, 1) if analyzer != "G1" else ((88, 142, 236), 4, 0)
        new = round(low[n] + high * noise.normal() / 2, step or None)
        logs.add("lot_checks", checked_at=at(day, "08:10", 6 * n), analyzer=analyzer, method=METHOD[analyzer],
                 old_lot=lots[lots.index(lot) - 1], new_lot=lot, specimen=f"LC-{analyzer}-{lot[-2:]}-{n + 1}",
                 old_result=low[n], new_result=new, operator=operator)


def control(logs, analyzer, performed_at, level, z, operator, **cells):
    """A control whose result is the lot's mean plus z times its sd, as the analyzer rounds it."""
    method, day = METHOD[analyzer], performed_at.date()
    control_lot, lot = in_force(CONTROL_LOTS[method], day), in_force(IN_USE[analyzer], day)
    mean, sd = ASSIGNED[control_lot][level]
    result = f"{mean + z * sd:.1f}" if method == "hba1c-strip" else f"{mean + z * sd:.0f}"
    return logs.add("controls", **{
        "performed_at": performed_at, "analyzer": analyzer, "method": method, "operator": operator,
        "control_lot": control_lot, "level": level, "lot": lot, "code": CODE.get(lot), "result": result,
        "unit": UNIT[method], "accepted": "yes" if abs(float(result) - mean) <= 2.000001 * sd else "no",
        "recorded_at": later(performed_at, 2), **cells})


def settled_z(noise, past, level):
    """Draws a z within limits that makes no four in a row beyond 1 sd and no eight on one side, by level or across."""
    own = [z for other, z in past if other == level]
    while True:
        z = noise.normal()
        rows = (own, [other for _, other in past])
        fours = any(min(side * v for v in [*row[-3:], z]) > 0.85 for row in rows for side in (1, -1))
        eights = any(len(row) >= 7 and min(side * v for v in [*row[-7:], z]) > -0.1 for row in rows for side in (1, -1))
        if abs(z) < 1.75 and not fours and not eights:
            return z


def morning_controls(logs, day, analyzer, operator, noise, series):
    past = series.setdefault((analyzer, in_force(CONTROL_LOTS[METHOD[analyzer]], day)), [])
    for level, clock in CONTROL_TIMES[analyzer].items():
        z = settled_z(noise, past, level)
        missed = MISSED_FIRST.get((analyzer, day.isoformat(), level))
        if missed:
            control(logs, analyzer, at(day, clock), level, missed, operator, note="out of limits, repeated")
            control(logs, analyzer, at(day, clock, 16), level, z, operator)
        else:
            control(logs, analyzer, at(day, clock), level, z, operator)
        past.append((level, z))


def patient_tests(logs, day, analyzer, noise):
    method = METHOD[analyzer]
    slots = [at(day, "08:30", 14 * n) for n in range(15)] + [at(day, "13:00", 14 * n) for n in range(15)]
    chosen = sorted(slots, key=lambda _: noise.random())[:noise.whole(*TESTS_A_DAY[analyzer])]
    lot, staff = in_force(IN_USE[analyzer], day), on_duty(day, method)
    for n, slot in enumerate(sorted(chosen)):
        performed_at = later(slot, noise.whole(0, 2))
        if method == "hba1c-strip":
            result = f"{min(11.6, max(4.7, 5.3 + 1.5 * abs(noise.normal()) + 0.4 * noise.normal())):.1f}"
        else:
            result = f"{min(372, max(64, 96 + 52 * abs(noise.normal()) + 11 * noise.normal())):.0f}"
        result = NOTABLE.get((analyzer, day.isoformat(), n), result)
        collected = noise.whole(6, 8) if method == "hba1c-strip" else noise.whole(1, 3)
        logs.add("tests", performed_at=performed_at, analyzer=analyzer, method=method,
                 operator=staff[noise.whole(0, len(staff) - 1)], lot=lot, code=CODE.get(lot), result=result,
                 unit=UNIT[method], collected_at=later(performed_at, -collected),
                 reported_at=later(performed_at, noise.whole(3, 12)),
                 recorded_at=later(performed_at, noise.whole(1, 4)),
                 notified_at=later(performed_at, 9) if (analyzer, day.isoformat(), n) in NOTABLE else None)


def unusual_days(logs):
    """Maintenance and what else does not happen every day."""
    for day in ("2026-08-03", "2026-09-01", "2026-10-01"):
        for analyzer, clock in (("A1", "07:20"), ("A2", "07:22"), ("G1", "07:24")):
            logs.add("maintenance", done_at=at(day_of(day), clock), analyzer=analyzer, event="clock-check",
                     operator="OP-1")
    logs.add("maintenance", done_at=at(date(2026, 9, 16), "12:20"), analyzer="G1", event="battery", operator="OP-3")
    logs.add("maintenance", done_at=at(date(2026, 9, 22), "07:15"), analyzer="A2", event="software", operator="OP-1",
             note="update 4.2; controls after it")
    logs.sort("maintenance", "done_at")
    for level, minutes in (("low", 0), ("high", 6)):
        control(logs, "A1", at(date(2026, 10, 20), "12:20", minutes), level, 0.6, "OP-3",
                note="extra control after a power cut")
    for action, opened, analyzer, about, problem, taken, owner, due, closed, verified in (
            ("AC-1", "2026-08-20", "A1", "controls", "High control out of limits before the first test",
             "Repeated with a new strip, in limits; nothing was run in between", "OP-3", "2026-08-27", "2026-08-21",
             "OP-1"),
            ("AC-2", "2026-09-17", "A2", "controls", "Low control out of limits before the first test",
             "Let come to room temperature and repeated, in limits", "OP-4", "2026-09-24", "2026-09-18", "OP-1"),
            ("AC-3", "2026-10-01", "G1", "controls", "Low control out of limits before the first test",
             "Repeated with a new strip, in limits", "OP-4", "2026-10-08", "2026-10-02", "OP-1")):
        logs.add("actions", action=action, opened_on=day_of(opened), analyzer=analyzer, about=about, problem=problem,
                 taken=taken, owner=owner, due_on=day_of(due), closed_on=day_of(closed), verified_by=verified)


def openings(logs):
    """Each analyzer has a container of its own; the 51st strip comes from a new one."""
    logs.add("openings", opened_on=date(2026, 7, 30), lot="GS-10", container="3", operator="OP-2")
    left, containers = {("G1", "GS-10"): 50}, {}
    for run in sorted(logs["controls"] + logs["tests"], key=lambda r: (r["performed_at"], r["analyzer"])):
        key = (run["analyzer"], run["lot"])
        if not left.get(key):
            left[key] = 50
            containers[run["lot"]] = containers.get(run["lot"], 0) + 1
            logs.add("openings", opened_on=run["performed_at"].date(), lot=run["lot"],
                     container=str(containers[run["lot"]]), operator=run["operator"])
        left[key] -= 1


def clean_logs():
    logs, noise, series = Logs(), Noise(20261031), {}
    standing_records(logs)
    for day in working_days():
        working_day(logs, day, noise, series)
    unusual_days(logs)
    logs["tests"].sort(key=lambda row: (row["performed_at"], row["analyzer"]))
    for n, test in enumerate(logs["tests"]):
        test.update(test=f"T-{1001 + n}", specimen=f"S-{2301 + n}")
    for kind, column in (("controls", "performed_at"), ("cleaning", "cleaned_at"), ("temperatures", "read_at"),
                         ("lot_checks", "checked_at"), ("codes", "changed_at")):
        logs.sort(kind, column)
    openings(logs)
    return logs


def number_runs(logs):
    """The analyzers' own counters. A row that was lost had its number all the same."""
    for analyzer, first in (("A1", 3120), ("A2", 1754), ("G1", 8811)):
        runs = [r for r in logs["controls"] + logs["tests"] if r["analyzer"] == analyzer]
        for n, run in enumerate(sorted(runs, key=lambda r: (r["performed_at"], r["kind"]))):
            run["sequence"] = first + n
