"""What was promised against what came: prices and hours told as '8 in 10', days promised as '9 in 10'.

A price is held where the client took the way that it was told for; what the client had added later is not in it. Hours
of such a job, likewise. A day is the one promised last.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from valuation.facts.kinds import plain_number
from valuation.jobs.bench_plan import SURE
from valuation.jobs.ledger import DONE_AS_FOUND
from valuation.learn.earned import Booked
from valuation.learn.shares import Share, share_of

PRICE, HOURS, DAY = "price", "hours", "day"
SAID = {PRICE: 0.8, HOURS: 0.8, DAY: SURE}
"""How often each sort of promise is said to hold [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Promise:
    """One promise of which it is known what came.

    Attributes
    ----------
    kind : str
        `PRICE`, `HOURS` or `DAY`.
    kept : bool
    on : date
        When that was known: the day of delivery.
    who : str
        Who made it; empty where nobody is written down.
    """

    kind: str
    kept: bool
    on: date
    who: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """How often promises of one sort held: of all, or of one month or person.

    Attributes
    ----------
    kind, of : str
        `of` is empty for all.
    said : float
        How often they were said to hold [-].
    kept : Share
    """

    kind: str
    of: str
    said: float
    kept: Share

    @property
    def says(self) -> bool:
        """Whether the cases tell that they hold more or less often than was said."""
        return self.kept.is_told and not self.kept.low <= self.said <= self.kept.high


def promises_of(booked: Booked) -> list[Promise]:
    """Return the promises of one delivered job; none of one that isn't."""
    gone, ledger, told = booked.job.delivered, booked.ledger, booked.told
    if gone is None:
        return []
    who = str(told.get("technician") or "")
    made = []
    if told.get("verdict") and told["verdict"] == ledger.option:
        paid = ledger.price
        if paid is not None:
            paid += sum(row.price for row in ledger.if_found if row.answer == DONE_AS_FOUND)
        worked = sum(entry.hours for entry in booked.job.work) or None
        for kind, came in ((PRICE, paid), (HOURS, worked)):
            band = _band(told, kind)
            if band is not None and came is not None:
                made.append(Promise(kind=kind, kept=band[0] <= came <= band[1], on=gone, who=who))
    if ledger.promised is not None:
        made.append(Promise(kind=DAY, kept=gone <= ledger.promised, on=gone, who=""))
    return made


def _band(told: Mapping[str, Any], kind: str) -> tuple[float, float] | None:
    low, high = plain_number(told.get(f"{kind}_low")), plain_number(told.get(f"{kind}_high"))
    return None if low is None or high is None or high <= 0 else (low, high)


def scores(promises: Iterable[Promise], by: Callable[[Promise], str] = lambda _: "") -> tuple[Score, ...]:
    """Return how often promises held, by sort and group, in the order of their names.

    Parameters
    ----------
    promises : iterable of Promise
    by : function of Promise to str
        The group: all in one if left out; see `month_of` and `who_of`.
    """
    groups: dict[tuple[str, str], list[bool]] = {}
    for promise in promises:
        groups.setdefault((promise.kind, by(promise)), []).append(promise.kept)
    order = list(SAID)
    return tuple(
        Score(kind=kind, of=of, said=SAID[kind], kept=share_of(sum(kept), len(kept)))
        for (kind, of), kept in sorted(groups.items(), key=lambda item: (order.index(item[0][0]), item[0][1]))
    )


def month_of(promise: Promise) -> str:
    """Return the month in which it was known what came, such as ``2026-05``."""
    return f"{promise.on:%Y-%m}"


def who_of(promise: Promise) -> str:
    """Return who made it."""
    return promise.who
