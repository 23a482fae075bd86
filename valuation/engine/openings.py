"""Openings: how far a plan opens the piano, what that takes, brings, forces and renews.

In: the tables, a kind and features. Out: every opening that can be had: one step on each axis (strings, action,
board, finish), each step with those before it. Once an opening is fixed, access and what it brings are paid and
known, so that the price of a plan adds up over its parts.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import product

from valuation.engine.network import fits
from valuation.engine.rows.tables import Tables
from valuation.engine.rows.words import AT_VISIT, AXES
from valuation.engine.rows.work import OpeningRow, OperationRow


@dataclass(frozen=True, slots=True)
class Opening:
    """One opening.

    Attributes
    ----------
    steps : tuple of int
        How far on each axis, in the order of `AXES`.
    names : tuple of str
        Ids of the steps reached, the closed ones apart.
    operations : frozenset of str
        What is done and charged once, whatever the parts need.
    forces : tuple of (part, tuple of str)
        Parts of which one of the remedies named must be done.
    systems : frozenset of str
        Systems that are renewed by it.
    """

    steps: tuple[int, ...]
    names: tuple[str, ...]
    operations: frozenset[str]
    forces: tuple[tuple[str, tuple[str, ...]], ...]
    systems: frozenset[str]

    def forced(self, part: str) -> tuple[str, ...]:
        """Return the remedies of which one must be done to a part; empty if none must."""
        return next((operations for name, operations in self.forces if name == part), ())


@dataclass(frozen=True, eq=False)
class Access:
    """All openings of one sort of piano, and how to tell what each gives access to.

    Attributes
    ----------
    openings : tuple of Opening
        The closed piano first.
    step_of : dict of str to (axis, step)
        Axis as its position in `AXES`.
    operations : dict of str to OperationRow
        All operations for such pianos.
    """

    openings: tuple[Opening, ...]
    step_of: dict[str, tuple[int, int]]
    steps: tuple[tuple[OpeningRow, ...], ...]
    operations: dict[str, OperationRow]

    def reaches(self, opening: Opening, step: str) -> bool:
        """Tell whether an opening goes at least as far as a step; the visit is always there."""
        if step == AT_VISIT:
            return True
        axis, far = self.step_of[step]
        return opening.steps[axis] >= far

    def admits(self, opening: Opening, operation: OperationRow) -> bool:
        """Tell whether the piano is open far enough for an operation."""
        return self.reaches(opening, operation.strings) and self.reaches(opening, operation.action)

    def further(self, opening: Opening, operation: OperationRow) -> frozenset[str] | None:
        """Return what else a remedy takes: opening the piano as far as it needs, and what must come after it.

        None where opening it so far would force other work, or where no such opening exists.
        """
        more: set[str] = {operation.id}
        for name in (operation.strings, operation.action):
            axis, far = self.step_of[name]
            for row in self.steps[axis][opening.steps[axis] + 1 : far + 1]:
                if row.forces or any(not self.reaches(opening, need) for need in row.needs):
                    return None
                more.update(row.operations)
        closed = with_what_follows(self.operations, more | opening.operations)
        return frozenset(closed - opening.operations - {operation.id})


@lru_cache(maxsize=32)
def access_of(tables: Tables, kind: str, features: tuple[str, ...]) -> Access:
    """Return the openings of pianos of one kind with these features."""
    operations = {row.id: row for row in tables.operations if fits(row, kind, features)}
    steps = tuple(
        tuple(sorted((row for row in tables.openings if row.axis == axis and fits(row, kind, ())), key=_step))
        for axis in AXES
    )
    step_of = {row.id: (axis, row.step) for axis, rows in enumerate(steps) for row in rows}
    openings = []
    for reached in product(*(range(len(rows)) for rows in steps)):
        taken = [row for axis, far in enumerate(reached) for row in steps[axis][: far + 1]]
        if all(reached[step_of[need][0]] >= step_of[need][1] for row in taken for need in row.needs):
            openings.append(_opening(reached, taken, operations))
    return Access(openings=tuple(openings), step_of=step_of, steps=steps, operations=operations)


def _step(row: OpeningRow) -> int:
    return row.step


def _opening(reached: tuple[int, ...], taken: list[OpeningRow], operations: dict[str, OperationRow]) -> Opening:
    named = {name for row in taken for name in row.operations if name in operations}
    forces: dict[str, tuple[str, ...]] = {}
    for row in taken:
        for entry in row.forces:
            part, _, names = entry.partition(":")
            forces[part] = tuple(name for name in names.split("|") if name in operations)
    return Opening(
        steps=reached,
        names=tuple(row.id for row in taken if row.step > 0),
        operations=frozenset(with_what_follows(operations, named)),
        forces=tuple((part, names) for part, names in forces.items() if names),
        systems=frozenset(system for row in taken for system in row.renews),
    )


def with_what_follows(operations: dict[str, OperationRow], named: set[str] | frozenset[str]) -> set[str]:
    """Return operations with all that must come after them, less those that others make needless."""
    closed, left = set(named), list(named)
    while left:
        for name in operations[left.pop()].followed_by:
            if name in operations and name not in closed and operations[name].level in ("follow", "service", "access"):
                closed.add(name)
                left.append(name)
    covered = {name for operation in closed for name in operations[operation].covers}
    return {name for name in closed if name not in covered}
