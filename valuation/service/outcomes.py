"""What happened to the shop's evaluations, and what is coming: worked out over all, or said not to be known yet.

The screens call this. Invented evaluations count only as long as the shop has none of its own.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import partial

import numpy as np

from valuation.engine.rows import Tables
from valuation.facts.visit import Range
from valuation.jobs.records import Evaluation
from valuation.jobs.remaining import hours_left
from valuation.jobs.stages import NO, OPEN
from valuation.learn import (
    ATTRIBUTES,
    Carry,
    Chance,
    Conversion,
    Curve,
    Month,
    Reached,
    Waits,
    by_month,
    by_price,
    by_source,
    by_technician,
    by_verdict,
    coming_work,
    conversion,
    decided_for,
    fit_chance,
    funnel,
    judge,
    learn_delays,
    thirds,
    undecided,
    waits_of,
)
from valuation.learn.carry import SHOWN
from valuation.learn.chance import ChanceModel
from valuation.record.nameless import NO_NAME
from valuation.service.known import Known, booked_in, known_of, once
from valuation.service.visits import Shop
from valuation.store import job_lines

__all__ = [
    "CAPACITY",
    "Happened",
    "OpenChance",
    "explained",
    "happened",
    "marked",
    "only_invented",
    "thirds",
    "work_coming",
]

CAPACITY = "shop.hours_a_month"
"""Setting of the store: hours of work that the shop can do in a month [h]."""

MOST_JUDGED = 3000
"""Chances rest on the newest evaluations, so many at most: what clients did ten years ago says little of today's."""

MOST_JOBS = 1000
"""The books rest on the newest finished jobs, so many at most."""

YEAR = 365


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenChance:
    """The chance of one open evaluation to become a job [-], `waited` days after it."""

    visit: str
    title: str
    evaluation: Evaluation
    waited: float
    share: float


class Groups(Mapping[str, tuple[Conversion, ...]]):
    """What became of the evaluations by ``month``, ``source``, ``verdict``, ``price`` and ``technician``.

    Counted once it is asked for: a page shows one of them.
    """

    def __init__(self, told: Sequence[Evaluation], waits: Waits, by: Mapping[str, Callable], on: date) -> None:
        self._count = {name: partial(conversion, told, waits, group, on=on) for name, group in by.items()}
        self._counted: dict[str, tuple[Conversion, ...]] = {}

    def __getitem__(self, name: str) -> tuple[Conversion, ...]:
        if name not in self._counted:
            self._counted[name] = self._count[name]()
        return self._counted[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._count)

    def __len__(self) -> int:
        return len(self._count)


@dataclass(frozen=True, eq=False)
class Happened:
    """What happened, as it stood on a day.

    Attributes
    ----------
    invented : bool
        Only the demo's, for the shop has none of its own.
    by : Groups
    price_edges : tuple of float
        Where one price band ends and the next begins.
    undecided, yes, no : Curve or None
        None where there is no evaluation.
    open : tuple of OpenChance
        The likeliest first; the same chance for all, but for the time waited, where no more can be told.
    lost : tuple of (reason, count)
        Why evaluations came to a no, the most frequent first; '' where nobody said.
    model : ChanceModel or None
        For `explained` and `work_coming`.
    """

    on: date
    evaluations: int
    invented: bool
    way: tuple[Reached, ...]
    by: Groups
    price_edges: tuple[float, ...]
    undecided: Curve | None
    yes: Curve | None
    no: Curve | None
    carry: Carry | None
    open: tuple[OpenChance, ...]
    lost: tuple[tuple[str, int], ...]
    model: ChanceModel | None
    known: Known
    in_hand: float


def marked(shop: Shop) -> str:
    """Return a text that changes with every entry in the store, and with all that is forgotten there."""
    with shop.store.reading() as connection:
        return job_lines.marked(connection)


def only_invented(shop: Shop) -> bool:
    """Tell whether all evaluations that have got anywhere are the demo's."""
    with shop.store.reading() as connection:
        return not job_lines.has_own_jobs(connection) and job_lines.has_jobs(connection)


