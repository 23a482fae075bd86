"""The owner's front page: how conversion goes, and by when a piano that is agreed on today may be done.

Whom to ring comes from `ringing`, the hours from `bench`. Never reads the clock.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from statistics import median_low

from valuation.engine.rows import Tables
from valuation.jobs.bench_plan import Dates
from valuation.jobs.records import Job
from valuation.learn import Conversion
from valuation.learn.pooled import Pooled, pooled
from valuation.learn.shares import share_of
from valuation.service.bench import done_after_all
from valuation.service.known import booked_in
from valuation.service.outcomes import only_invented
from valuation.service.visits import Shop

LEAST_SETTLED = 5
"""From so few settled evaluations nothing is told [-]."""

_QUARTERS = 8
_MOST_JOBS = 200
"""The usual job is that of the newest, so many at most."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Quarter:
    """Evaluations of one quarter that are old enough to be judged, how many became jobs, and what all tell of it.

    Attributes
    ----------
    name : str
        Such as ``2026-Q2``.
    """

    name: str
    evaluations: int
    jobs: int
    share: Pooled


def conversion_by_quarter(months: Sequence[Conversion]) -> tuple[Quarter, ...]:
    """Return how evaluations became jobs, by quarter, the latest last; nothing where too few are settled.

    Parameters
    ----------
    months : sequence of Conversion
        As `outcomes.happened` has them by month.
    """
    counts: dict[str, tuple[int, int]] = {}
    for month in months:
        name = f"{month.group[:4]}-Q{(int(month.group[5:7]) + 2) // 3}"
        jobs, of = counts.get(name, (0, 0))
        counts[name] = (jobs + month.settled.count, of + month.settled.of)
    filled = {name: pair for name, pair in sorted(counts.items()) if pair[1]}
    if sum(of for _, of in filled.values()) < LEAST_SETTLED:
        return ()
    shares = pooled([share_of(jobs, of) for jobs, of in filled.values()])
    quarters = [
        Quarter(name=name, evaluations=of, jobs=jobs, share=share)
        for (name, (jobs, of)), share in zip(filled.items(), shares, strict=True)
    ]
    return tuple(quarters[-_QUARTERS:])


@dataclass(frozen=True, slots=True, kw_only=True)
class NewPiano:
    """What a piano of the usual work takes [h], and when it may be done if it is agreed on today."""

    hours: float
    dates: Dates


def new_piano(shop: Shop, book: Tables, *, on: date) -> NewPiano | None:
    """Return when a piano with as much work as the shop's jobs usually have may be done.

    None where nobody is said to work at the bench, or no job has an estimate.
    """
    stages = [row.id for row in book.stages]
    known = booked_in(shop, book, stages, on=on, demo=only_invented(shop), most=_MOST_JOBS)
    jobs = [one.job for one in known if one.job.estimate]
    if not jobs:
        return None
    usual = median_low(sorted(map(_hours, jobs)))
    pattern = next(job for job in jobs if _hours(job) == usual)
    dates = done_after_all(shop, book, pattern, on=on)
    return None if dates is None else NewPiano(hours=usual, dates=dates)


def _hours(job: Job) -> float:
    return sum(line.likely for line in job.estimate)
