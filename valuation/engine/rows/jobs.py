"""The way of an evaluation to a finished job, and the standard that the finished piano is held to."""

from __future__ import annotations

from dataclasses import dataclass

from valuation.engine.rows import words
from valuation.engine.rows.words import KIND_CHOICES, OUTCOMES
from valuation.facts.columns import column
from valuation.facts.units import UNITS


@dataclass(frozen=True, slots=True, kw_only=True)
class StageRow:
    """A stage of an evaluation on its way to a finished job, or beside that way."""

    id: str = column("stage")
    name: str = column("name shown to people")
    step: int = column("place along the way from asking to delivery, from 1; 0 for a stage beside it", low=0, high=99)
    outcome: str = column("what it says of the client's decision; 'open' also where nobody answers", choices=OUTCOMES)
    in_hand: bool = column("its hours are taken on and still to be done")
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class ReasonRow:
    """A reason why an evaluation went the way it did."""

    id: str = column("reason")
    name: str = column("name shown to people")
    stages: tuple[str, ...] = column("stages that it is offered for, separated by ';'", refers_to="stages")
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class FollowUpRow:
    """Something to do so many days after a stage began, unless another stage has begun by then."""

    id: str = column("follow-up")
    stage: str = column("stage that it follows", refers_to="stages")
    after_days: int = column("days after the stage began", unit="days", low=0, high=3650)
    what: str = column("what is to be done, in a few words")
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class HandoverRow:
    """The shop's own standard for one thing measured on the finished piano, before it is handed over."""

    id: str = column("standard")
    kinds: str = column("which pianos", choices=KIND_CHOICES)
    name: str = column("what is measured, in a few words")
    how: str = column("how to do it")
    taken: str = column("once for each note, or at each pin", choices=("note", "pin"))
    from_key: int = column("lowest key that it is measured at, 1 is the lowest A", low=1, high=88)
    to_key: int = column("highest key", low=1, high=88)
    unit: str = column("unit, as stored", choices=UNITS)
    low: float | None = column("least that is within the standard", default=None)
    high: float | None = column("greatest that is within the standard", default=None)
    even_within: float | None = column(
        "farthest that a note may lie from the middle of its neighbours", above=0, default=None
    )
    after: tuple[str, ...] = column(
        "holds only where one of these operations was done; empty: always", refers_to="operations", default=()
    )
    source: str = words.source()
    note: str = words.note()
