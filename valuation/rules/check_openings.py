"""Across tables: the steps of openings, what each forces, and the scopes of the work."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from valuation.engine.rows.tables import Tables
from valuation.engine.rows.words import AXES, KINDS
from valuation.engine.rows.work import OpeningRow
from valuation.errors import Problem, quoted
from valuation.files.faults import did_you_mean
from valuation.rules.places import kinds_of, lacking, plural, problem_at, with_id
from valuation.rules.row_checks import REMEDIES

_HOLDS = ("stops", "broken", "worn")
_VERDICTS = ("keep", "partial_repair", "rebuild")


def check_steps(book: Tables) -> Iterator[Problem]:
    """The steps of each axis run from 0 on without gap, for every kind of piano."""
    told: set[int | str] = set()
    for kind in KINDS:
        for axis in AXES:
            rows = [(i, row) for i, row in enumerate(book.openings) if row.axis == axis and kind in kinds_of(row.kinds)]
            if not rows and axis not in told:
                told.add(axis)
                yield problem_at(book, "openings", None, "axis", f"{axis} has no step for {kind}s; add step 0 at least")
            for wanted, (index, row) in enumerate(sorted(rows, key=lambda item: item[1].step)):
                if row.step != wanted and index not in told:
                    told.add(index)
                    message = f"the steps of {axis} must be 0, 1, 2 and so on; here {wanted} should stand"
                    yield problem_at(book, "openings", index, "step", f"{message}, not {row.step}")
                if row.step != wanted:
                    break


def check_what_steps_take(book: Tables) -> Iterator[Problem]:
    """What a step takes is no remedy and there for its kinds; what it needs is a step of another axis."""
    for index, row in enumerate(book.openings):
        for name in row.operations:
            operations = with_id(book.operations, name)
            if any(operation.level in REMEDIES for operation in operations):
                message = f"{quoted(name)} is a remedy; name it in forces, with its part"
                yield problem_at(book, "openings", index, "operations", message)
            elif operations and (kinds := lacking(operations, row.kinds)):
                message = f"there is no {quoted(name)} for {plural(kinds)}; add one, or split this row by kind"
                yield problem_at(book, "openings", index, "operations", message)
        for name in row.needs:
            steps = with_id(book.openings, name)
            if any(step.axis == row.axis for step in steps):
                message = (
                    f"{quoted(name)} is a step of {row.axis} itself; a step includes those before it: leave it out"
                )
                yield problem_at(book, "openings", index, "needs", message)
            elif steps and (kinds := lacking(steps, row.kinds)):
                message = f"there is no step {quoted(name)} for {plural(kinds)}; name one that there is for all"
                yield problem_at(book, "openings", index, "needs", message)


def check_what_steps_force(book: Tables) -> Iterator[Problem]:
    """What a step forces is a part, and remedies of that part for the kinds of the step."""
    for index, row in enumerate(book.openings):
        for forced in row.forces:
            for message in _why_not_forced(book, row, forced):
                yield problem_at(book, "openings", index, "forces", message)


def _why_not_forced(book: Tables, row: OpeningRow, forced: str) -> Iterator[str]:
    part, colon, names = forced.partition(":")
    parts = [known.id for known in book.parts]
    if not colon or not names:
        yield f"{quoted(forced)} must be 'part:operation', several operations separated by '|'"
        return
    if part not in parts:
        yield f"{quoted(part)} is not in parts.csv{did_you_mean(part, parts)}"
        return
    remedies = [op.id for op in book.operations if op.part == part and op.level in REMEDIES]
    found = []
    for name in names.split("|"):
        if name in remedies:
            found += with_id(book.operations, name)
        else:
            yield f"{quoted(name)} is no remedy of {quoted(part)}{did_you_mean(name, remedies)}"
    if found and (kinds := lacking(found, row.kinds)):
        yield f"none of {quoted(names)} is for {plural(kinds)}; add one that is"


def check_scopes(book: Tables) -> Iterator[Problem]:
    """The scopes run from the least on: what they hold, their verdict and how many systems they renew never fall."""
    for verdict in _VERDICTS:
        if all(row.verdict != verdict for row in book.scopes):
            yield problem_at(book, "scopes", None, "verdict", f"no scope stands for '{verdict}'; add one")
    for index, (less, more) in enumerate(pairwise(book.scopes), start=1):
        for name, order in (("holds", _HOLDS), ("verdict", _VERDICTS)):
            before, after = getattr(less, name), getattr(more, name)
            if order.index(after) < order.index(before):
                message = f"{after} is less than the {before} of {quoted(less.id)} before it; put the rows in order"
                yield problem_at(book, "scopes", index, name, message)
        if less.verdict != more.verdict and more.verdict == "rebuild" and more.systems_least <= less.systems_most:
            message = (
                f"{more.systems_least} is not above the {less.systems_most} that {quoted(less.id)} may renew; "
                "one plan would be both a rebuild and a repair"
            )
            yield problem_at(book, "scopes", index, "systems_least", message)
        elif more.systems_most < less.systems_most:
            message = f"it is less than the {less.systems_most} of {quoted(less.id)} before it; put the rows in order"
            yield problem_at(book, "scopes", index, "systems_most", message)
    for index, row in enumerate(book.scopes):
        if row.systems_least > len(book.systems):
            message = f"there are only {len(book.systems)} systems in systems.csv; no plan could renew more"
            yield problem_at(book, "scopes", index, "systems_least", message)


OPENING_CHECKS = (check_steps, check_what_steps_take, check_what_steps_force, check_scopes)
