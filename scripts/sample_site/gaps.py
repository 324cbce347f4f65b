# SPDX-License-Identifier: GPL-3.0-or-later
"""The gaps of the sample site: each function changes the clean logs in one place and says what an audit must find."""
from datetime import date, timedelta

from sample_site.clinic import CODE, at, control, day_of, later

GAPS = []


def gap(title):
    """Marks a function as a gap. It changes the logs and returns what happened, the rows to look at, the findings."""
    def mark(make):
        GAPS.append((title, make))
        return make
    return mark


def make_all(logs):
    """Makes every gap, in order; what each did, for the README and the expected findings."""
    keys = ("text", "look", "findings")
    return [{"title": title, **dict(zip(keys, make(logs)))} for title, make in GAPS]


def finding(rule, runs=(), tests=None, first=None, last=None, events=None, **subject):
    """One finding as an audit must name it, with rows for its tests. Times, events and affected tests are those of the
    failing `runs` where they are not given."""
    return {
        "rule": rule, **subject, "from": first or (runs[0]["performed_at"] if runs else None),
        "to": last or first or (runs[-1]["performed_at"] if runs else None), "events": events or len(runs) or 1,
        "tests": [r for r in runs if r["kind"] == "tests"] if tests is None else tests,
    }


@gap("A number beyond the reportable range")
def gap_1(logs):
    test = logs.on("tests", "A1", "2026-10-02")[2]
    test["result"] = "14.9"
    return ("A1 read a result above its range, and 14.9 was written down instead of >14.0.", [test],
            [finding("results.reportable", [test], record=test["test"])])


@gap("The code not changed with the lot")
def gap_2(logs):
    entry = logs.on("codes", "A1", "2026-10-06", column="changed_at")[0]
    entry["changed_at"] += timedelta(days=1)
    runs = logs.runs("A1", "2026-10-06")
    for run in runs:
        run["code"] = CODE["HS-32"]
    tests = [r for r in runs if r["kind"] == "tests"]
    return ("Lot HS-33 (code 455) went onto A1 in the morning; the chip of HS-32 (code 307) stayed in until next day.",
            [entry, *runs], [finding("lots.code-change", [runs[0]], tests=tests, analyzer="A1", lot="HS-33"),
                             finding("lots.code-match", runs, analyzer="A1")])


@gap("A daily cleaning left out")
def gap_3(logs):
    entry = [r for r in logs.on("cleaning", "A1", "2026-10-08", column="cleaned_at") if r["task"] == "daily"][0]
    logs["cleaning"].remove(entry)
    last = logs.runs("A1", "2026-10-08")[-1]
    following = [r for r in logs.on("cleaning", "A1", "2026-10-09", column="cleaned_at") if r["task"] == "daily"]
    return ("A1 was used on 2026-10-08 and not cleaned after its last run; the next cleaning is that of 2026-10-09.",
            [last, *following],
            [finding("cleaning.daily", tests=logs.on("tests", "A1", "2026-10-09"), first=date(2026, 10, 8),
                     analyzer="A1", detail="missing")])


@gap("A competency that ran out")
def gap_4(logs):
    *_, before, assessment = [r for r in logs["training"]
                              if r["operator"] == "OP-2" and r["method"] == "glucose-strip"]
    assessment["held_on"] = date(2026, 10, 15)
    logs["training"].sort(key=lambda row: (row["held_on"], row["operator"]))
    tests = [t for t in logs.on("tests", "G1", "2026-10-13", "2026-10-14") if t["operator"] == "OP-2"]
    return ("OP-2's competency on glucose was good until 2026-10-09 and assessed again on 2026-10-15; OP-2 went on "
            "testing.", [before, assessment, *tests],
            [finding("people.competency", tests, operator="OP-2", method="glucose-strip")])


@gap("Tests by an operator not yet trained")
def gap_5(logs):
    tests = logs.on("tests", "A2", "2026-10-14")[:3]
    for test in tests:
        test["operator"] = "OP-5"
    training = [r for r in logs["training"] if r["operator"] == "OP-5" and r["method"] == "hba1c-strip"][0]
    return ("OP-5 ran HbA1c on A2 two days before the initial training for it on 2026-10-16.", [training, *tests],
            [finding("people.trained", tests, operator="OP-5", method="hba1c-strip")])


@gap("A strip lot past its expiry")
def gap_6(logs):
    runs = logs.runs("G1", "2026-10-15")
    for run in runs:
        run["lot"] = "GS-11"
    lot = [r for r in logs["lots"] if r["lot"] == "GS-11"][0]
    return ("Lot GS-12 was opened and checked in the morning, but the vial of GS-11, expired the day before, stayed at "
            "G1 and was used all day.", [lot, *runs], [finding("lots.expired", runs, analyzer="G1", lot="GS-11")])


@gap("A control accepted although out of limits")
def gap_7(logs):
    bad = [r for r in logs.on("controls", "A2", "2026-10-16") if r["level"] == "low"][0]
    bad["result"], bad["accepted"] = "5.7", "yes"
    control(logs, "A2", later(bad["performed_at"], 16), "low", 0, bad["operator"])
    logs.sort("controls", "performed_at")
    record = f"{bad['performed_at']:%Y-%m-%d %H:%M} A2 {bad['control_lot']} low"
    return ("The low control on A2 read 5.7 (limits 5.0 to 5.6) and was marked as accepted; a repeat before the first "
            "test was good.", [bad], [finding("controls.acceptance", [bad], analyzer="A2", record=record)])


