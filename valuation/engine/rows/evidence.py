"""What is looked at, and how much it tells."""

from __future__ import annotations

from dataclasses import dataclass

from valuation.engine.rows import words
from valuation.engine.rows.words import ACCESSES, SEVERITIES
from valuation.facts.columns import column
from valuation.facts.units import UNITS

SUMMARIES = ("median", "mean", "least", "greatest", "spread", "share_below", "share_above", "worst_section", "pieces")
MUSTS = ("yes", "quote", "no")
EXTENTS = ("none", "count", "sections", "place")


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingRow:
    """How often a check reads each severity when the truth is `given`: a severity, or a level of a hidden cause."""

    id: str = column("how sure a check is")
    given: str = column("the true severity, or the true level of the cause")
    none: float = column("share that reads none", above=0, high=1)
    slight: float = column("share that reads slight", above=0, high=1)
    marked: float = column("share that reads marked", above=0, high=1)
    severe: float = column("share that reads severe", above=0, high=1)
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckRow:
    """One thing to look at, listen to or measure; it reads one fault, or one hidden cause. Rows stand in walk order.

    It is answered by a number (then the cut points say how severe it reads) or by one of up to four worded
    answers, one a severity: 'word: what it looks like'.
    """

    id: str = column("check")
    kinds: str = words.kinds()
    only_with: tuple[str, ...] = words.only_with()
    not_with: tuple[str, ...] = words.not_with()
    reads: str = column("fault that it reads, or 'air' or 'use'")
    name: str = column("the question, in a few words")
    how: str = column("how to do it")
    why: str = column("why it matters")
    tool: str = column("what it takes", default="")
    access: str = column("what has to be open", choices=ACCESSES)
    quick: bool = column("part of the quick look", default=False)
    must: str = column("'yes': before any verdict; 'quote': before a price is signed; 'no'", choices=MUSTS)
    minutes: float = column("time it takes a practised person, access apart", unit="min", above=0, high=240)
    asked_after: str = column("asked only where this check", default="")
    asked_from: str = column("reads this severity or worse", choices=SEVERITIES[1:], default="")
    sureness: str = column("how sure it is", refers_to="readings")
    family: str = column("checks of one fault with the same word here look at the same thing", default="")
    answer: str = column("how it is answered", choices=("choice", "number", "readings"))
    unit: str = column("unit of the number, as stored", choices=UNITS, default="")
    better: str = column("which numbers are better", choices=("high", "low"), default="")
    cut_slight: float | None = column("from here on it reads slight", default=None)
    cut_marked: float | None = column("from here on it reads marked", default=None)
    cut_severe: float | None = column("from here on it reads severe", default=None)
    repeats_within: float | None = column(
        "how far two readings of the same thing differ, one standard deviation", above=0, default=None
    )
    lowest: float | None = column("least number that is physically possible", default=None)
    highest: float | None = column("greatest number that is physically possible", default=None)
    summary: str = column("how several readings become one number", choices=SUMMARIES, default="")
    readings_of: str = column("check whose readings this one uses, where it has none of its own", default="")
    limit: float | None = column("limit for the share below or above", default=None)
    of_all: int | None = column("how many there are in all, where a share is sampled", low=1, high=1000, default=None)
    per_ten_humidity: float = column("what ten points more of humidity than 45 % add to the reading", default=0.0)
    none: str = column("'word: what it looks like' for none", default="")
    slight: str = column("the same for slight", default="")
    marked: str = column("the same for marked", default="")
    severe: str = column("the same for severe", default="")
    extent: str = column("what is asked right after a finding", choices=EXTENTS, default="none")
    replaces: tuple[str, ...] = column("ids of older tables whose findings this check takes over", default=())
    source: str = words.source()
    note: str = words.note()

    @property
    def choices(self) -> dict[str, str]:
        """The answer words by severity, for the severities that have one."""
        worded = ((severity, getattr(self, severity)) for severity in SEVERITIES)
        return {severity: text.split(":")[0].strip() for severity, text in worded if text}


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenOverRow:
    """What became of an answer of older tables, where a check's id or its answers have changed."""

    old_check: str = column("id of the check in older tables")
    old_word: str = column("its answer there; empty: any answer that has no row of its own", default="")
    check: str = column("check that it counts for today; empty: it is passed over", refers_to="checks", default="")
    severity: str = column("what it reads there; empty: what stands in its place", choices=SEVERITIES, default="")
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class AccessRow:
    """One thing that has to be open before checks can be made: they come together behind it."""

    id: str = column("access", choices=ACCESSES)
    name: str = column("what is opened, in a few words")
    minutes: float = column("time it takes to open and close", unit="min", low=0, high=240)
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceRow:
    """How the pieces of a thing read when its fault is so severe: one row a severity and a step of the reading.

    For checks whose `summary` is 'pieces'. Between the middles of two steps the logarithm runs straight.
    """

    check: str = column("check", refers_to="checks")
    given: str = column("true severity of the fault", choices=SEVERITIES)
    middle: float = column("middle of the step, in the check's unit")
    share: float = column("share of the pieces that read there", above=0, high=1)
    alike: float = column("how alike the pieces of one piano are: correlation of two of them", low=0, high=1)
    source: str = words.source()
    note: str = words.note()
