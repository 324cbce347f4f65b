# SPDX-License-Identifier: GPL-3.0-or-later
"""Writes the sample site: its logs and settings, its README, and the findings that an audit must name."""
import csv
import io
import shutil
from datetime import datetime

from sample_site.clinic import CLOSED, COLUMNS

SITE_YAML = """\
# An invented clinic. Rewritten by scripts/make-sample-site, together with the logs in records/.
site: ninefold-mill
name: Ninefold Mill Health Center
certificate: {number: "99D0000417", kind: waiver, issued_on: 2025-12-01, expires_on: 2027-11-30}
director: Dr F. (invented)
changes:                                   # ownership, name, location, director: notified within 30 days
  - {what: director, on: 2026-09-21, notified_on: 2026-10-09}
day_starts_at: "00:00"
open_days: [mon, tue, wed, thu, fri]
closed_on: [CLOSED]   # a staff day, two public holidays
places:
  - {place: supply-fridge, low: 2, high: 8, readings_per_open_day: 1}
  - {place: test-room, low: 15, high: 30, humidity_high: 80, readings_per_open_day: 1}
menu: [hba1c-strip, glucose-strip]
"""
SUBJECT = ("method", "analyzer", "operator", "lot", "level", "record", "detail")


def cell(value):
    if isinstance(value, datetime):
        return f"{value:%Y-%m-%d %H:%M}"
    return "" if value is None else str(value)


def write_site(folder, logs):
    """Writes site.yaml and the logs; notes in each row its file and line."""
    shutil.rmtree(folder / "records", ignore_errors=True)
    (folder / "records").mkdir(parents=True)
    (folder / "site.yaml").write_text(SITE_YAML.replace("CLOSED", ", ".join(map(str, CLOSED))), encoding="utf-8")
    for kind, rows in logs.items():
        columns = COLUMNS[kind].split()
        text = io.StringIO()
        out = csv.writer(text, lineterminator="\n")
        out.writerow(columns)
        for line, row in enumerate((r for r in rows if not r.get("lost")), start=2):
            row["at"] = f"records/{kind}.csv:{line}"
            written = {**row, **row.get("unreadable", {})}
            out.writerow([cell(written.get(c)) for c in columns])
        (folder / "records" / f"{kind}.csv").write_text(text.getvalue(), encoding="utf-8")


def test_ids(one):
    """The affected tests of a finding that are on the log and can be read, in time order."""
    rows = [t for t in one["tests"] if not t.get("lost") and "unreadable" not in t]
    return [t["test"] for t in sorted(rows, key=lambda t: (t["performed_at"], t["sequence"]))]


def write_expected(path, gaps):
    lines = [[one["rule"], *(one.get(s) or "" for s in SUBJECT), cell(one["from"]), cell(one["to"]), str(one["events"]),
              " ".join(test_ids(one))] for gap in gaps for one in gap["findings"]]
    head = ["rule", *SUBJECT, "from", "to", "events", "tests"]
    about = ("# What an audit of sample-site for 2026-10 must find, and nothing else: a finding a line, by tabs.\n"
             "# Written by scripts/make-sample-site from the gaps it makes, not from any output.\n")
    body = "".join("\t".join(line) + "\n" for line in [head, *sorted(lines)])
    path.write_text(about + body, encoding="utf-8")


def spans(numbers):
    """12, 15, 16, 17 as `12, 15-17`."""
    ends = []
    for n in sorted(numbers):
        if ends and n == ends[-1][1] + 1:
            ends[-1][1] = n
        else:
            ends.append([n, n])
    return ", ".join(f"{a}" if a == b else f"{a}-{b}" for a, b in ends)


def places(rows):
    """File and lines of rows: `records/tests.csv:12, 15-17`."""
    lines = {}
    for row in rows:
        name, line = row["at"].rsplit(":", 1)
        lines.setdefault(name, []).append(int(line))
    return "; ".join(f"`{name}:{spans(numbers)}`" for name, numbers in lines.items())


def said(one):
    """A finding in one line: rule, subject, when, events, affected tests."""
    ids = test_ids(one)
    what = [f"{s} {one[s]}" if s != "detail" else one[s] for s in SUBJECT if one.get(s)]
    if one["from"]:
        what.append(cell(one["from"]) + (f" to {cell(one['to'])}" if one["to"] != one["from"] else ""))
    if one["events"] > 1:
        what.append(f"{one['events']} events")
    tests = "No test" if not ids else f"{len(ids)} test{'s' if len(ids) > 1 else ''}: {', '.join(ids)}"
    return f"`{one['rule']}` ({'; '.join(what)}). {tests}"


README = """\
# Ninefold Mill: a sample site

An invented clinic with three months of logs, 2026-08-01 to 2026-10-31: two HbA1c strip analyzers with code chips (A1,
A2), a glucose meter (G1), five operators, and the strip lots, codes, controls, cleaning, training, temperatures and all
the rest that a waived testing site keeps. No person, site or product in it is real. The month to audit is October 2026:

    assize audit sample-site --month 2026-10

Everything is in order but for {count} gaps, all in October and each in one place, so that every finding can be checked
by hand against the list below. Lines are those of the file, the header being line 1. Specimens for lot checks and
comparison rounds are run in the analyzers' check mode, which the run counter (`sequence`) leaves out.

The numbers in `methods/` are examples. The package insert, state and local rules and the laboratory director decide,
and results named by a finding need a clinical review before anyone acts. Only `hba1c-strip` and `glucose-strip` are on
this site's menu; the other method files are there to start from.

`site.yaml`, `records/` and this page are written by `scripts/make-sample-site`: change that, not them. It writes what
an audit must find to `tests/cases/sample-site.expected` as well.

## The gaps

"""


def write_readme(path, gaps):
    parts = [README.format(count=len(gaps))]
    for number, gap in enumerate(gaps, start=1):
        parts.append(f"{number}. **{gap['title']}.** {gap['text']}\n    Look at {places(gap['look'])}.\n")
        parts += [f"    - {said(one)}\n" for one in gap["findings"]]
        parts.append("\n")
    rows = [(number, one["rule"], test_ids(one)) for number, gap in enumerate(gaps, start=1) for one in gap["findings"]]
    parts.append("## In all\n\n| gap | finding | affected tests | first | last |\n| ---: | --- | ---: | --- | --- |\n")
    for number, rule, ids in rows:
        first, last = (ids[0], ids[-1]) if ids else ("", "")
        parts.append(f"| {number} | `{rule}` | {len(ids)} | {first} | {last} |\n")
    different = len({test for _, _, ids in rows for test in ids})
    parts.append(f"| {len(gaps)} gaps | {len(rows)} findings | {different} different tests | | |\n")
    parts.append("\nThe first line of the audit says fewer: it counts the results that an at-risk or breach finding names, and the tests of\n"
                 "gap 4 are named by one of practice only.\n")
    path.write_text("".join(parts), encoding="utf-8")
