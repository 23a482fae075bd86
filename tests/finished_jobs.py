"""Invented finished jobs with a known truth of how long work takes. Nothing here is real."""

from __future__ import annotations

import math

import numpy as np

from valuation.engine.money import log_spread
from valuation.engine.rows import OperationRow, Tables
from valuation.jobs.records import Job, WorkDone
from valuation.learn.hours import family_of


def own_spread(row: OperationRow, job_spread: float) -> float:
    """Return an operation's spread beside the job's, as the core reads the tables."""
    spread = log_spread(row.hours_low, row.hours_likely, row.hours_high)
    return math.sqrt(max(spread**2 - job_spread**2, 0.05**2))


def families(tables: Tables) -> list[str]:
    return sorted({family_of(row, tables) for row in tables.operations})


def true_ratios(tables: Tables, rng: np.random.Generator) -> dict[str, float]:
    """Draw log ratios: the whole shop is off, and each family by something of its own."""
    shop = 0.15 * rng.standard_normal()
    return {family: shop + 0.2 * rng.standard_normal() for family in families(tables)}


def finished_job(
    tables: Tables,
    rng: np.random.Generator,
    truth: dict[str, float],
    visit: str,
    *,
    kind: str = "",
    operations=None,
    job_spread: float = 0.2,
    stretch: float = 1.2,
) -> Job:
    """Draw one job: any operations, or those given, with hours by the truth."""
    kind = kind or str(rng.choice(["upright", "grand"]))
    rows = {name: row for name, row in tables.of_kind("operations", kind).items() if row.hours_likely > 0}
    some = int(min(rng.integers(4, 14), len(rows)))
    names = operations if operations is not None else rng.choice(list(rows), some, replace=False)
    whole = job_spread * rng.standard_normal()
    work = []
    for name in (str(n) for n in names if str(n) in rows):
        row = rows[name]
        luck = stretch * own_spread(row, tables.settings.job_spread) * rng.standard_normal()
        hours = row.hours_likely * math.exp(truth[family_of(row, tables)] + whole + luck)
        work.append(WorkDone(operation=name, hours=hours))
    return Job(visit=visit, kind=kind, work=tuple(work))
