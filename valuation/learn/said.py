"""What was said before the work against what the open piano showed, and what came back within a year."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from math import fsum

from valuation.jobs.ledger import Ledger
from valuation.learn.earned import Booked
from valuation.learn.shares import Share, share_of

YEAR = 365
"""Days within which a return counts for the year after."""

_NEEDED = ("yes", "no")


@dataclass(frozen=True, slots=True, kw_only=True)
class SaidAndFound:
    """If-found lines of one operation that were answered.

    Attributes
    ----------
    operation : str
        Empty for all.
    said : float
        The mean of the chances that were told [-].
    needed : Share
        How often it was needed, whether or not the client then wanted it.
    """

    operation: str
    said: float
    needed: Share

    @property
    def says(self) -> bool:
        """Whether the cases tell that it was said wrongly."""
        return self.needed.is_told and not self.needed.low <= self.said <= self.needed.high


def said_and_found(ledgers: Iterable[Ledger]) -> tuple[SaidAndFound, ...]:
    """Return how likely if-found lines were told to be and how often they were needed: all, then by operation."""
    groups: dict[str, list[tuple[float, bool]]] = {"": []}
    for ledger in ledgers:
        for row in ledger.if_found:
            if row.answer and row.chance is not None:
                case = (row.chance, row.answer in _NEEDED)
                groups[""].append(case)
                groups.setdefault(row.operation, []).append(case)
    return tuple(
        SaidAndFound(
            operation=name,
            said=fsum(chance for chance, _ in cases) / len(cases),
            needed=share_of(sum(needed for _, needed in cases), len(cases)),
        )
        for name, cases in groups.items()
        if cases
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class YearAfter:
    """What came back within a year of delivery, of jobs that went home at least a year ago.

    Attributes
    ----------
    back : Share
        Jobs that came back at least once.
    hours, cost : float
        What that took [h] and cost.
    causes : tuple of (str, int)
        The most frequent first.
    """

    back: Share
    hours: float
    cost: float
    causes: tuple[tuple[str, int], ...]


def year_after(finished: Iterable[Booked], *, on: date) -> YearAfter:
    """Return what came back within a year of delivery."""
    old = [b for b in finished if b.job.delivered is not None and (on - b.job.delivered).days >= YEAR]
    returns = [
        [back for back in b.ledger.returns if (back.day - b.job.delivered).days <= YEAR]
        for b in old
        if b.job.delivered is not None
    ]
    each = [back for own in returns for back in own]
    causes: dict[str, int] = {}
    for back in each:
        causes[back.cause] = causes.get(back.cause, 0) + 1
    return YearAfter(
        back=share_of(sum(bool(own) for own in returns), len(old)),
        hours=sum(back.hours for back in each),
        cost=sum(back.cost for back in each),
        causes=tuple(sorted(causes.items(), key=lambda item: (-item[1], item[0]))),
    )
