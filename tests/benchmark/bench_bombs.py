"""How soon small files that unfold to huge ones are refused, and what memory that takes: at most 2 s and 200 MB.

::

    .venv/bin/python -m tests.benchmark.bench_bombs
"""

from __future__ import annotations

import tempfile
from pathlib import Path

from tests.unit.test_bombs import BOMBS, read_alone

if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        for what, (how, name, make) in BOMBS.items():
            path = Path(folder) / name
            path.write_bytes(make())
            memory, seconds, told = read_alone(how, path)
            size = path.stat().st_size
            print(
                f"{what:50} {size / 1e6:6.2f} MB  {seconds:5.2f} s  {memory / 1e6:5.0f} MB  {told.splitlines()[0][:90]}"
            )
