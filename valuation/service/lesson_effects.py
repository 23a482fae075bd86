"""What proposals would do to the shop's evaluations, open and past, before any of them is taken in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from valuation.engine.decision import Decision
from valuation.engine.next_looks import readiness_of
from valuation.engine.rows import Tables
from valuation.engine.study import decide_at, study_of
from valuation.errors import Problem, UserError
from valuation.facts.errors import NotInForce
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
        Its expected price with either tables, tax included, in money.
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
        price=_price(before, work),
        price_then=_price(after, work),
    )


def _price(decision: Decision, work: str) -> float | None:
    scope = decision.best.get(work)
    return None if scope is None else scope.price


def _decided(recorded: RecordedVisit, tables: Tables, today: date) -> Decision | None:
    """Return the decision by the prices of the visit's day, or of today where the tables hold none for it.

    None where neither holds any, and where nothing can be decided yet: too little has been looked at.
    """
    visit = recorded.visit
    pins = {
        name.removeprefix(_PIN): entry.value
        for name, entry in recorded.counted.items()
        if name.startswith(_PIN) and isinstance(entry.value, str)
    }
    pinned = allowed_pins(pins, visit, tables)
    for on in (visit.on, today):
        try:
            study = study_of(visit, tables, on=on, pinned=pinned)
        except NotInForce:
            continue
        return decide_at(study).decision if readiness_of(study).ready else None
    return None
