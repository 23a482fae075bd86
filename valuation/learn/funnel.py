"""How far evaluations get, and which of them become jobs: counts first, shares only where they tell something."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from valuation.engine.rows import StageRow
from valuation.jobs.records import Evaluation
from valuation.jobs.stages import NO, OPEN, YES, Course
from valuation.learn.decisions import OUTCOME_CODES, Waits
from valuation.learn.shares import Share, share_of

SETTLE_DAYS = 180
"""A younger evaluation is not yet held against others: it has had no time to become a job [days]. Our own choice; most
that come, come within it."""

NOT_KNOWN = ""
"""Group of the evaluations for which nobody wrote it down."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reached:
    """One stage along the way.

    Attributes
    ----------
    reached : int
        How many got so far, or further.
    of_before : Share
        Of those that stood at the stage before, how many got so far or further; of all for the first. Who skipped the
        stage before is none of them: whether a client who is asked says yes isn't told by one who never was.
    """

    stage: str
    reached: int
    of_before: Share


@dataclass(frozen=True, slots=True, kw_only=True)
class Conversion:
    """What became of the evaluations of one group.

    Attributes
    ----------
    evaluations, yes, no, open : int
        All of them, and how each stands today.
    settled : Share
        Of those at least `SETTLE_DAYS` old, the share that had become a job within that time.
    """

    group: str
    evaluations: int
    yes: int
    no: int
    open: int
    settled: Share


def funnel(courses: Iterable[Course], stages: Sequence[StageRow]) -> tuple[Reached, ...]:
    """Return how many got how far along the way.

    A stage further on implies those before it, whether or not anybody entered them.

    Returns
    -------
    tuple of Reached
        By step; stages beside the way are left out.
    """
    way = sorted((row for row in stages if row.step), key=lambda row: row.step)
    alike = Counter((course.furthest, course.entered) for course in courses)
    found = []
    for before, row in zip([None, *way], way, strict=False):
        stood = {one: n for one, n in alike.items() if before is None or before.id in one[1]}
        found.append(
            Reached(
                stage=row.id,
                reached=sum(n for (step, _), n in alike.items() if step >= row.step),
                of_before=share_of(sum(n for (step, _), n in stood.items() if step >= row.step), sum(stood.values())),
            )
        )
    return tuple(found)


def conversion(
    evaluations: Iterable[Evaluation],
    waits: Waits,
    by: Callable[[Evaluation], str],
    *,
    on: date,
    settle_days: int = SETTLE_DAYS,
) -> tuple[Conversion, ...]:
    """Return what became of the evaluations, group by group.

    Parameters
    ----------
    evaluations : iterable of Evaluation
        Those made later than `on` are left out.
    waits : Waits
        Of the same evaluations, in the same order, as they stood on that day.
    by : function of Evaluation to str
        The group, such as `by_month`; see also `by_price`.
    settle_days : int
        Time that an evaluation is given [days].

    Returns
    -------
    tuple of Conversion
        By group, in the order of their names.
    """
    told = [evaluation for evaluation in evaluations if evaluation.on <= on]
    names = [by(evaluation) for evaluation in told]
    groups = {name: place for place, name in enumerate(sorted(set(names)))}
    place = np.array([groups[name] for name in names], dtype=int)
    settled_by = on - timedelta(days=settle_days)
    old = np.array([evaluation.on <= settled_by for evaluation in told], dtype=bool)
    came = old & (waits.outcome == OUTCOME_CODES[YES]) & (waits.days <= settle_days)

    def counted(which: np.ndarray) -> list[int]:
        return np.bincount(place[which], minlength=len(groups)).tolist()

    yes, no, open_ = (counted(waits.outcome == OUTCOME_CODES[outcome]) for outcome in (YES, NO, OPEN))
    settled = map(share_of, counted(came), counted(old))
    return tuple(
        Conversion(group=group, evaluations=y + n + o, yes=y, no=n, open=o, settled=share)
        for group, y, n, o, share in zip(groups, yes, no, open_, settled, strict=True)
    )


def by_month(evaluation: Evaluation) -> str:
    """Return the month of the evaluation, such as ``2026-05``."""
    return evaluation.on.isoformat()[:7]


def by_source(evaluation: Evaluation) -> str:
    """Return where the client came from."""
    return evaluation.source or NOT_KNOWN


def by_verdict(evaluation: Evaluation) -> str:
    """Return the option that came out best."""
    return evaluation.verdict


def by_technician(evaluation: Evaluation) -> str:
    """Return who made the evaluation."""
    return evaluation.technician or NOT_KNOWN


def by_price(edges: Sequence[float]) -> Callable[[Evaluation], str]:
    """Return a function that tells the price band of an evaluation: 1 is the lowest, in figures of one width.

    Parameters
    ----------
    edges : sequence of float
        Where one band ends and the next begins, rising; see `thirds`.

    Examples
    --------
    >>> from valuation.facts.visit import Range
    >>> asked = Evaluation(visit="v", on=date(2026, 5, 4), kind="grand", verdict="rebuild",
    ...                    price=Range(low=3000, likely=4000, high=5000))
    >>> by_price([1000, 6000])(asked)
    '2'
    """
    width = len(str(len(edges) + 1))

    def band(evaluation: Evaluation) -> str:
        if evaluation.price is None:
            return NOT_KNOWN
        return str(1 + bisect_right(edges, evaluation.price.likely)).zfill(width)

    return band


def thirds(evaluations: Iterable[Evaluation]) -> tuple[float, ...]:
    """Return the two prices that part the evaluations with a price into thirds; none where there are fewer than 3."""
    prices = [evaluation.price.likely for evaluation in evaluations if evaluation.price is not None]
    return tuple(float(edge) for edge in np.quantile(prices, [1 / 3, 2 / 3])) if len(prices) >= 3 else ()
