# SPDX-License-Identifier: GPL-3.0-or-later
"""The site that faults and kills befall: the tiny clinic of tests/cases with one gap, and what must hold of it afterwards."""
import json
import os
import re
import shutil
import sqlite3
import subprocess
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent.parent
ASSIZE = str(Path(os.environ.get("ASSIZE", ROOT / "build" / "assize")).resolve())
TODAY = ["--today", "2026-11-02"]
LOAD = ["load", "in", *TODAY]
AUDIT = ["audit", "in", "--month", "2026-10", "--threads", "1", *TODAY]
REPORT = "in/reports/2026-10"
ACTIONS = "in/records/actions.csv"


TAKEN_BACK = re.compile(rb"assize: [^\n]*assize\.db: a change that had been cut off was taken back, [^\n]*\n")


def without_taken_back(done):
    """What a command says first where another one was cut off before it; `took_back` is whether it did."""
    done.stderr, times = TAKEN_BACK.subn(b"", done.stderr)
    done.took_back = times == 1
    return done


def run(words, place, env=None, program=ASSIZE):
    return without_taken_back(subprocess.run([program, *words], cwd=place, env=env, capture_output=True, timeout=300, check=False))


def must(words, place, *statuses):
    done = run(words, place)
    assert done.returncode in statuses, f"{words} ended with {done.returncode}: {done.stderr.decode()}"
    return done


def append(place, log, row):
    with open(place / "in" / "records" / log, "a", encoding="utf-8") as file:
        file.write(row + "\n")


def make_fresh(place):
    """Nothing loaded yet. T-3 is a result of a day without a good control."""
    shutil.copytree(ROOT / "tests" / "cases" / "clinic", place / "in")
    append(place, "tests.csv", "T-3,2026-10-06 09:00,A1,OP-2,S-3,S1,41,6.1,%")


def make_audited(place):
    """Audited once; then a row was added, one amended, one taken out."""
    make_fresh(place)
    must(AUDIT, place, 1)
    append(place, "tests.csv", "T-4,2026-10-07 09:00,A1,OP-1,S-4,S1,41,6.3,%")
    change(place, "controls.csv", "10.2,yes", "10.3,yes")
    change(place, "training.csv", "OP-2,meter,initial,2026-02-02,OP-1,pass,observation;written\n", "")


def change(place, log, old, new):
    path = place / "in" / "records" / log
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1
    path.write_text(text.replace(old, new), encoding="utf-8")


def a_finding(place):
    with sqlite3.connect(place / "in" / "assize.db") as store:
        return store.execute("SELECT min(number) FROM audit_findings").fetchone()[0]


def answer(finding):
    return ["answer", "in", finding, "--problem", "No control was run", "--owner", "OP-1", *TODAY]


def close(finding):
    return ["answer", "in", finding, "--close", "2026-11-02", "--taken", "Control run"]


def store_rows(path):
    """All that a store says, as text."""
    store = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
    try:
        return "\n".join(store.iterdump())
    finally:
        store.close()


def state(place):
    """The files of the site, by path: bytes, and of a store what it says."""
    files = {}
    for path in sorted(place.rglob("*")):
        if path.is_file():
            name = str(path.relative_to(place))
            files[name] = store_rows(path) if path.name == "assize.db" else path.read_bytes()
    return files


def differences(found, wanted):
    """An empty lock file may stay behind a process that was killed or had no memory left: the lock itself is gone."""
    names = sorted((set(found) | set(wanted)) - {"in/assize.db.lock"})
    return [f"{name} {'is too much' if name not in wanted else 'is gone' if name not in found else 'is other'}"
            for name in names if found.get(name) != wanted.get(name)]


def why_not_whole(place):
    """Why the store or the report folder, where they are, does not hold; empty if both do."""
    if not (place / "in" / "assize.db").exists():
        return ""
    report = ["--report", REPORT] if (place / REPORT / "manifest.txt").exists() else []
    done = run(["verify", "in", *report], place)
    return "" if done.returncode == 0 else f"verify: {(done.stdout + done.stderr).decode().strip()}"


def substance(place):
    """What the store holds, whatever loads brought it: the number of versions of its records, and an audit's findings. That an
    earlier audit could not read a log, and this one could, is told, and is not looked at."""
    verified = must(["verify", "in"], place, 0).stdout.decode()
    must([*AUDIT, "--out", "substance"], place, 0, 1)
    findings = json.loads((place / "substance" / "findings.json").read_bytes())
    gone = findings.pop("not_found_any_more", [])
    assert all(finding["rule"] == "records.unreadable" for finding in gone), gone
    shutil.rmtree(place / "substance")
    return verified.split("versions of records ")[1].split(",")[0], findings


class Command:
    """A command, where it begins, and what it does when nothing befalls it."""

    def __init__(self, name, words, begin, work):
        self.name, self.words, self.begin = name, words, begin
        place = self.place(work, "clean")
        self.done = self.run(place)
        self.before, self.after = state(begin), state(place)
        self.substance = substance(place)

    def place(self, work, name):
        """A new folder where the command may run."""
        place = work / f"{self.name}-{name}"
        shutil.copytree(self.begin, place)
        (place / "tmp").mkdir()
        return place

    def run(self, place):
        return run(self.words, place, {**os.environ, "TMPDIR": str(place / "tmp")})

    def did_as_without(self, done):
        wanted = self.done
        return (done.returncode, done.stdout, done.stderr) == (wanted.returncode, wanted.stdout, wanted.stderr)

    def is_done(self, place):
        """All that it does is done, whatever it said and however it ended."""
        return not differences(state(place), self.after)

    def why_bad_actions(self, place):
        found = state(place).get(ACTIONS)
        return "" if found in (self.before.get(ACTIONS), self.after.get(ACTIONS)) else \
            "the log of actions is neither the old one nor the new one"


def make_commands(work):
    for name, make in (("fresh", make_fresh), ("audited", make_audited), ("opened", make_audited)):
        (work / name).mkdir()
        make(work / name)
    finding = a_finding(work / "audited")
    must(answer(finding), work / "opened", 0)
    return [Command("first-load", LOAD, work / "fresh", work),
            Command("load", LOAD, work / "audited", work),
            Command("audit", AUDIT, work / "audited", work),
            Command("answer", answer(finding), work / "audited", work),
            Command("closing", close(finding), work / "opened", work)]
