"""Whom to ring today: the latest step of each open evaluation, by what is at stake, and quotations about to expire.

What is at stake is the price that the client was told, times the chance that it becomes a job. Somebody who said no is
never rung. Never reads the clock.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from valuation.engine.rows import Tables
from valuation.jobs.follow_ups import FollowUp
from valuation.jobs.stages import NO, OPEN
from valuation.service.due import due_steps
from valuation.service.outcomes import Happened
from valuation.service.visits import Shop
from valuation.store import ledgers

EXPIRES_WITHIN = 7
"""A quotation that holds no longer than so many days is about to expire [days]."""

MOST = 500
"""Nobody makes more calls: those with the least at stake are left out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ToRing:
    """One client to ring.

    Attributes
    ----------
    what : str
        The step, as the table or somebody has it; empty where only the quotation is about to expire.
    price : float or None
        What the client was told, tax included.
    chance : float or None
        That it becomes a job [-]; None where nothing was told, or it is one.
    expires_on : date or None
        Last day of a quotation that is about to expire.
    """

    visit: str
    title: str
    client: str
    phone: str
    what: str
    due_on: date | None
    price: float | None
    chance: float | None
    expires_on: date | None

    @property
    def at_stake(self) -> float:
        """Price times chance."""
        return (self.price or 0.0) * (self.chance or 0.0)


def whom_to_ring(shop: Shop, book: Tables, found: Happened, *, on: date) -> tuple[ToRing, ...]:
    """Return whom to ring by a day, the one with the most at stake first.

    Parameters
    ----------
    found : Happened
        As `outcomes.happened` works it out for the same day.
    """
    courses, chances = found.known.courses, {one.visit: one.share for one in found.open}
    latest = _latest(due_steps(shop, book, found.known), on)
    prices = {evaluation.visit: evaluation.price for evaluation in found.known.evaluations}

    def at_stake(visit: str) -> float:
        price = prices.get(visit)
        return price.likely * chances.get(visit, 0.0) if price else 0.0

    with shop.store.reading() as connection:
        lasts = {
            visit: made + timedelta(days=book.settings.quote_days)
            for visit, made in ledgers.newest_quotations(connection).items()
            if visit not in courses or courses[visit].outcome == OPEN
        }
        expiring = {v: day for v, day in lasts.items() if on <= day <= on + timedelta(days=EXPIRES_WITHIN)}
        asked = [v for v in {*latest} | {*expiring} if v not in courses or courses[v].outcome != NO]
        wanted = sorted(asked, key=lambda visit: (-at_stake(visit), visit))[:MOST]
        called = ledgers.clients(connection, wanted)
    made = []
    for visit in wanted:
        who = called.get(visit)
        if who is None or who.invented != found.invented:
            continue
        step, price = latest.get(visit), prices.get(visit)
        made.append(
            ToRing(
                visit=visit,
                title=who.title,
                client=who.client,
                phone=who.phone,
                what=step.what if step else "",
                due_on=step.day if step else None,
                price=price.likely if price else None,
                chance=chances.get(visit),
                expires_on=expiring.get(visit),
            )
        )
    return tuple(sorted(made, key=lambda one: (-one.at_stake, one.due_on or date.max, one.visit)))


def _latest(steps: tuple[FollowUp, ...], on: date) -> Mapping[str, FollowUp]:
    """Return of each visit the step that is due last: one call does for all before it."""
    found: dict[str, FollowUp] = {}
    for step in steps:
        if step.day <= on and (step.visit not in found or step.day >= found[step.visit].day):
            found[step.visit] = step
    return found
