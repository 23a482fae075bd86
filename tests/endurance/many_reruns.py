"""One session drawn again and again: the memory of the server may not grow with it.

    python -m tests.endurance.many_reruns [--reruns 2000] [--may-grow 60]

Goes about the pages as a person does, in one session with one piano open. Once
caches are full, which the first quarter is for, what the process holds is read; at the end it may hold so many MB more.
Prints a Markdown table, and ends with 1 where it grew.
"""

from __future__ import annotations

import argparse
import gc
import os
import sys
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

from streamlit.testing.v1 import AppTest

from tests.demo_shop import go, opened, start

SECTIONS = ("verdict", "condition", "work", "what_if", "inspect", "jobs", "visits", "tables", "people")
_PAGE = os.sysconf("SC_PAGE_SIZE") if hasattr(os, "sysconf") else 4096


def held() -> float:
    """Return how much memory this process holds [MB]."""
    gc.collect()
    return int(Path("/proc/self/statm").read_text().split()[1]) * _PAGE / 1e6


def reruns(page: AppTest, count: int) -> Iterator[int]:
    """Draw pages so many times; yields how often one was drawn."""
    page = opened(page, 1)
    for number in range(1, count + 1):
        page = go(page, SECTIONS[number % len(SECTIONS)])
        yield number


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--reruns", type=int, default=2000)
    parser.add_argument("--may-grow", type=float, default=60, help="From the first quarter to the end [MB].")
    given = parser.parse_args()
    print("| reruns | MB held |\n| --- | --- |")
    with TemporaryDirectory(prefix="endurance-") as folder:
        os.environ |= {"VALUATION_DATA": folder, "DATABASE_URL": ""}
        first = 0.0
        for number in reruns(start(), given.reruns):
            if number == given.reruns // 4:
                first = held()
            if number % (given.reruns // 8) == 0:
                print(f"| {number:,} | {held():.0f} |", flush=True)
        grown = held() - first
    print(f"\nSince the first quarter: {grown:+.0f} MB")
    sys.exit(grown > given.may_grow)


if __name__ == "__main__":
    main()
