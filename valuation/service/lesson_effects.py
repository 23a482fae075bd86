"""What proposals would do to the shop's evaluations, open and past, before any of them is taken in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from valuation.core.decide import Decision, Study
from valuation.core.draws import SMALLEST
from valuation.core.errors import NotInForce
from valuation.core.rows import Tables
from valuation.errors import Problem, UserError
from valuation.files.pins import allowed_pins
from valuation.files.recorded_visit import RecordedVisit
from valuation.jobs.recorded_job import RecordedJob
from valuation.jobs.stages import OPEN
from valuation.learn import Proposal, with_proposals
from valuation.service.lessons import Lessons

__all__ = ["Effect", "effects"]

WITH_WORK = ("rebuild", "partial_repair")

_PIN = "pin."


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What some proposals would do to one evaluation.

    Attributes
    ----------
    visit, title : str
    is_open : bool
        The client has not decided yet.
    verdict, verdict_then : str
        The option that comes out best, as it is and as it would be.
    work : str
        The better of the two ways with work, as it is; empty where none can be done.
    price, price_then : float or None
        Its expected price with either tables, less what the old piano brings in, in money.
    """

    visit: str
    title: str
    is_open: bool
    verdict: str
    verdict_then: str
    work: str
    price: float | None
    price_then: float | None

    @property
    def turns(self) -> bool:
        """Whether the verdict would be another one."""
        return self.verdict != self.verdict_then

    @property
    def moved(self) -> float:
        """By what share the price of the work would move [-]; 0 where there is none to move."""
        return abs(self.price_then / self.price - 1) if self.price and self.price_then is not None else 0.0


def effects(lesson: Lessons, chosen: Sequence[Proposal], *, on: date) -> tuple[Effect, ...]:
    """Return what some proposals would do to the newest evaluations, open and past: those that move most first.

    Parameters
    ----------
    lesson : Lessons
    chosen : sequence of Proposal
    on : date
        Today; an evaluation is looked at by the prices of its own day, where the tables hold them.

    Raises
    ------
    UserError
        If two of the proposals change one cell.
    """
    try:
        then = with_proposals(lesson.now, chosen, on=on)
    except ValueError as fault:
        raise UserError([Problem("tables", 0, "", str(fault))]) from None
    found = [_effect(recorded, job, lesson.now, then, on) for recorded, job in lesson.newest]
    return tuple(sorted(filter(None, found), key=lambda effect: (not effect.turns, -effect.moved)))


def _effect(recorded: RecordedVisit, job: RecordedJob, now: Tables, then: Tables, today: date) -> Effect | None:
    before, after = (_decided(recorded, tables, today) for tables in (now, then))
    if before is None or after is None:
        return None
    work = max((option for option in WITH_WORK if option in before.nets), key=before.nets.get, default="")
    return Effect(
        visit=recorded.id,
        title=recorded.visit.title,
        is_open=job.course is None or job.course.outcome == OPEN,
        verdict=before.verdict,
        verdict_then=after.verdict,
        work=work,
        price=before.prices.get(work),
        price_then=after.prices.get(work),
    )


def _decided(recorded: RecordedVisit, tables: Tables, today: date) -> Decision | None:
    """Return the decision by the prices of the visit's day, or of today where the tables hold none for it."""
    visit = recorded.visit
    pins = {
        name.removeprefix(_PIN): entry.value
        for name, entry in recorded.counted.items()
        if name.startswith(_PIN) and isinstance(entry.value, str)
    }
    pinned = allowed_pins(pins, visit, tables)
    for on in (visit.on, today):
        try:
            return Study(visit, tables, on=on, draws=SMALLEST, pinned=pinned).decide()
        except NotInForce:
            continue
    return None