@gap("A run missing from the log")
def gap_8(logs):
    runs = logs.runs("A1", "2026-10-19")
    lost = runs[4]
    lost["lost"] = True
    before, after = runs[3], runs[5]
    return (f"The counter of A1 went on by two between these runs: one test is not on the log (it would have been "
            f"{lost['test']}).", [before, after],
            [finding("records.gap", tests=[], first=before["performed_at"], last=after["performed_at"], analyzer="A1")])


@gap("Tests after a failed control")
def gap_9(logs):
    bad = [r for r in logs.on("controls", "A1", "2026-10-20") if r["level"] == "high"][-1]
    bad.update(result="10.8", accepted="no", note="extra control after a power cut; out of limits")
    tests = [t for t in logs.on("tests", "A1", "2026-10-20") if t["performed_at"] > bad["performed_at"]][:2]
    repeat = control(logs, "A1", later(tests[-1]["performed_at"], 7), "high", 0.4, bad["operator"], note="repeat")
    logs.sort("controls", "performed_at")
    return ("The high control on A1 after a power cut read 10.8 (limits 9.7 to 10.7); patients were tested before it "
            "was repeated.", [bad, *tests, repeat],
            [finding("controls.failed-then-tested", tests, analyzer="A1", method="hba1c-strip")])


@gap("A weekly cleaning overdue")
def gap_10(logs):
    entry = [r for r in logs.on("cleaning", "A2", "2026-10-19", column="cleaned_at") if r["task"] == "weekly"][0]
    for cell in ("cleaned_at", "recorded_at"):
        entry[cell] += timedelta(days=3)
    logs.sort("cleaning", "cleaned_at")
    previous = [r for r in logs.on("cleaning", "A2", "2026-10-13", column="cleaned_at") if r["task"] == "weekly"][0]
    runs = logs.runs("A2", "2026-10-21")
    return ("The weekly cleaning of A2 was done on 2026-10-13 and, due by 2026-10-20, again on 2026-10-22; A2 was used "
            "in between.", [previous, entry, *runs],
            [finding("cleaning.periodic", runs, analyzer="A2", detail="weekly")])


@gap("A control level not run")
def gap_11(logs):
    low, high = logs.on("controls", "G1", "2026-10-22")
    logs["controls"].remove(high)
    tests = logs.on("tests", "G1", "2026-10-22")
    return ("Only the low control was run on G1 on 2026-10-22.", [low, *tests],
            [finding("controls.frequency", tests, analyzer="G1", method="glucose-strip", detail="each day")])


@gap("A high result told too late")
def gap_12(logs):
    test = logs.on("tests", "G1", "2026-10-23")[3]
    test["notified_at"] = later(test["performed_at"], 95)
    return ("A glucose of 438 mg/dL was told to the clinician after 95 minutes; the site allows 30.", [test],
            [finding("results.follow-up", [test], record=test["test"])])


@gap("A run faster than the analyzer can be")
def gap_13(logs):
    before, test = logs.on("tests", "A2", "2026-10-26")[1:3]
    shift = later(before["performed_at"], 2) - test["performed_at"]
    for cell in ("performed_at", "collected_at", "reported_at", "recorded_at"):
        test[cell] += shift
    return ("Two runs on A2 are two minutes apart, while a run takes four and a half: a strip was pulled early or "
            "a time is wrong.", [before, test],
            [finding("analyzer.run-time", [test], tests=[before, test], analyzer="A2")])


@gap("A row that cannot be read")
def gap_14(logs):
    test = logs.on("tests", "G1", "2026-10-28")[1]
    test["unreadable"] = {"performed_at": f"{test['performed_at']:%d.%m.%Y %H:%M}"}
    return (f"The time of test {test['test']} was written in another form than the log's, so the row is refused.",
            [test], [finding("records.unreadable", record="records/tests.csv")])


@gap("The refrigerator too warm")
def gap_15(logs):
    readings = [r for r in logs["temperatures"] if r["place"] == "supply-fridge"]
    before, bad = [[r for r in readings if r["read_at"].date() == day_of(d)][0] for d in ("2026-10-28", "2026-10-29")]
    bad["celsius"] = 9.8
    again = at(date(2026, 10, 29), "11:20")
    good = logs.add("temperatures", read_at=again, place="supply-fridge", celsius=5.9, operator=bad["operator"],
                    recorded_at=later(again, 1), note="door was ajar, closed at 07:40")
    logs.sort("temperatures", "read_at")
    tests = [t for t in logs["tests"] if t["method"] == "hba1c-strip" and before["read_at"] < t["performed_at"] < again]
    return ("The refrigerator that holds the HbA1c strips stood at 9.8 °C; it was in range the morning before and "
            "at 11:20.", [before, bad, good],
            [finding("environment.range", tests=tests, first=bad["read_at"], detail="supply-fridge")])


@gap("A vial open for too long")
def gap_16(logs):
    tests = [t for t in logs.on("tests", "G1", "2026-10-30") if t["performed_at"].hour >= 12]
    for test in tests:
        test["lot"] = "GS-10"
    opening = [r for r in logs["openings"] if r["lot"] == "GS-10"][0]
    return ("A vial of the summer's lot GS-10, opened 92 days before (the insert gives 90), was used in the afternoon.",
            [opening, *tests], [finding("lots.open-life", tests, analyzer="G1", lot="GS-10")])
