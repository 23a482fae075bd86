"""The bench: when each job in hand may be done, the earliest date for another piano, and whether the hours are there.

For the pages, and for whoever needs a date to put into a quotation: `earliest_date`. Never reads the clock.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from valuation.engine.appraisal import Appraisal
from valuation.engine.rows import Tables
from valuation.facts.visit import Visit
from valuation.jobs.bench_plan import HORIZON_DAYS, Dates, Queued, play, queued, worked_by
from valuation.jobs.records import Job
from valuation.jobs.remaining import hours_left
from valuation.jobs.told import estimate_of
from valuation.learn.earned import Booked
from valuation.service.known import booked_in
from valuation.service.outcomes import only_invented
from valuation.service.people_at_work import people_of
from valuation.service.visits import Shop

_ANOTHER = "another"
"""Stands for the piano that isn't in hand yet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OnTheBench:
    """One job in hand, in the order of the queue.

    Attributes
    ----------
    left : float
        Expected hours still to do [h].
    """

    visit: str
    title: str
    left: float
    dates: Dates
    promised: date | None

    @property
    def kept(self) -> float | None:
        """How likely the promise is kept [-]; None where nothing was promised."""
        return None if self.promised is None else self.dates.odds(self.promised)


def bench_plan(shop: Shop, book: Tables, *, on: date) -> tuple[OnTheBench, ...]:
    """Return when each job in hand may be done; nothing as long as nobody is said to work at the bench."""
    people = people_of(shop)
    hand = _in_hand(shop, book, on)
    if not people:
        return ()
    spread = book.settings.job_spread
    dates = play([_queued(b, book) for b in hand], people, on=on, job_spread=spread)
    return tuple(
        OnTheBench(
            visit=b.job.visit,
            title=b.title,
            left=hours_left(b.job, spread),
            dates=own,
            promised=b.ledger.promised,
        )
        for b, own in zip(hand, dates, strict=True)
    )


def earliest_date(shop: Shop, book: Tables, found: Appraisal, option: str, visit: Visit, *, on: date) -> Dates | None:
    """Return when a way of this piano may be done that is agreed on today; as `done_after_all`, None without work."""
    estimate = estimate_of(found, option, book, visit.piano)
    like = Job(visit=_ANOTHER, kind=visit.piano.kind, features=tuple(visit.piano.features), estimate=estimate)
    return done_after_all(shop, book, like, on=on) if estimate else None


def done_after_all(shop: Shop, book: Tables, like: Job, *, on: date, comes_in: date | None = None) -> Dates | None:
    """Return when a piano with such an estimate may be done that waits at the end of the queue; none of it is done yet.

    Parameters
    ----------
    like : Job
        Its kind, features and estimate.
    comes_in : date, optional
        Day on which the piano comes in.

    Returns
    -------
    Dates or None
        ``dates.by(0.9)`` is the day to promise. None where nobody is said to work at the bench.
    """
    people = people_of(shop)
    if not people:
        return None
    job = Job(visit=_ANOTHER, kind=like.kind, features=like.features, estimate=like.estimate)
    spread, rests = book.settings.job_spread, _rests(book, like.kind)
    queue = [_queued(b, book) for b in _in_hand(shop, book, on)]
    another = queued(_ANOTHER, job, rests, job_spread=spread, not_before=comes_in)
    return play([*queue, another], people, on=on, job_spread=spread)[-1]


@dataclass(frozen=True, slots=True, kw_only=True)
class HoursAhead:
    """Hours that are promised by a day, and those that people have at the bench until then [h]."""

    by: date
    promised: float
    there: float

    @property
    def short(self) -> float:
        """Hours that are missing; 0 where there are enough [h]."""
        return max(self.promised - self.there, 0.0)


def hours_ahead(shop: Shop, book: Tables, *, on: date) -> tuple[HoursAhead, ...]:
    """Return for each promised day what is promised by it and what is there, the first day first.

    Jobs without a promised day are promised by none, and left out; see `bench_plan` for them.
    """
    people, spread = people_of(shop), book.settings.job_spread
    promised: dict[date, float] = {}
    for booked in _in_hand(shop, book, on):
        if booked.ledger.promised is not None:
            left = hours_left(booked.job, spread)
            promised[booked.ledger.promised] = promised.get(booked.ledger.promised, 0.0) + left
    there = sum((worked_by(person, on) for person in people), np.zeros(HORIZON_DAYS))
    found, so_far = [], 0.0
    for day, hours in sorted(promised.items()):
        so_far += hours
        days = min((day - on).days, HORIZON_DAYS - 1)
        found.append(HoursAhead(by=day, promised=so_far, there=float(there[days]) if days >= 0 else 0.0))
    return tuple(found)


def _in_hand(shop: Shop, book: Tables, on: date) -> list[Booked]:
    """Return the jobs in hand in the order of the queue: promised first, then as they were agreed on."""
    stages = [row.id for row in book.stages if row.in_hand]
    hand = booked_in(shop, book, stages, on=on, demo=only_invented(shop))
    return sorted(hand, key=lambda b: (b.ledger.promised or date.max, b.ledger.agreed_on or date.max, b.job.visit))


def _queued(booked: Booked, book: Tables) -> Queued:
    rests = _rests(book, booked.job.kind)
    spread, only = book.settings.job_spread, booked.ledger.person
    return queued(booked.job.visit, booked.job, rests, job_spread=spread, only=only)


def _rests(book: Tables, kind: str) -> dict[str, float]:
    return {name: row.rests_days for name, row in book.of_kind("operations", kind).items()}
