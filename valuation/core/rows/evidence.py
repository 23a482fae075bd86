"""What is looked at, and how much it tells."""

from __future__ import annotations

from dataclasses import dataclass

from valuation.core.columns import column
from valuation.core.rows import words
from valuation.core.rows.words import CONDITIONS_GIVEN, GRADES, HISTORY, KIND_CHOICES, PLACES, SUMMARIES
from valuation.core.units import UNITS


@dataclass(frozen=True, slots=True, kw_only=True)
class StrengthRow:
    """How often a check reads each grade when the truth is `given`."""

    id: str = column("strength")
    given: str = column("the true state (or exposure, or view)", choices=CONDITIONS_GIVEN)
    good: float = column("share that reads good", above=0, high=1)
    fair: float = column("share that reads fair", above=0, high=1)
    poor: float = column("share that reads poor", above=0, high=1)
    failed: float = column("share that reads failed", above=0, high=1)
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class FamilyRow:
    """Checks that look at the same thing: together they can't tell more than the thing itself."""

    id: str = column("family")
    part: str = column(f"part it tells about, or '{HISTORY}' for how the piano has lived")
    name: str = column("what the checks of the family look at")
    view: str = column("strength table of the view between part and checks; 'none' for a history family")
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckRow:
    """One thing to look at, listen to or measure. Rows stand in the order of the walk.

    A check is answered by a number (then the cut points grade it) or by one of four worded
    choices, one for each grade: 'word: what it looks like'.
    """

    id: str = column("check")
    kinds: str = column("which pianos", choices=KIND_CHOICES)
    family: str = column("family of checks", refers_to="families")
    name: str = column("what is asked, in a few words")
    how: str = column("how to do it")
    why: str = column("why it matters")
    tool: str = column("what it takes", default="")
    place: str = column("where on the walk", choices=PLACES)
    quick: bool = column("part of the quick look that settles most cases")
    minutes: float = column("time it takes a practised person", unit="min", above=0, high=240)
    strength: str = column("strength table", refers_to="strengths")
    answer: str = column("how it is answered", choices=("choice", "number", "readings"))
    unit: str = column("unit of the number, as stored", choices=UNITS, default="")
    better: str = column("which numbers are better", choices=("high", "low", "near"), default="")
    target: float | None = column("best number, where nearer is better", default=None)
    cut_fair: float | None = column("from here on the number reads fair", default=None)
    cut_poor: float | None = column("from here on it reads poor", default=None)
    cut_failed: float | None = column("from here on it reads failed", default=None)
    repeats_within: float | None = column(
        "how far two readings of the same thing differ, one standard deviation", above=0, default=None
    )
    lowest: float | None = column("least number that is physically possible", default=None)
    highest: float | None = column("greatest number that is physically possible", default=None)
    summary: str = column("how several readings become one number", choices=SUMMARIES, default="")
    readings_of: str = column("check whose readings this one uses, where it has none of its own", default="")
    limit: float | None = column("limit for the share below or above", default=None)
    of_all: int | None = column("how many there are in all, where a share is sampled", low=1, high=1000, default=None)
    good: str = column("'word: what it looks like' for good", default="")
    fair: str = column("the same for fair", default="")
    poor: str = column("the same for poor", default="")
    failed: str = column("the same for failed", default="")
    source: str = words.source()
    note: str = words.note()

    @property
    def choices(self) -> dict[str, str]:
        """The choice words by grade, for the grades that have one."""
        worded = ((grade, getattr(self, grade)) for grade in GRADES)
        return {grade: text.split(":")[0].strip() for grade, text in worded if text}
