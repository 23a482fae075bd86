"""How fast an appraisal is, beside what NumPy needs to draw as many numbers in the same run.

Run: ``python -m tests.benchmark.bench_appraise``. Times are CPU milliseconds, medians over the demo pianos; the bars
are those the project set itself, printed and not asserted, since a busy machine says nothing of the code.

The floor is drawing one standard normal for each quantity that is uncertain about that piano: a few that all ways
share, the parts, and the operations that some way does or may do. How many these are is printed beside it.
"""

from __future__ import annotations

import subprocess
import sys
import tracemalloc
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from resource import RUSAGE_CHILDREN, getrusage
from statistics import median
from time import process_time

import numpy as np

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from valuation.engine.appraise import appraise, report  # noqa: E402
from valuation.engine.choices import weigh  # noqa: E402
from valuation.engine.condition import infer, prior_of  # noqa: E402
from valuation.engine.decision import aims_of  # noqa: E402
from valuation.engine.evidence import read_findings  # noqa: E402
from valuation.engine.frontier import cost_and_result  # noqa: E402
from valuation.engine.next_looks import known_of, looks_of  # noqa: E402
from valuation.engine.outcomes import FIRST_PART, noise_of, outcomes_of  # noqa: E402
from valuation.engine.payoffs import moments_of  # noqa: E402
from valuation.engine.plans import search  # noqa: E402
from valuation.engine.study import Answer, Study, decide_at, study_of, what_if  # noqa: E402
from valuation.engine.turns import flips  # noqa: E402
from valuation.files.visit_file import read_visit  # noqa: E402
from valuation.rules import load_tables  # noqa: E402

DRAWS = 8192
USUAL = 70
"""Uncertain quantities of the middle demo piano, as printed; `bench_batch` takes them for any piano."""

REPEATS = 15


def cpu_ms(job: Callable[[], object], repeats: int = REPEATS) -> float:
    """Return the median CPU time of a job [ms]."""
    times = []
    for _ in range(repeats):
        start = process_time()
        job()
        times.append(1000 * (process_time() - start))
    return median(times)


def decided_afresh(study: Study, answer: Answer) -> Answer:
    """Decide on the ladders as they are weighed, with nothing kept of an earlier search or look at a plan."""
    bench = replace(answer.bench, kept={}, told={})
    return decide_at(study, among=lambda payoff: (bench, search(bench, payoff, aims_of(study.tables.scopes))))


def measure(visit, tables) -> dict[str, float]:
    """Time one piano, step by step; every line is what a fresh answer costs, tables and choices being known."""
    study = study_of(visit, tables, on=visit.on, draws=DRAWS)
    answer, condition = decide_at(study), study.condition
    known, stakes = known_of(study, answer), study.figures.stakes
    found = report(study, answer)
    operations = {line.operation for option in found.options for line in (*option.lines, *option.allowances)}
    quantities = FIRST_PART + len(condition.network.parts) + len(operations)
    rng = np.random.default_rng(0)
    whole, floor = [], []
    for _ in range(REPEATS):  # turn and turn about, so that both meet the same machine
        floor.append(cpu_ms(lambda: rng.standard_normal((quantities, DRAWS)), 1))
        whole.append(cpu_ms(lambda: appraise(visit, tables, on=visit.on, draws=DRAWS, turns=False), 1))
    tracemalloc.start()
    appraise(visit, tables, on=visit.on, draws=DRAWS)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return {
        "quantities": quantities,
        "floor": median(floor),
        "appraise": median(whole),
        "ratio": median(whole) / median(floor),
        "findings": cpu_ms(lambda: read_findings(condition.network, visit, tables.settings.usual_humidity)),
        "posterior": cpu_ms(
            lambda: infer(
                condition.network,
                prior_of(tables, condition.network, visit.piano, visit.on.year),
                condition.evidence,
                condition.view,
            )
        ),
        "ladders": cpu_ms(
            lambda: weigh(
                study.catalogue,
                condition,
                study.prices,
                study.market,
                moments_of(stakes),
                study.extent,
                tables.settings,
            )
        ),
        "scopes": cpu_ms(lambda: decided_afresh(study, answer)),
        "draws": cpu_ms(lambda: (noise_of.cache_clear(), outcomes_of(study, answer))),
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
    """Return the CPU time that a fresh process takes to import the whole core and the readers [s]."""

    def seconds(code: str) -> float:
        before = getrusage(RUSAGE_CHILDREN)
        subprocess.run([sys.executable, "-c", code], check=True, cwd=ROOT)
        after = getrusage(RUSAGE_CHILDREN)
        return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime

    bare, full = (
        min(seconds(code) for _ in range(3)) for code in ("pass", "import valuation.engine.appraise, valuation.files")
    )
    return full - bare


BARS = {
    "quantities": ("", "that are uncertain about a piano"),
    "floor": ("ms", f"NumPy draws as many times {DRAWS:,} standard normals"),
    "appraise": ("ms", "whole appraisal, without where the verdict turns"),
    "ratio": ("x", "appraisal over floor; bar 4, never over 6"),
    "findings": ("ms", "findings into likelihoods"),
    "posterior": ("ms", "odds of all faults and parts; bar 0.3"),
    "ladders": ("ms", "every ladder of every part weighed; bar 4"),
    "scopes": ("ms", "scopes and what pays, in all openings; bar 6"),
    "draws": ("ms", "price, value and net of every way"),
    "next checks": ("ms", "worth of every open check; bar 10"),
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
