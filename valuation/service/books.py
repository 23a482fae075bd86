"""The shop's books: what finished jobs earned, what they took against what was priced, and who works here.

What for: the owner's pages. Everything is read from the ledgers; nothing here is ever told to a client. Invented jobs
count only as long as the shop has none of its own. Never reads the clock.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from valuation.engine.money import tax_of
from valuation.engine.rows import Tables
from valuation.jobs.remaining import expected_of, hours_left
from valuation.jobs.stages import gone_home
from valuation.learn import Comparison, compare_estimates
from valuation.learn.earned import Booked, Earnings, earnings
from valuation.learn.ratios import Ratio, ratio_of
from valuation.learn.said import SaidAndFound, YearAfter, said_and_found, year_after
from valuation.learn.scoreboard import Promise, promises_of
from valuation.service.known import booked_in
from valuation.service.outcomes import MOST_JOBS, only_invented
from valuation.service.people_at_work import people_of
from valuation.service.visits import Shop
from valuation.store import ledgers
from valuation.store.ledgers import Visited

RUNS_OVER = 0.1
"""A job in hand runs over from such a share of the priced hours on [-]."""

QUARTER, YEAR, EVER = "quarter", "year", "ever"


def period(name: str, on: date) -> tuple[date, date]:
    """Return the first and last day of the last full quarter, of the last twelve months, or of all time.

    Examples
    --------
    >>> period("quarter", date(2026, 5, 4))
    (datetime.date(2026, 1, 1), datetime.date(2026, 3, 31))
    """
    if name == QUARTER:
        first = date(on.year, 3 * ((on.month - 1) // 3) + 1, 1)
        last = first - timedelta(days=1)
        return date(last.year, 3 * ((last.month - 1) // 3) + 1, 1), last
    return (on - timedelta(days=364), on) if name == YEAR else (date.min, on)


@dataclass(frozen=True, slots=True, kw_only=True)
class InHand:
    """One job in hand: hours as priced, done, and still to do as it looks now [h]."""

    visit: str
    title: str
    priced: float
    done: float
    left: float
    promised: date | None

    @property
    def at_completion(self) -> float:
        """Hours that it will have taken [h]."""
        return self.done + self.left

    @property
    def over(self) -> float:
        """Hours by which it runs over what was priced; 0 within `RUNS_OVER` of it [h]."""
        beyond = self.at_completion - self.priced
        return beyond if self.done and beyond > RUNS_OVER * self.priced else 0.0


@dataclass(frozen=True, eq=False, kw_only=True)
class Books:
    """The shop's books for a span of days.

    Attributes
    ----------
    invented : bool
        Only the demo's, for the shop has none of its own.
    earned : Earnings
        Of the jobs delivered within the span.
    agreed_of_quoted, final_of_agreed, materials_of_priced : Ratio
        The price agreed on over the one quoted; what was paid in the end over that agreed on; what materials cost over
        what was priced for them.
    estimates : Comparison
        Hours done against hours expected.
    said : tuple of SaidAndFound
        If-found lines: how likely they were told to be, and how often they were needed.
    visited : Visited
        What the evaluation visits within the span took and brought in.
    from_visits : float
        What the jobs that came of those visits and are finished earned, before tax.
    year_after : YearAfter
        Of the jobs that went home at least a year before the last day.
    in_hand : tuple of InHand
        The one promised first comes first.
    promises : tuple of Promise
        Those of which it became known within the span what came.
    """

    first: date
    last: date
    invented: bool
    earned: Earnings
    agreed_of_quoted: Ratio
    final_of_agreed: Ratio
    materials_of_priced: Ratio
    estimates: Comparison
    said: tuple[SaidAndFound, ...]
    visited: Visited
    from_visits: float
    year_after: YearAfter
    in_hand: tuple[InHand, ...]
    promises: tuple[Promise, ...]


def books(shop: Shop, book: Tables, *, first: date, last: date) -> Books:
    """Work out the shop's books for a span of days, as they stood on its last."""
    invented = only_invented(shop)
    finished = booked_in(shop, book, gone_home(book.stages), on=last, demo=invented, most=MOST_JOBS)
    hand = booked_in(shop, book, [row.id for row in book.stages if row.in_hand], on=last, demo=invented)
    within = [b for b in finished if b.job.delivered and first <= b.job.delivered <= last]
    costs = {person.name: person.cost_an_hour for person in people_of(shop)}
    tax, spread = tax_of(book, last).labour, book.settings.job_spread
    earned = earnings(within, tax=tax, job_spread=spread, cost_an_hour=costs.get)
    with shop.store.reading() as connection:
        visited = ledgers.visited(connection, first, last, demo=invented)
    whole = earnings(finished, tax=tax, job_spread=spread, cost_an_hour=costs.get)
    return Books(
        first=first,
        last=last,
        invented=invented,
        earned=earned,
        agreed_of_quoted=_prices([(b.ledger.price, b.ledger.quoted) for b in within]),
        final_of_agreed=_prices([(b.ledger.price_now, b.ledger.price) for b in within]),
        materials_of_priced=_prices([_materials(b) for b in within]),
        estimates=compare_estimates([b.job for b in within], book),
        said=said_and_found([b.ledger for b in within]),
        visited=visited,
        from_visits=sum(money.earned - money.returns for b, money in whole.jobs if b.job.visit in visited.visits),
        year_after=year_after(finished, on=last),
        in_hand=_in_hand(hand, spread),
        promises=tuple(promise for b in within for promise in promises_of(b)),
    )


def _prices(pairs: Sequence[tuple[float | None, float | None]]) -> Ratio:
    known = [(above, below) for above, below in pairs if above is not None and below]
    return ratio_of([above for above, _ in known], [below for _, below in known])


def _materials(booked: Booked) -> tuple[float | None, float | None]:
    used = sum(entry.cost for entry in booked.job.work)
    return used or None, sum(line.materials for line in booked.ledger.lines) or None


def _in_hand(hand: Sequence[Booked], spread: float) -> tuple[InHand, ...]:
    made = [
        InHand(
            visit=b.job.visit,
            title=b.title,
            priced=sum(expected_of(line, spread) for line in b.job.estimate),
            done=sum(b.job.hours_by_operation.values()),
            left=hours_left(b.job, spread),
            promised=b.ledger.promised,
        )
        for b in hand
    ]
    return tuple(sorted(made, key=lambda one: (one.promised or date.max, one.title)))
