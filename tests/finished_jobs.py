"""Invented finished jobs with a known truth of how long work takes. Nothing here is real."""

from __future__ import annotations

import math

import numpy as np

from valuation.engine.money import log_spread
from valuation.engine.network import fits
from valuation.engine.rows import Tables
from valuation.jobs.expected import expected_hours
from valuation.jobs.records import EstimatedHours, Job, WorkDone
from valuation.learn.hours import family_of


def own_spread(hours: EstimatedHours, job_spread: float) -> float:
    """Return an operation's spread beside the job's, as the engine reads the tables."""
    spread = log_spread(hours.low, hours.likely, hours.high)
    return math.sqrt(max(spread**2 - job_spread**2, 0.05**2))


def families(tables: Tables) -> list[str]:
    return sorted({family_of(row, tables) for row in tables.operations})


def true_ratios(tables: Tables, rng: np.random.Generator) -> dict[str, float]:
    """Draw log ratios: the whole shop is off, and each family by something of its own."""
    shop = 0.15 * rng.standard_normal()
    return {family: shop + 0.2 * rng.standard_normal() for family in families(tables)}


def counted(tables: Tables, kind: str, operation: str, rng: np.random.Generator) -> dict[str, float]:
    """Draw what a small repair treats: one of its faults, and some pieces of it; nothing for other work."""
    row = tables.of_kind("operations", kind)[operation]
    there = {fault.id for fault in tables.faults if fits(fault, kind, ())}
    cured = [cure.fault for cure in tables.cures if cure.operation == operation and cure.fault in there]
    if row.level != "small" or not cured:
        return {}
    return {str(rng.choice(cured)): float(rng.integers(1, 20))}


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
    work, pieces = [], {}
    for name in (str(n) for n in names if str(n) in rows):
        pieces[name] = counted(tables, kind, name, rng)
        prior = expected_hours(tables, kind, (), name, pieces[name])
        luck = stretch * own_spread(prior, tables.settings.job_spread) * rng.standard_normal()
        hours = prior.likely * math.exp(truth[family_of(rows[name], tables)] + whole + luck)
        work.append(WorkDone(operation=name, hours=hours))
    return Job(visit=visit, kind=kind, work=tuple(work), pieces=pieces)
