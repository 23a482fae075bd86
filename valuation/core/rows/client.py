"""What must be said, and what is the client's alone to choose."""

from __future__ import annotations

from dataclasses import dataclass

from valuation.core.columns import column
from valuation.core.rows import words
from valuation.core.rows.words import GRADES, QUESTIONS


@dataclass(frozen=True, slots=True, kw_only=True)
class CautionRow:
    """A caution, or a stop rule: what must be said, and what must come first.

    It applies always, or when a check reads `from_grade` or worse, or when an operation is in the plan, or with
    a feature of the piano: exactly one of the four.
    """

    id: str = column("caution")
    rank: str = column("how serious", choices=("stop", "warn", "note"))
    always: bool = column("applies to every piano", default=False)
    check: str = column("applies by this check", default="")
    from_grade: str = column("from this grade on", choices=GRADES[1:], default="")
    operation: str = column("applies when this operation is planned", default="")
    feature: str = column("applies to pianos with this feature", default="")
    blocks: tuple[str, ...] = column("operations not to be done while it applies", default=())
    requires: tuple[str, ...] = column("operations that must come before any other work", default=())
    treat_first: str = column("part that must be treated if anything is", default="")
    text: str = column("what is said, in one or two sentences")
    plain: str = column("the same to the client, where it touches them", default="")
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoiceRow:
    """One answer to a question that is the client's alone: how the piano is to look, what stays original."""

    id: str = column("choice")
    question: str = column("which question it answers", choices=QUESTIONS)
    name: str = column("the answer, in a few words")
    plain: str = column("what it means, in the client's words")
    operation: str = column("operation that does it; empty if none of the table does", default="")
    feature: str = column("offered to pianos with this feature only", refers_to="features", default="")
    free: bool = column("there is no work in it", default=False)
    source: str = words.source()
    note: str = words.note()
