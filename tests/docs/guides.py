#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs the commands of the guides and compares what they print with what the guides say.

    tests/docs/guides.py ASSIZE [--write] [GUIDE.md ...]

A block of a guide that begins with `$ ` holds commands and, below each, what it prints. A guide's commands run one after
the other in an empty folder with a copy of sample-site. A line `…` stands for any lines. `--write` puts in what is
printed now, where the guide has no `…`."""
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).resolve().parents[2]
BLOCK = re.compile(r'^```\n(\$ .*?)^```\n', re.M | re.S)


def fits(expected, printed):
    pattern = '\n'.join('(?:.*\n)*?.*' if line == '…' else re.escape(line) for line in expected.split('\n'))
    return re.fullmatch(pattern, printed) is not None


def run(command, folder, assize):
    path = f'{pathlib.Path(assize).resolve().parent}:/usr/bin:/bin'
    done = subprocess.run(['bash', '-c', command], cwd=folder, env={'PATH': path, 'LC_ALL': 'C.UTF-8', 'HOME': str(folder)},
                          stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, timeout=300, check=False)
    return done.stdout.rstrip('\n')


def check_block(block, folder, assize, write, complaints):
    """The block with what its commands print now."""
    parts = re.split(r'^\$ (.*)$\n?', block, flags=re.M)[1:]
    text = ''
    for command, expected in zip(parts[::2], parts[1::2]):
        printed, expected = run(command, folder, assize), expected.rstrip('\n')
        if write and '…' not in expected.split('\n'):
            expected = printed
        elif not fits(expected, printed):
            complaints.append(f'$ {command}\n--- the guide says\n{expected}\n--- it prints\n{printed}')
        text += f'$ {command}\n' + (expected + '\n' if expected else '')
    return text


def check(guide, assize, write):
    complaints = []
    with tempfile.TemporaryDirectory() as folder:
        site = pathlib.Path(folder) / 'sample-site'
        shutil.copytree(HERE / 'sample-site', site, ignore=shutil.ignore_patterns('assize.db*', 'reports'))
        text = guide.read_text()
        new = BLOCK.sub(lambda m: '```\n' + check_block(m[1], folder, assize, write, complaints) + '```\n', text)
        if write and new != text:
            guide.write_text(new)
    return complaints


def main():
    words = [w for w in sys.argv[1:] if w != '--write']
    write = '--write' in sys.argv
    guides = [pathlib.Path(w) for w in words[1:]] or sorted((HERE / 'docs/guides').glob('*.md'))
    bad = 0
    for guide in guides:
        complaints = check(guide, words[0], write)
        print(f'{"not ok" if complaints else "ok"} {guide.name}: its commands print what it says')
        for complaint in complaints:
            print(complaint)
        bad += bool(complaints)
    sys.exit(1 if bad or not guides else 0)


main()
