# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs of a command with interpose.c between it and the system: the n-th call of a kind fails, or the process dies or waits at
it."""
import os
import shutil
import subprocess
import sys
from pathlib import Path

import clinic

SOURCE = Path(__file__).resolve().parent / "interpose.c"
TRIED = os.environ.get("FAULTS_WITH") or clinic.ASSIZE
NOT_BY_ALL = ("short", "rename", "mkdir", "truncate")  # all commands make the other calls


def build(work):
    path = work / "interpose.so"
    subprocess.run([os.environ.get("CC", "gcc"), "-std=gnu11", "-O1", "-fPIC", "-shared", "-o", path, SOURCE], check=True)
    os.environ["INTERPOSE"] = str(path)


def environment(place, count, call, at, **how):
    """Of a run whose `at`-th call is another; `count`: the file of eight bytes."""
    count.write_bytes(bytes(8))
    return {**os.environ, "LD_PRELOAD": os.environ["INTERPOSE"], "FAULT_CALL": call, "FAULT_AT": str(at),
            "FAULT_COUNT": str(count), "TMPDIR": str(place / "tmp"),
            "ASAN_OPTIONS": os.environ.get("ASAN_OPTIONS", "") + ":verify_asan_link_order=0",
            **{f"FAULT_{name.upper()}": str(value) for name, value in how.items()}}


def run(command, place, call, at, **how):
    """Gives what the program said, and how many calls it made. With `at` 0 all goes well; `how`: see interpose.c."""
    count = place.parent / f"{place.name}.count"
    done = clinic.run(command.words, place, environment(place, count, call, at, **how), TRIED)
    return done, int.from_bytes(count.read_bytes(), sys.byteorder)


def count_calls(command, work, call):
    place = command.place(work, f"{call}-count")
    done, total = run(command, place, call, 0)
    shutil.rmtree(place)
    if not command.did_as_without(done):
        raise RuntimeError(f"without a fault, but counted: {done.returncode} {done.stderr.decode()}")
    if total == 0 and call not in NOT_BY_ALL:
        raise RuntimeError(f"no {call} was counted")
    return total


def spread(total, most):
    """At most that many of the numbers from 1 to `total`, the first and the last among them."""
    if total <= most:
        return list(range(1, total + 1))
    return sorted({1 + i * (total - 1) // (most - 1) for i in range(most)}) if most > 1 else [1]
