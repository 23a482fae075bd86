"""Where an evaluation stands: told from its dated events, of which none is ever changed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from valuation.engine.rows import StageRow
from valuation.jobs.records import JobEvent

OPEN, YES, NO = "open", "yes", "no"
"""What a stage says of the client's decision."""


def standing(events: Sequence[JobEvent]) -> tuple[JobEvent, ...]:
    """Return the events that still hold, in the order in which they happened.

    An event holds unless a later entry that itself holds corrects it. So taking a correction back brings the first
    event to life again, and the whole history stays readable.

    Parameters
    ----------
    events : sequence of JobEvent
        Of one visit, in the order in which they were entered.

    Returns
    -------
    tuple of JobEvent
        By day; on one day in the order of entry, a correction in the place of what it corrects.

    Raises
    ------
    ValueError
        If an id stands twice, or an event corrects one that was not entered before it, or one of another visit.
    """
    place: dict[str, int] = {}
    visits: dict[str, str] = {}
    for i, event in enumerate(events):
        if event.id in visits:
            raise ValueError(f"event {event.id}: the id is taken; give each event an id of its own")
        if event.corrects and visits.get(event.corrects) != event.visit:
            raise ValueError(f"event {event.id}: visit {event.visit} has no earlier event {event.corrects} to correct")
        visits[event.id] = event.visit
        place[event.id] = place.get(event.corrects, i)
    corrected: set[str] = set()
    holding = []
    for event in reversed(events):
        if event.id not in corrected:
            corrected.add(event.corrects)
            if event.stage:
                holding.append(event)
    return tuple(sorted(holding, key=lambda event: (event.day, place[event.id])))


@dataclass(frozen=True)
class Course:
    """The way of one evaluation so far.

    Attributes
    ----------
    events : tuple of JobEvent
        Those that hold, as from `standing`; at least one.
    """

    visit: str
    events: tuple[JobEvent, ...]
    stages: dict[str, StageRow]

    @cached_property
    def stage(self) -> StageRow:
        """The present stage."""
        return self.stages[self.events[-1].stage]

    @cached_property
    def since(self) -> date:
        """Day on which the present stage began."""
        return self._began(lambda event: event.stage == self.stage.id)

    @cached_property
    def outcome(self) -> str:
        """The client's decision as it stands: ``open``, ``yes`` or ``no``."""
        return self.stage.outcome

    @cached_property
    def decided_on(self) -> date | None:
        """Day of that decision; None while it is open. A 'no' that became a 'yes' counts from the 'yes'."""
        if self.outcome == OPEN:
            return None
        return self._began(lambda event: self.stages[event.stage].outcome == self.outcome)

    @cached_property
    def reason(self) -> str:
        """The reason last given in the present stage."""
        reasons = [event.reason for event in self.events if event.stage == self.stage.id and event.reason]
        return reasons[-1] if reasons else ""

    @cached_property
    def times(self) -> int:
        """How often the present stage has begun, this time included."""
        stages = [event.stage for event in self.events]
        return sum(
            stage == self.stage.id and before != stage for before, stage in zip(["", *stages], stages, strict=False)
        )

    @cached_property
    def furthest(self) -> int:
        """The furthest step along the way that was reached; 0 if none."""
        return max(self.stages[event.stage].step for event in self.events)

    @cached_property
    def entered(self) -> frozenset[str]:
        """The stages that anybody entered."""
        return frozenset(event.stage for event in self.events)

    def _began(self, belongs) -> date:
        day = self.events[-1].day
        for event in reversed(self.events):
            if not belongs(event):
                break
            day = event.day
        return day


def courses(events: Iterable[JobEvent], stages: Sequence[StageRow], *, on: date) -> dict[str, Course]:
    """Return the way of every evaluation, as it stood on a day.

    Parameters
    ----------
    events : iterable of JobEvent
        In the order in which they were entered; of any visits.
    stages : sequence of StageRow
        The table of stages.
    on : date
        What happened later is left out.

    Returns
    -------
    dict of str to Course
        By visit; a visit without any event is missing.

    Raises
    ------
    ValueError
        If an event names a stage that the table does not have, or as `standing` says.
    """
    rows = {row.id: row for row in stages}
    by_visit: dict[str, list[JobEvent]] = {}
    for event in events:
        if event.stage and event.stage not in rows:
            raise ValueError(f"event {event.id}: '{event.stage}' is not a stage; write one of {', '.join(rows)}")
        by_visit.setdefault(event.visit, []).append(event)
    found = {}
    for visit, own in by_visit.items():
        so_far = tuple(event for event in standing(own) if event.day <= on)
        if so_far:
            found[visit] = Course(visit=visit, events=so_far, stages=rows)
    return found


def next_stage(stage: str, stages: Sequence[StageRow]) -> StageRow | None:
    """Return the stage that follows along the way; None after the last, and beside the way.

    Parameters
    ----------
    stage : str
        Id of the present stage; empty where none has begun.
    """
    now = 0 if not stage else next((row.step for row in stages if row.id == stage), 0)
    if stage and not now:
        return None
    return next((row for row in stages if row.step == now + 1), None)


def gone_home(stages: Sequence[StageRow]) -> tuple[str, ...]:
    """Return the stages in which the work is done and the piano has gone home."""
    return tuple(row.id for row in stages if row.outcome == YES and row.step and not row.in_hand)
