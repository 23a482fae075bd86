"""What is written down of an evaluation on its way to a finished job. Plain records; whoever stores them makes them.

Every record names the visit that it belongs to, so that a list of them needs no order but its own.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from valuation.engine.rows import KINDS, SEVERITIES, Quantity
from valuation.facts.visit import Range


@dataclass(frozen=True, slots=True, kw_only=True)
class JobEvent:
    """One step of an evaluation, dated. Events are never changed: a later one corrects an earlier one.

    Attributes
    ----------
    id : str
        Its own, never used again.
    visit : str
        The visit that it belongs to.
    day : date
        When it happened, not when it was entered.
    stage : str
        Id of a stage; empty only in an event that takes another one back.
    who : str
        Who entered it.
    reason : str
        Id of a reason, or in the client's words.
    corrects : str
        Id of the event in whose place it stands; empty if none.
    """

    id: str
    visit: str
    day: date
    stage: str
    who: str = ""
    reason: str = ""
    note: str = ""
    corrects: str = ""

    def __post_init__(self) -> None:
        if not self.stage and not self.corrects:
            raise ValueError(f"event {self.id}: name its stage; only an event that takes another one back has none")
        if self.corrects == self.id:
            raise ValueError(f"event {self.id}: it can't correct itself; name the earlier event")


@dataclass(frozen=True, slots=True, kw_only=True)
class Evaluation:
    """What an evaluation came to, as the client was told, and who asked. Money in the shop's currency, with tax.

    Attributes
    ----------
    on : date
        Day on which the client had the evaluation: the time to decide runs from here.
    kind : str
        ``upright`` or ``grand``.
    verdict : str
        The option that came out best, such as ``rebuild``.
    price : Range or None
        Price of the work talked about; None where no work was.
    value_after : float or None
        What the piano would then be worth.
    hours : Range or None
        Hours of that work, from the tables as they were [h].
    source : str
        Where the client came from, in the shop's own words.
    referred : bool or None
        Sent by someone the client trusts; None where nobody asked.
    premium : float or None
        What keeping this very piano is worth to the client; None where nobody asked.
    """

    visit: str
    on: date
    kind: str
    verdict: str
    price: Range | None = None
    value_after: float | None = None
    hours: Range | None = None
    technician: str = ""
    source: str = ""
    referred: bool | None = None
    premium: float | None = None

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(f"evaluation {self.visit}: kind is '{self.kind}'; write {' or '.join(KINDS)}")


@dataclass(frozen=True, slots=True, kw_only=True)
class EstimatedHours:
    """Hours of one operation as they were estimated before the work [h]: 8 in 10 jobs lie between low and high."""

    operation: str
    low: float
    likely: float
    high: float

    def __post_init__(self) -> None:
        if not 0 <= self.low <= self.likely <= self.high < math.inf:
            raise ValueError(
                f"estimate of {self.operation}: hours must rise from 0: {self.low}, {self.likely}, {self.high}"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkDone:
    """Hours [h] and materials that went into one operation, `cost` being what these cost; several entries add up."""

    operation: str
    hours: float
    materials: tuple[Quantity, ...] = ()
    cost: float = 0.0
    day: date | None = None
    who: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        if not 0 <= self.hours < math.inf:
            raise ValueError(f"work on {self.operation}: {self.hours} is not a time; write hours such as 2.5")


@dataclass(frozen=True, slots=True, kw_only=True)
class Teardown:
    """How badly one fault truly was there, once the piano was open to the eye; ``none`` where it was not."""

    fault: str
    severity: str
    note: str = ""

    def __post_init__(self) -> None:
        if self.severity not in SEVERITIES:
            raise ValueError(
                f"teardown, {self.fault}: '{self.severity}' is not a severity; write one of {', '.join(SEVERITIES)}"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One job in the workshop: what was estimated, what was done, what was found.

    Attributes
    ----------
    kind : str
        ``upright`` or ``grand``.
    delivered : date or None
        None while it is in hand.
    estimate : tuple of EstimatedHours
        As made before the work, from the tables of that day: not what was agreed in haggling.
    pieces : mapping of str to mapping of str to float
        Operation to fault to the pieces that the estimate counted; an operation is missing where nobody counted.
    finished : frozenset of str
        Operations on which nothing more will be done; all of them once it is delivered.
    features : tuple of str
        Of the piano.
    kept_original : tuple of str
        Parts that stayed original.
    """

    visit: str
    kind: str
    features: tuple[str, ...] = ()
    delivered: date | None = None
    estimate: tuple[EstimatedHours, ...] = ()
    pieces: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    work: tuple[WorkDone, ...] = ()
    finished: frozenset[str] = frozenset()
    teardown: tuple[Teardown, ...] = ()
    kept_original: tuple[str, ...] = ()

    @property
    def hours_by_operation(self) -> dict[str, float]:
        """Hours done, by operation [h]."""
        done: dict[str, float] = {}
        for entry in self.work:
            done[entry.operation] = done.get(entry.operation, 0.0) + entry.hours
        return done
