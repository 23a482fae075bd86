"""Time and memory of a batch: made-up pianos through the real command, held against drawing their numbers.

    python -m tests.benchmark.bench_batch [500 2000] [--jobs 2]

prints a Markdown table, one line for each number of pianos. The floor is what NumPy needs, in as many processes and in
the same run, to draw a standard normal for each uncertain quantity of a usual piano, as in `bench_appraise`; so a slow
machine and a fast one can be compared. 'Free cores' is processor time, the processes' own start included, shared among
them: what the clock would show if nothing else ran. The goals: ten thousand pianos in 60 s on two free cores or in
three times the floor, time in proportion to the number, memory that doesn't grow with it. Memory is read from /proc,
so on Linux only.

The pianos are the invented ones of `data_demo`, changed at random (seed 0): findings left out, graded otherwise,
measured a little otherwise, other years, tiers, budgets and premiums.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from datetime import date
from multiprocessing import get_context
from pathlib import Path
from resource import RUSAGE_CHILDREN, getrusage
from tempfile import TemporaryDirectory

import numpy as np

from tests.benchmark.bench_appraise import DRAWS, USUAL
from valuation import service
from valuation.engine.rows import Tables
from valuation.facts.visit import Finding, Visit

ROOT = Path(__file__).parents[2]
TODAY = date(2026, 12, 31)
GOAL_SECONDS, GOAL_PIANOS, GOAL_RATIO = 60, 10_000, 3.0
LEFT_OUT, OTHERWISE = 0.3, 0.15


@dataclass(frozen=True)
class Measured:
    """What one batch took: by the clock, of processor time [s]; greatest memory of the main and any other process."""

    seconds: float
    processor_s: float
    main_mb: float
    worker_mb: float


def changed(visit: Visit, tables: Tables, rng: np.random.Generator) -> Visit:
    """Return a visit like this one, but not this one."""
    checks = tables.of_kind("checks", visit.piano.kind)

    def again(finding: Finding) -> Finding:
        check = checks[finding.check]
        if finding.grade and rng.random() < OTHERWISE:
            return replace(finding, grade=str(rng.choice(list(check.choices))))
        readings = tuple(
            replace(r, value=float(np.clip(r.value * rng.normal(1, 0.1), check.lowest, check.highest)))
            for r in finding.readings
        )
        return replace(finding, readings=readings)

    piano, client = visit.piano, visit.client
    year = int(rng.integers(1880, 1985))
    return replace(
        visit,
        findings=tuple(again(finding) for finding in visit.findings if rng.random() > LEFT_OUT),
        piano=replace(
            piano,
            year=year,
            tier=str(rng.choice([row.id for row in tables.tiers])),
            renewed=tuple((part, max(when, year)) for part, when in piano.renewed),
        ),
        client=replace(
            client,
            to_have=float(rng.choice([0, 150, 600, 2400])),
            to_hear=float(rng.choice([0, 350, 1400, 5600])),
            budget=None if rng.random() < 0.5 else float(rng.integers(1000, 40000)),
        ),
    )


def write_pianos(folder: Path, count: int, tables: Tables) -> None:
    """Write so many visit files."""
    rng = np.random.default_rng(0)
    demo = [service.read_visit_file(path, tables, TODAY) for _, path in service.demo_visits()]
    for k in range(count):
        visit = changed(demo[k % len(demo)], tables, rng)
        (folder / f"{k:06}.toml").write_text(service.write_visit_text(visit, tables), encoding="utf-8")


def draw_only(shape: tuple[int, int], pianos: int) -> float:
    """Return the processor time that drawing the numbers of so many pianos takes in this process [s]."""
    rng = np.random.default_rng(0)
    rng.standard_normal(shape)
    start = time.process_time()
    for _ in range(pianos):
        rng.standard_normal(shape)
    return time.process_time() - start


def floor_seconds(count: int, jobs: int, shape: tuple[int, int], pianos: int = 300) -> float:
    """Return what drawing the numbers of `count` pianos takes, spread over the processes [s]."""
    with ProcessPoolExecutor(jobs, get_context("spawn")) as pool:
        seconds = list(pool.map(draw_only, [shape] * jobs, [pianos] * jobs))
    return float(np.mean(seconds)) / pianos * count / jobs


def peak_mb(process: int) -> float:
    """Return the greatest memory that a process has had [MB]; 0 where it has gone."""
    try:
        status = Path(f"/proc/{process}/status").read_text()
    except OSError:
        return 0.0
    peaks = [line.split()[1] for line in status.splitlines() if line.startswith("VmHWM")]
    return int(peaks[0]) / 1024 if peaks else 0.0


def run_batch(folder: Path, out: Path, jobs: int) -> Measured:
    """Run the command, and watch the memory of its processes."""
    command = [sys.executable, "-m", "valuation", "batch", str(folder), "--out", str(out), "--jobs", str(jobs)]
    start, before = time.perf_counter(), getrusage(RUSAGE_CHILDREN)
    main_mb, worker_mb = 0.0, 0.0
    with subprocess.Popen([*command, "--draws", str(DRAWS)], cwd=ROOT) as process:
        while process.poll() is None:
            main_mb = max(main_mb, peak_mb(process.pid))
            try:
                others = Path(f"/proc/{process.pid}/task/{process.pid}/children").read_text().split()
            except OSError:
                others = []
            worker_mb = max([worker_mb, *(peak_mb(int(other)) for other in others)])
            time.sleep(0.1)
    if process.returncode:
        raise SystemExit(f"the batch ended with {process.returncode}")
    seconds, after = time.perf_counter() - start, getrusage(RUSAGE_CHILDREN)
    processor_s = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return Measured(seconds, processor_s, main_mb, worker_mb)


def main() -> None:
    """Print the table, and fail where a goal is missed."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("counts", nargs="*", type=int, default=[500, 2000], help="numbers of pianos, rising")
    parser.add_argument("--jobs", type=int, default=min(2, os.cpu_count() or 1))
    arguments = parser.parse_args()
    counts, jobs = sorted(arguments.counts), arguments.jobs
    tables = service.load_shop()
    print(f"| pianos | clock, s | {jobs} free cores, s | ms a piano | floor, s | ratio | main, MB | worker, MB |")
    print("| ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |")
    measured, free, ratio = [], [], 0.0
    for count in counts:
        with TemporaryDirectory() as folder:
            pianos = Path(folder) / "pianos"
            pianos.mkdir()
            write_pianos(pianos, count, tables)
            floor = floor_seconds(count, jobs, (USUAL, DRAWS))
            measured.append(run_batch(pianos, Path(folder) / "out.csv", jobs))
        free.append(measured[-1].processor_s / jobs)
        ratio = free[-1] / floor
        cells = (measured[-1].seconds, free[-1], 1000 * free[-1] * jobs / count, floor, ratio)
        memory = f"{measured[-1].main_mb:.0f} | {measured[-1].worker_mb:.0f}"
        print(f"| {count:,} | {' | '.join(f'{cell:.1f}' for cell in cells)} | {memory} |", flush=True)
    first, last = measured[0], measured[-1]
    at_this_pace = free[-1] / counts[-1] * GOAL_PIANOS
    print(
        f"\nFloor: {USUAL} quantities of {DRAWS:,} draws a piano. {GOAL_PIANOS:,} at this pace: {at_this_pace:.0f} s."
    )
    missed = []
    if at_this_pace > GOAL_SECONDS and ratio > GOAL_RATIO:
        missed.append(f"more than {GOAL_SECONDS} s for {GOAL_PIANOS:,} and more than {GOAL_RATIO:g} times the floor")
    if free[-1] / free[0] > 1.2 * counts[-1] / counts[0]:
        missed.append("time grows faster than the number of pianos")
    if last.main_mb + last.worker_mb > 1.15 * (first.main_mb + first.worker_mb):
        missed.append("memory grows with the number of pianos")
    if missed:
        raise SystemExit("Missed: " + "; ".join(missed))


if __name__ == "__main__":
    main()
