# SPDX-License-Identifier: GPL-3.0-or-later
"""The engine's functions, called through the driver, and the list of checks."""
import os
import re
import shlex
import subprocess
import sys
import traceback
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
BUILD = Path(os.environ.get('BUILD', ROOT / 'build'))
ASSIZE = os.environ.get('ASSIZE', str(BUILD / 'assize'))
DRIVER = BUILD / 'outside-driver'

CHECKS = []


def check(function):
    """Marks a check; its docstring's first line is its name. It fails by raising Mismatch."""
    CHECKS.append(function)
    return function


class Mismatch(Exception):
    pass


def build_driver():
    libraries = re.search(r'^LIBRARIES = (.*)', (ROOT / 'Makefile').read_text(), re.M)[1].split()
    asked = subprocess.run(['pkg-config', '--cflags', '--libs', *libraries], capture_output=True, text=True, check=True)
    command = [*shlex.split(os.environ.get('CC', 'gcc')), '-std=c11', '-D_POSIX_C_SOURCE=200809L', '-O2', '-Wall', '-Wextra',
               '-Werror', '-I', ROOT / 'engine', '-o', DRIVER, ROOT / 'tests/outside/driver.c', BUILD / 'libassize.a',
               *asked.stdout.split(), '-pthread', '-lm']
    subprocess.run(command, check=True)


def ask(lines):
    """The answers to lines `function argument…`, one text each."""
    run = subprocess.run([DRIVER], input='\n'.join(lines) + '\n', capture_output=True, text=True)
    answers = run.stdout.split('\n')[:-1]
    if run.returncode != 0 or len(answers) != len(lines):
        raise Mismatch(f'the driver ended with {run.returncode} after {len(answers)} of {len(lines)}: {run.stderr.strip()}')
    return answers


def listed(numbers):
    return ' '.join([str(len(numbers)), *(repr(float(x)) for x in numbers)])


def compare(cases, relative=1e-9, absolute=0.0):
    """Cases (line, expected numbers): each answer must be as near as told; nan and inf must be the same."""
    answers = ask([line for line, _ in cases])
    for (line, expected), answer in zip(cases, answers):
        found = [float(x) for x in answer.split()]
        if len(found) != len(expected) or not all(is_near(f, e, relative, absolute) for f, e in zip(found, expected)):
            raise Mismatch(f'{line[:300]}: engine {found}, expected {[float(e) for e in expected]}')


def is_near(found, expected, relative, absolute):
    expected = float(expected)
    if found == expected or (found != found and expected != expected):
        return True
    return abs(found - expected) <= max(relative * abs(expected), absolute)


def same(cases):
    """Cases (line, expected text)."""
    answers = ask([line for line, _ in cases])
    for (line, expected), answer in zip(cases, answers):
        if answer.strip() != expected:
            raise Mismatch(f'{line[:300]}: engine "{answer[:300]}", expected "{expected[:300]}"')


def expect(condition, why):
    if not condition:
        raise Mismatch(why)


def run_checks():
    bad = False
    for function in CHECKS:
        name = function.__doc__.split('\n')[0].rstrip('.')
        try:
            function()
            print(f'ok {name}', flush=True)
        except Mismatch as why:
            bad = True
            print(f'not ok {name}: {why}', flush=True)
        except Exception:  # a check that breaks is a failure of its own, and the others go on
            bad = True
            print(f'not ok {name}: {traceback.format_exc(limit=3)}', flush=True)
    return 1 if bad or not CHECKS else 0


def fail_all(why):
    print(f'not ok outside: {why}')
    sys.exit(1)
