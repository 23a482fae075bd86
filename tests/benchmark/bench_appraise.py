"""How fast an appraisal is, beside what NumPy needs to draw as many numbers in the same run.

Run: ``python -m tests.benchmark.bench_appraise``. Times are CPU milliseconds, medians over the demo pianos; the bars
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

from valuation.engine.appraise import appraise, report  # noqa: E402
from valuation.engine.condition import assess  # noqa: E402
from valuation.engine.decision import aims_of  # noqa: E402
from valuation.engine.frontier import cost_and_result  # noqa: E402
from valuation.engine.next_looks import known_of, looks_of  # noqa: E402
from valuation.engine.outcomes import outcomes_of  # noqa: E402
from valuation.engine.plans import search  # noqa: E402
from valuation.engine.study import decide_at, study_of, what_if  # noqa: E402
from valuation.engine.turns import flips  # noqa: E402
from valuation.files.visit_file import read_visit  # noqa: E402
from valuation.rules import load_tables  # noqa: E402

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


def measure(visit, tables) -> dict[str, float]:
    """Time one piano, step by step; every line is what a fresh answer costs, tables and choices being known."""
    study = study_of(visit, tables, on=visit.on, draws=DRAWS)
    answer = decide_at(study)
    known = known_of(study, answer)
    report(study, answer)
    rng = np.random.default_rng(0)
    # A cause, the market, the job; for each part what is found and what it costs.
    drawn = 3 + 2 * len(study.condition.network.parts)
    whole, floor = [], []
    for _ in range(REPEATS):  # turn and turn about, so that both meet the same machine
        floor.append(cpu_ms(lambda: rng.standard_normal((drawn, DRAWS)), 1))
        whole.append(cpu_ms(lambda: appraise(visit, tables, on=visit.on, draws=DRAWS, turns=False), 1))
    tracemalloc.start()
    appraise(visit, tables, on=visit.on, draws=DRAWS)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return {
        "quantities": drawn,
        "floor": median(floor),
        "appraise": median(whole),
        "ratio": median(whole) / median(floor),
        "posterior": cpu_ms(lambda: assess(tables, visit, visit.on)),
        "plans": cpu_ms(lambda: search(answer.bench, answer.payoff, aims_of(tables.scopes))),
        "draws": cpu_ms(lambda: outcomes_of(study, answer)),
        "next checks": cpu_ms(lambda: looks_of(study, known_of(study, answer))),
        "what-if": cpu_ms(lambda: decide_at(study, what_if(study, finished_scale=float(rng.uniform(0.8, 1.2))))),
        "frontier": cpu_ms(lambda: cost_and_result(study)),
        "turns": cpu_ms(lambda: flips(study, answer, known), 3),
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
    "appraise": ("ms", "whole appraisal, without where the verdict turns"),
    "ratio": ("x", "appraisal over floor; bar 4"),
    "posterior": ("ms", "odds of all faults"),
    "plans": ("ms", "best plans of all scopes in all openings"),
    "draws": ("ms", "price, value and net of every way"),
    "next checks": ("ms", "with plans made anew"),
    "what-if": ("ms", "decided anew; bar 8"),
    "frontier": ("ms", "what each sum can bring"),
    "turns": ("ms", "where the verdict turns"),
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
