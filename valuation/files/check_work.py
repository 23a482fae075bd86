"""Across tables: operations that need, follow, cover and replace one another, and cautions about them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from graphlib import CycleError, TopologicalSorter

from valuation.core.rows import KINDS, STATES, TREATMENTS, Level, OperationRow, Tables
from valuation.errors import Problem
from valuation.files.check_names import kinds_of
from valuation.files.faults import fault_at, fault_in_setting, quoted

_TO_OTHERS = ("needs", "followed_by", "covers")


def check_kinds_of_operations(book: Tables) -> Iterator[Problem]:
    """An operation that another names exists for every kind of piano for which that other one does."""
    everywhere = {row.id for row in book.operations}
    for index, row in enumerate(book.operations):
        named = [(name, other) for name in _TO_OTHERS for other in getattr(row, name)]
        named += [("instead", row.instead)] if row.instead else []
        for name, other in named:
            lacking = [kind for kind in kinds_of(row.kinds) if other not in book.of_kind("operations", kind)]
            if lacking and other in everywhere:
                message = f"there is no {quoted(other)} for {_plural(lacking)}; add one, or split this row by kind"
                yield fault_at(book, "operations", index, name, message)


def check_order_of_operations(book: Tables) -> Iterator[Problem]:
    """No operation has to come both before and after another, and none makes itself needless."""
    told = set()
    for kind in KINDS:
        rows = book.of_kind("operations", kind)
        before = {name: set(row.needs) for name, row in rows.items()}
        for name, row in rows.items():
            for follower in row.followed_by:
                before.setdefault(follower, set()).add(name)
        covered = {name: set(row.covers) for name, row in rows.items()}
        for cycle, where, words in (
            (cycle_in(before), "needs", "these must each come before the next, which can't be"),
            (cycle_in(covered), "covers", "these make one another needless, so that none would be done"),
        ):
            if cycle and (where, *cycle) not in told:
                told.add((where, *cycle))
                index = next(
                    i for i, row in enumerate(book.operations) if row.id in cycle and kind in kinds_of(row.kinds)
                )
                message = f"{words}: {' > '.join(cycle)}; take one out of needs, followed_by or covers"
                yield fault_at(book, "operations", index, where, message)


def check_what_is_done_instead(book: Tables) -> Iterator[Problem]:
    """What teardown demands instead treats the same part and holds to a worse state."""
    for index, row in enumerate(book.operations):
        for kind in kinds_of(row.kinds) if row.instead else ():
            other = book.of_kind("operations", kind).get(row.instead)
            if other is not None and (fault := _why_not_instead(row, other)):
                yield fault_at(book, "operations", index, "instead", fault)
                break


def check_core_can_be_done(book: Tables) -> Iterator[Problem]:
    """A part that a rebuild must treat has a treatment of that level or above, for every kind of piano."""
    for index, part in enumerate(book.parts):
        if part.core not in TREATMENTS:
            continue
        enough = TREATMENTS[Level[part.core.upper()] - 1 :]
        for kind in KINDS:
            rows = book.of_kind("operations", kind).values()
            if not any(row.part == part.id and row.level in enough for row in rows):
                message = (
                    f"a rebuild must {part.core} the {part.id}, but no operation of {_plural([kind])} does; add one"
                )
                yield fault_at(book, "parts", index, "core", message)


def check_keep_operations(book: Tables) -> Iterator[Problem]:
    """The operations of 'keep as it is' exist for both kinds and are not treatments."""
    for name in book.settings.keep_operations:
        rows = [book.of_kind("operations", kind).get(name) for kind in KINDS]
        if any(rows) and not all(rows):
            lacking = [kind for kind, row in zip(KINDS, rows, strict=True) if row is None]
            message = f"there is no {quoted(name)} for {_plural(lacking)}; add one to operations.csv"
            yield fault_in_setting(book, "keep_operations", "value", message)
        if any(row is not None and row.level in TREATMENTS for row in rows):
            message = f"{quoted(name)} treats a part, which is not 'keep'; name a service"
            yield fault_in_setting(book, "keep_operations", "value", message)


def _why_not_instead(row: OperationRow, other: OperationRow) -> str:
    if other.part != row.part:
        return f"{quoted(other.id)} treats {quoted(other.part)}, not the {row.part}; name an operation of the same part"
    if STATES.index(other.holds_to) <= STATES.index(row.holds_to):
        return f"{quoted(other.id)} holds to {other.holds_to}, no worse than {row.holds_to}; name one that mends more"
    return ""


def cycle_in(before: dict[str, set[str]]) -> list[str]:
    """Return the names of one cycle, each before the next; empty where there is none."""
    try:
        TopologicalSorter({name: sorted(earlier) for name, earlier in before.items()}).prepare()
    except CycleError as error:
        return error.args[1]
    return []


def _plural(kinds: Iterable[str]) -> str:
    return " and ".join(f"{kind}s" for kind in kinds)


WORK_CHECKS = (
    check_kinds_of_operations,
    check_order_of_operations,
    check_what_is_done_instead,
    check_core_can_be_done,
    check_keep_operations,
)
