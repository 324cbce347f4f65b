# SPDX-License-Identifier: GPL-3.0-or-later
"""A command run to its end, and what it took."""
import os
import subprocess
import tempfile
from dataclasses import dataclass


@dataclass
class Taken:
    wall: float         # seconds
    processor: float    # seconds, user and system, of the process and those it waited for
    megabytes: float    # peak of the largest of them
    output: str


def run(took, command, folder, stdin=None, statuses=(0,)):
    """`took` is the program that measures, `stdin` a file to be read. What the kernel has still to write from before is
    not counted."""
    os.sync()
    with tempfile.NamedTemporaryFile('r') as figures, open(stdin or os.devnull, 'rb') as source:
        done = subprocess.run([took, figures.name, *map(str, command)], cwd=folder, stdin=source,
                              stdout=subprocess.PIPE, text=True)
        if done.returncode not in statuses:
            raise RuntimeError(f'{command[0]} ended with {done.returncode}: {done.stdout[-2000:]}')
        wall, processor, kilobytes = figures.read().split()
    return Taken(float(wall), float(processor), float(kilobytes) / 1024, done.stdout)
