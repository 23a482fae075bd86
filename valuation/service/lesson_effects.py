"""What proposals would do to the shop's evaluations, open and past, before any of them is taken in."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from valuation.errors import Problem, UserError
from valuation.learn import Proposal, with_proposals
from valuation.service.lessons import Lessons
from valuation.service.tables_effect import Effect, effect
from valuation.waiting import Heard, nobody

__all__ = ["Effect", "effects"]


def effects(
    lesson: Lessons, chosen: Sequence[Proposal], *, on: date, heard: Heard = nobody
) -> tuple[Effect, ...]:  # fmt: skip
    """Return what some proposals would do to the newest evaluations, open and past: those that move most first.

    Parameters
    ----------
    on : date
        Today; an evaluation is looked at by the prices of its own day, where the tables hold them.
    heard : callable
        Is told how far it is.

    Raises
    ------
    UserError
        If two of the proposals change one cell.
    """
    try:
        then = with_proposals(lesson.now, chosen, on=on)
    except ValueError as fault:
        raise UserError([Problem("tables", 0, "", str(fault))]) from None
    found = []
    for number, (recorded, job) in enumerate(lesson.newest, 1):
        found.append(effect(recorded, job, lesson.now, then, (recorded.visit.on, on)))
        heard(number / len(lesson.newest))
    return tuple(sorted(filter(None, found), key=lambda one: (not one.turns, -one.moved)))