def happened(shop: Shop, book: Tables, *, on: date) -> Happened:
    """Work out what happened up to a day."""
    invented = only_invented(shop)
    known = known_of(shop, book, on=on, demo=invented)
    in_hand = booked_in(shop, book, [row.id for row in book.stages if row.in_hand], on=on, demo=invented)
    hours = sum(hours_left(b.job, book.settings.job_spread) for b in in_hand)
    found = once(shop, book, "happened", known, lambda: _happened(known, book, on, invented=invented), on=on)
    return replace(found, in_hand=hours)


def _happened(known: Known, book: Tables, on: date, *, invented: bool) -> Happened:
    """Work out all but the hours in hand."""
    told = known.evaluations
    edges = thirds(told)
    groups = {
        "month": by_month,
        "source": by_source,
        "verdict": by_verdict,
        "price": by_price(edges),
        "technician": by_technician,
    }
    waits = waits_of(told, known.courses, on=on)
    newest = told[-MOST_JUDGED:]
    carry, model, chances = _chances(newest, waits.some(np.arange(len(told))[-MOST_JUDGED:]), known, on)
    return Happened(
        on=on,
        evaluations=len(told),
        invented=invented,
        way=funnel(known.courses.values(), book.stages),
        by=Groups(told, waits, groups, on),
        price_edges=edges,
        undecided=undecided(waits) if told else None,
        yes=decided_for(waits, "yes") if told else None,
        no=decided_for(waits, "no") if told else None,
        carry=carry,
        open=chances,
        lost=_lost(known),
        model=model,
        known=known,
        in_hand=0.0,
    )


def _chances(
    newest: Sequence[Evaluation], waits: Waits, known: Known, on: date
) -> tuple[Carry | None, ChanceModel | None, tuple[OpenChance, ...]]:
    if not newest:
        return None, None, ()
    carry = judge(newest, waits, on=on)
    model = fit_chance(newest, waits, learn_delays(waits), attributes=ATTRIBUTES if carry.word == SHOWN else ())
    still = [e for e in _open(newest, waits) if known.titles[e.visit] != NO_NAME]  # nobody else can be asked any more
    waited = [float((on - e.on).days) for e in still]
    chances = [
        OpenChance(visit=e.visit, title=known.titles[e.visit], evaluation=e, waited=days, share=float(share))
        for e, days, share in zip(still, waited, model.chances(still, np.array(waited)), strict=True)
    ]
    return carry, model, tuple(sorted(chances, key=lambda one: (-one.share, one.visit)))


def explained(found: Happened, one: OpenChance) -> Chance:
    """Return the chance of an open evaluation with its limits and reasons."""
    if found.model is None:
        raise ValueError("nothing is known of any evaluation")
    return found.model.explain(one.evaluation, one.waited)


def _open(evaluations: Sequence[Evaluation], waits: Waits) -> list[Evaluation]:
    return [evaluation for evaluation, outcome in zip(evaluations, waits.outcome, strict=True) if outcome == 0]


def _lost(known: Known) -> tuple[tuple[str, int], ...]:
    reasons = Counter(course.reason for course in known.courses.values() if course.outcome == NO)
    return tuple(reasons.most_common())


def work_coming(found: Happened, *, capacity: float, months: int = 6) -> tuple[Month, ...]:
    """Return the hours of work that are coming, month by month, beside what the shop can do.

    Parameters
    ----------
    capacity : float
        Hours the shop can do in a month [h].

    Notes
    -----
    Evaluations yet to be made are expected to come as in the year before, with hours like theirs.
    """
    if found.model is None:
        return ()
    told = found.known.evaluations
    courses = found.known.courses
    waiting = [e for e in told if e.visit not in courses or courses[e.visit].outcome == OPEN]
    last_year = [e for e in told if found.on - timedelta(days=YEAR) < e.on]
    first = min(e.on for e in told)
    span = min(max((found.on - first).days, 30), YEAR)
    return coming_work(
        found.model,
        waiting[-MOST_JUDGED:],
        on=found.on,
        in_hand=found.in_hand,
        capacity=capacity,
        months=months,
        new_each_month=len(last_year) / span * 30.44,
        hours_of_new=_hours(last_year),
    )


def _hours(evaluations: Sequence[Evaluation]) -> list[Range]:
    return [e.hours for e in evaluations if e.hours is not None and e.hours.likely > 0]
