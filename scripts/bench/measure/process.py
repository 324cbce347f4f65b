# SPDX-License-Identifier: GPL-3.0-or-later
"""A command run to its end, and what it took."""
import os
import subprocess
import tempfile
import time
from dataclasses import dataclass


@dataclass
class Taken:
    wall: float         # seconds
    processor: float    # seconds, user and system, of the process and those it waited for
    megabytes: float    # peak of the largest of them
    output: str


def run(command, folder, stdin=None, statuses=(0,)):
    """`stdin` is a file to be read. What the kernel has still to write from before is not counted."""
    os.sync()
    with tempfile.TemporaryFile() as output, open(stdin or os.devnull, 'rb') as source:
        started = time.monotonic()
        process = subprocess.Popen([str(word) for word in command], cwd=folder, stdin=source, stdout=output)
        _, status, usage = os.wait4(process.pid, 0)
        wall = time.monotonic() - started
        process.returncode = os.waitstatus_to_exitcode(status)
        output.seek(0)
        text = output.read().decode()
    if process.returncode not in statuses:
        raise RuntimeError(f'{command[0]} ended with {process.returncode}: {text[-2000:]}')
    return Taken(wall, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024, text)
