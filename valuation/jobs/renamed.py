"""Operations that older tables called otherwise: what was agreed on and done under those names keeps teaching."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import replace

from valuation.jobs.records import EstimatedHours, WorkDone

RENAMED: dict[str, tuple[tuple[str, float], ...]] = {
    "straps_and_springs": (("bridle_straps_renewed", 0.75), ("action_springs_renewed", 0.25)),
    "action_rebuilt": (("action_overhaul", 1.0),),
}
"""Older name -> today's, and its share of the hours where the work was divided (own estimate) [-]."""


def today_of(operation: str, known: Collection[str]) -> tuple[str, ...]:
    """Return what an operation is called today; nothing where the tables have neither it nor what became of it.

    Examples
    --------
    >>> today_of("action_rebuilt", {"action_overhaul"})
    ('action_overhaul',)
    >>> today_of("restring", {"restring"})
    ('restring',)
    >>> today_of("gilding", {"restring"})
    ()
    """
    if operation in known:
        return (operation,)
    return tuple(name for name, _ in RENAMED.get(operation, ()) if name in known)


def divided_work(done: WorkDone) -> tuple[WorkDone, ...]:
    """Return work under today's names; its materials stay with the first."""
    shares = RENAMED.get(done.operation, ((done.operation, 1.0),))
    return tuple(
        replace(
            done,
            operation=name,
            hours=share * done.hours,
            materials=done.materials if place == 0 else (),
            cost=done.cost if place == 0 else 0.0,
        )
        for place, (name, share) in enumerate(shares)
    )


def divided_estimate(lines: Iterable[EstimatedHours], known: Collection[str]) -> tuple[EstimatedHours, ...]:
    """Return estimated hours under today's names; what today's tables have under no name stays as it was."""
    return tuple(
        EstimatedHours(operation=name, low=share * line.low, likely=share * line.likely, high=share * line.high)
        for line in lines
        for name, share in (
            RENAMED[line.operation]
            if line.operation not in known and line.operation in RENAMED
            else [(line.operation, 1)]
        )
    )
