# SPDX-License-Identifier: GPL-3.0-or-later
"""Each key that site.yaml, program.yaml and a method file may have, by the tables of the engine, stands in docs/settings.md; the page
names no other; and the program folder that it begins can be audited.

    settings.py ASSIZE"""
import os
import pathlib
import re
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parents[2]
page = (ROOT / 'docs/settings.md').read_text(encoding='utf-8')


def keys_of_engine():
    for name in ('settings.c', 'settings_files.c', 'method.c'):
        text = (ROOT / 'engine/intake' / name).read_text(encoding='utf-8')
        yield from re.findall(r'\.key = "(\w+)"|NUMBER(?:_TO)?\("(\w+)"|text_is\(node->key, "(\w+)"\)', text)


def keys_of_page():
    """The first cell of each row, and what stands between braces as a list of names."""
    for row in re.findall(r'^\| (`[^|]*) \|', page, re.M):
        yield from re.findall(r'`(\w+)(?:`|:)', row)
    for group in re.findall(r'`\{([a-z_, ]+)\}', page):
        yield from group.split(', ')


def begin_program(assize):
    """Runs the lines that begin a program; the audit has nothing to judge."""
    lines = page.split('To begin one:\n\n')[1].split('\n\n')[0]
    with tempfile.TemporaryDirectory() as folder:
        path = f'{pathlib.Path(assize).resolve().parent}:{os.environ["PATH"]}'
        made = subprocess.run(['bash', '-ec', lines], cwd=folder, env={**os.environ, 'PATH': path}, text=True,
                              stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    return made.returncode == 0 and 'Three Larches, September 2026' in made.stdout, made.stdout + made.stderr


bad = 0
engine = {key for keys in keys_of_engine() for key in keys if key}
of_page = set(keys_of_page())
name = 'docs/settings.md has each key of the settings and no other'
if engine == of_page:
    print('ok', name)
else:
    print(f'not ok {name}: missing {sorted(engine - of_page)}, unknown {sorted(of_page - engine)}')
    bad = 1
name = 'the program that docs/settings.md begins can be audited'
done, said = begin_program(sys.argv[1])
print('ok' if done else 'not ok', name if done else f'{name}: {said}')
sys.exit(bad or not done)
