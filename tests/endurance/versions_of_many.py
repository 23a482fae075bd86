"""Their versions of many made-up pianos with made-up choices: sums, faults, wishes and quotations hold on each.

    python -m tests.endurance.versions_of_many --pianos 300 --seed 1

Of 300 with seed 1 all hold.
"""

from __future__ import annotations

import argparse
import sys

import numpy as np

from tests.their_versions import check_papers, check_versions, random_case
from valuation.rules import load_tables


def main() -> int:
    """Try the pianos and say how many versions there were; an assertion names the first that doesn't hold."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pianos", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    rng, tables, made, papers = np.random.default_rng(asked.seed), load_tables(), 0, 0
    for i in range(asked.pianos):
        case = random_case(tables, rng)
        made += check_versions(*case)
        papers += check_papers(*case)
        if (i + 1) % 50 == 0:
            print(f"{i + 1} pianos: {made} versions and {papers} quotations hold", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
