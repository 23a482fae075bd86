"""Two thousand exports with values that no field should hold: each is taken in or told, and every page has its answer.

::

    .venv/bin/python -m tests.endurance.poisoned_imports --first 0 --last 2000

A hundred go into one shop. `tests/property/test_poisoned_imports.py` does the same with a few.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys

TESTS = {
    "fields": "test_every_page_still_answers_after_any_import",
    "exports": "test_an_export_with_any_part_of_it_poisoned_is_taken_in_or_told_and_the_shop_goes_on",
    "walk": "test_whatever_a_device_sends_is_stored_or_refused_and_every_page_still_answers",
}

if __name__ == "__main__":
    parser = argparse.ArgumentParser(description="Exports with values that no field should hold.")
    parser.add_argument("--first", type=int, default=0, help="First seed.")
    parser.add_argument("--last", type=int, default=2000, help="The seed after the last.")
    parser.add_argument("--of", choices=TESTS, default="fields", help="What is poisoned.")
    asked = parser.parse_args()
    test = f"tests/property/test_poisoned_imports.py::{TESTS[asked.of]}"
    wanted = os.environ | {"POISON_FIRST": str(asked.first), "POISON_LAST": str(asked.last)}
    sys.exit(subprocess.run([sys.executable, "-m", "pytest", "-q", test], env=wanted, check=False).returncode)
