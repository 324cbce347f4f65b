# SPDX-License-Identifier: GPL-3.0-or-later
"""What is measured on: a network made once for each version of its generator, and the npm package of DuckDB."""
import hashlib
import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path

HERE = Path(__file__).resolve().parent.parent
YEARS = {'S': 1, 'M': 1, 'L': 2}


@dataclass
class Data:
    folder: Path
    first_day: str
    last_day: str

    @property
    def program(self):
        return self.folder / 'program'

    @property
    def next_day(self):
        return self.folder / 'next-day'

    def bytes_of_logs(self):
        return sum(file.stat().st_size for file in self.program.glob('sites/*/records/*.csv'))


def make(folder, size):
    sources = [HERE / 'make-network', *sorted(HERE.glob('network/*.py')), *sorted(HERE.glob('program/**/*.yaml'))]
    digest = hashlib.sha256(b''.join(file.read_bytes() for file in sources)).hexdigest()
    stamp = folder / 'made-by'
    if not stamp.exists() or stamp.read_text() != digest:
        shutil.rmtree(folder, ignore_errors=True)
        subprocess.run([HERE / 'make-network', folder, size], check=True)
        stamp.write_text(digest)
    return Data(folder, '2025-01-01', f'{2024 + YEARS[size]}-12-31')


def packages(folder):
    """The folder with node_modules, installed only when the lock changed."""
    lock = (HERE / 'duckdb/package-lock.json').read_bytes()
    stamp = folder / 'installed-lock.json'
    if not stamp.exists() or stamp.read_bytes() != lock:
        folder.mkdir(parents=True, exist_ok=True)
        for name in ('package.json', 'package-lock.json'):
            shutil.copy(HERE / 'duckdb' / name, folder)
        subprocess.run(['npm', 'ci', '--ignore-scripts', '--no-audit', '--no-fund'], cwd=folder, check=True,
                       stdout=subprocess.DEVNULL)
        stamp.write_bytes(lock)
    return folder
