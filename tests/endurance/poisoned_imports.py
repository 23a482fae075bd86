"""Two thousand exports with values that no field should hold: each is taken in, and every page has its answer.

::

    .venv/bin/python -m tests.endurance.poisoned_imports --first 0 --last 2000

A hundred go into one shop. `tests/property/test_poisoned_imports.py` does the same with a few.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys

TEST = "tests/property/test_poisoned_imports.py::test_every_page_still_answers_after_any_import"

if __name__ == "__main__":
    parser = argparse.ArgumentParser(description="Exports with values that no field should hold.")
    parser.add_argument("--first", type=int, default=0, help="First seed.")
    parser.add_argument("--last", type=int, default=2000, help="The seed after the last.")
    asked = parser.parse_args()
    wanted = os.environ | {"POISON_FIRST": str(asked.first), "POISON_LAST": str(asked.last)}
    sys.exit(subprocess.run([sys.executable, "-m", "pytest", "-q", TEST], env=wanted, check=False).returncode)
