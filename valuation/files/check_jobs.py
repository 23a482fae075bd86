"""Across tables: the stages of an evaluation on its way to a finished job."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Protocol

from valuation.engine.rows import OUTCOMES, StageRow
from valuation.errors import Problem
from valuation.files.faults import Book, fault_at


class Staged(Book, Protocol):
    """Tables with the stages of a job."""

    @property
    def stages(self) -> tuple[StageRow, ...]:
        """Stages of a job."""


def check_stages(book: Staged) -> Iterator[Problem]:
    """The way runs from 1 on without gap, and along it a 'yes' is never unsaid; yes, no and open all occur."""
    way = sorted((row.step, index) for index, row in enumerate(book.stages) if row.step)
    for place, (step, index) in enumerate(way, start=1):
        if step != place:
            message = f"the steps along the way must be 1, 2, 3 and so on; here {place} should stand, not {step}"
            yield fault_at(book, "stages", index, "step", message)
            break
    for (_, before), (_, after) in pairwise(way):
        if book.stages[before].outcome == "yes" and book.stages[after].outcome != "yes":
            message = f"it comes after '{book.stages[before].id}', which is a yes; along the way a yes stays a yes"
            yield fault_at(book, "stages", after, "outcome", message)
    for outcome in OUTCOMES:
        if all(row.outcome != outcome for row in book.stages):
            yield fault_at(book, "stages", None, "outcome", f"no stage is '{outcome}'; add one")
    for index, row in enumerate(book.stages):
        if row.in_hand and row.outcome != "yes":
            yield fault_at(book, "stages", index, "in_hand", "only what was accepted is in hand; write 'no'")
