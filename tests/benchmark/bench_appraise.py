"""How fast an appraisal is, beside what NumPy needs to draw as many numbers in the same run.

Run: ``python tests/benchmark/bench_appraise.py``. Times are CPU milliseconds, medians over the demo pianos; the bars
are those the project set itself, printed and not asserted, since a busy machine says nothing of the code.
"""

from __future__ import annotations

import subprocess
import sys
import tracemalloc
from collections.abc import Callable
from datetime import date
from pathlib import Path
from statistics import median
from time import perf_counter, process_time

import numpy as np

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from valuation.core.explain import all_actions  # noqa: E402
from valuation.core.next_checks import share_out, worth_of_checks  # noqa: E402
from valuation.core.search import best_plans  # noqa: E402
from valuation.core.stages import frontier  # noqa: E402
from valuation.engine.appraise import appraise, report  # noqa: E402
from valuation.engine.condition import assess, see  # noqa: E402
from valuation.engine.study import Study  # noqa: E402
from valuation.files.visit_file import read_visit  # noqa: E402
from valuation.rules import load_tables

DRAWS = 8192
REPEATS = 15


def cpu_ms(job: Callable[[], object], repeats: int = REPEATS) -> float:
    """Return the median CPU time of a job [ms]."""
    times = []
    for _ in range(repeats):
        start = process_time()
        job()
        times.append(1000 * (process_time() - start))
    return median(times)


def quantities(study: Study) -> int:
    """Return how many uncertain quantities an appraisal draws: states, history and noises, operations."""
    return study.draws.quantities


def measure(visit, tables) -> dict[str, float]:
    """Time one piano, part by part; every line is what a fresh answer costs, tables and workshop being known."""
    study = Study(visit, tables, on=visit.on, draws=DRAWS)
    decision = study.decide()
    expected, way, rules, shop = decision.expected, decision.ways, study.rules, study.shop
    report(study, decision)
    drawn = quantities(study)
    rng = np.random.default_rng(0)
    made = frozenset(finding.check for finding in visit.findings)
    benefit = rng.uniform(0, 3000, len(shop.choices))

    def next_checks() -> None:
        actions = all_actions(study, decision)
        joint = share_out(expected, actions)
        worth_of_checks(expected, joint, [a.option for a in actions], decision.next_option, made)

    seen = see(study.net, visit)
    whole, floor = [], []
    for _ in range(REPEATS):  # turn and turn about, so that both meet the same machine
        floor.append(cpu_ms(lambda: rng.standard_normal((drawn, DRAWS)), 1))
        whole.append(cpu_ms(lambda: appraise(visit, tables, on=visit.on, draws=DRAWS), 1))
    tracemalloc.start()
    appraise(visit, tables, on=visit.on, draws=DRAWS)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return {
        "quantities": drawn,
        "floor": median(floor),
        "appraise": median(whole),
        "ratio": median(whole) / median(floor),
        "posterior": cpu_ms(lambda: [assess(study.net, seen, study.ages) for _ in range(50)]) / 50,
        "best plans": cpu_ms(lambda: best_plans(expected, way.work, way.price, rules)),
        "frontier": cpu_ms(lambda: frontier(shop, benefit, study.prices.expected)),
        "next checks": cpu_ms(next_checks),
        "what-if": cpu_ms(lambda: study.decide(study.what_if(finished_scale=float(rng.uniform(0.8, 1.2))))),
        "memory": peak / 1e6,
    }


def first_ms() -> float:
    """Return the CPU time of the first appraisal in a fresh process: it makes ready what the tables come to [ms]."""
    code = (
        "from datetime import date\n"
        "from tests.benchmark.bench_appraise import DRAWS, ROOT, appraise, cpu_ms, load_tables, read_visit\n"
        "tables, path = load_tables(), min((ROOT / 'data_demo' / 'visits').glob('*.toml'))\n"
        "visit = read_visit(path, tables, today=date.today())\n"
        "print(cpu_ms(lambda: appraise(visit, tables, on=visit.on, draws=DRAWS), 1))"
    )
    runs = [subprocess.run([sys.executable, "-c", code], check=True, cwd=ROOT, capture_output=True) for _ in range(3)]
    return min(float(run.stdout) for run in runs)


def import_seconds() -> float:
    """Return the best of three fresh processes that import the whole core and the readers [s]."""
    code = "import valuation.engine.appraise, valuation.files"
    bare, full = [], []
    for _ in range(3):
        for times, text in ((bare, "pass"), (full, code)):
            start = perf_counter()
            subprocess.run([sys.executable, "-c", text], check=True, cwd=ROOT)
            times.append(perf_counter() - start)
    return min(full) - min(bare)


BARS = {
    "quantities": ("", "uncertain quantities drawn"),
    "floor": ("ms", "NumPy draws as many standard normals"),
    "appraise": ("ms", "whole appraisal"),
    "ratio": ("x", "appraisal over floor; bar 4, never over 6"),
    "posterior": ("ms", "bar 0.3"),
    "best plans": ("ms", "both classes; bar 5"),
    "frontier": ("ms", "whole frontier; bar 10"),
    "next checks": ("ms", "with plans made anew; bar 15"),
    "what-if": ("ms", "decided anew on kept draws; bar 8"),
    "memory": ("MB", "peak of one appraisal; bar 50"),
}


def main() -> None:
    """Print the medians and the worst over the demo pianos beside their bars."""
    tables = load_tables()
    results = []
    for path in sorted((ROOT / "data_demo" / "visits").glob("*.toml")):
        results.append(measure(read_visit(path, tables, today=date.today()), tables))  # noqa: DTZ011, PERF401
    print(f"{len(results)} demo pianos, {DRAWS:,} draws, Python {sys.version.split()[0]}, NumPy {np.__version__}")
    print(f"{'':14}{'middle':>9}{'worst':>9}")
    for name, (unit, bar) in BARS.items():
        values = [result[name] for result in results]
        print(f"{name:14}{median(values):9.2f}{max(values):9.2f} {unit:3} {bar}")
    print(
        f"{'first':14}{first_ms():9.2f}{'':9} ms  first appraisal in a fresh process, with what is kept of the tables"
    )
    print(f"{'import':14}{import_seconds():9.2f}{'':9} s   core and readers in a fresh process; bar 0.3")


if __name__ == "__main__":
    main()
