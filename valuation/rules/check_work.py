"""Across tables: remedies and what they cure, what forbids them, and operations that follow and cover one another."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from valuation.engine.rows.tables import Tables
from valuation.engine.rows.words import KINDS, SEVERITIES
from valuation.engine.rows.work import OperationRow
from valuation.errors import Problem, quoted
from valuation.files.row_shapes import cycle_in
from valuation.rules.places import kinds_of, lacking, plural, problem_at, problem_in_setting, with_id
from valuation.rules.row_checks import REMEDIES

_TO_OTHERS = ("followed_by", "covers")

_AXES_OF = {"strings": ("strings", "board"), "action": ("action",)}
"""Column of an operation -> the axes of which it may name a step; a new board comes out with more than the strings."""


def check_remedies_cure(book: Tables) -> Iterator[Problem]:
    """Every remedy betters at least one fault."""
    betters = {
        cure.operation
        for cure in book.cures
        for found in SEVERITIES[1:]
        if getattr(cure, found) and SEVERITIES.index(getattr(cure, found)) < SEVERITIES.index(found)
    }
    for index, operation in enumerate(book.operations):
        if operation.level in REMEDIES and operation.id not in betters:
            message = f"{quoted(operation.id)} betters no fault; add what it cures to cures.csv, or delete it"
            yield problem_at(book, "operations", index, "id", message)


def check_large_remedies(book: Tables) -> Iterator[Problem]:
    """A large remedy says of every fault of its part what it leaves of it, and no two of a part share a rung."""
    treated = {(cure.operation, cure.fault) for cure in book.cures}
    on_rung: dict[tuple[str, str, int], str] = {}
    for index, operation in enumerate(book.operations):
        if operation.level != "large":
            continue
        left_out = [
            fault.id
            for fault in book.faults
            if fault.part == operation.part
            and len(lacking([fault], operation.kinds)) < len(kinds_of(operation.kinds))
            and (operation.id, fault.id) not in treated
        ]
        if left_out:
            listed = ", ".join(map(quoted, dict.fromkeys(left_out)))
            message = f"cures.csv doesn't say what it leaves of {listed}; add a row for each"
            yield problem_at(book, "operations", index, "id", message)
        for kind in kinds_of(operation.kinds):
            key = (kind, operation.part, operation.rung)
            if on_rung.setdefault(key, operation.id) != operation.id:
                message = f"{quoted(on_rung[key])} stands on rung {operation.rung} of its part already; write another"
                yield problem_at(book, "operations", index, "rung", message)
                break


def check_cures(book: Tables) -> Iterator[Problem]:
    """What cures is more than access, and of a kind of piano that the fault is of."""
    for index, cure in enumerate(book.cures):
        operations, faults = with_id(book.operations, cure.operation), with_id(book.faults, cure.fault)
        kinds = {kind for operation in operations for kind in kinds_of(operation.kinds)}
        if any(operation.level == "access" for operation in operations):
            message = f"{quoted(cure.operation)} is access, which cures nothing; name what is done once it is open"
            yield problem_at(book, "cures", index, "operation", message)
        elif operations and faults and not any(kind in kinds for fault in faults for kind in kinds_of(fault.kinds)):
            message = f"{quoted(cure.operation)} is not for the kind of piano that has {quoted(cure.fault)}"
            yield problem_at(book, "cures", index, "fault", message)


def check_what_is_forbidden(book: Tables) -> Iterator[Problem]:
    """Access is never forbidden, but what is done once it is open."""
    for index, row in enumerate(book.forbidden):
        if any(operation.level == "access" for operation in with_id(book.operations, row.operation)):
            message = f"{quoted(row.operation)} is access, which nothing forbids; name what is done once it is open"
            yield problem_at(book, "forbidden", index, "operation", message)


def check_kinds_of_operations(book: Tables) -> Iterator[Problem]:
    """An operation that another names, or its step of an opening, is there for every kind that the other is for."""
    for index, row in enumerate(book.operations):
        for name in _TO_OTHERS:
            for other in getattr(row, name):
                there = with_id(book.operations, other)
                if there and (kinds := lacking(there, row.kinds)):
                    message = f"there is no {quoted(other)} for {plural(kinds)}; add one, or split this row by kind"
                    yield problem_at(book, "operations", index, name, message)
        for column, axes in _AXES_OF.items():
            yield from _check_step(book, index, row, column, axes)


def _check_step(book: Tables, index: int, row: OperationRow, column: str, axes: tuple[str, ...]) -> Iterator[Problem]:
    name = getattr(row, column)
    steps = with_id(book.openings, name)
    if steps and all(step.axis not in axes for step in steps):
        ids = ", ".join(dict.fromkeys(step.id for step in book.openings if step.axis in axes))
        message = f"{quoted(name)} is a step of {steps[0].axis}, not of {column}; write one of {ids}"
        yield problem_at(book, "operations", index, column, message)
    elif steps and (kinds := lacking(steps, row.kinds)):
        message = f"there is no step {quoted(name)} for {plural(kinds)}; name one that there is for all"
        yield problem_at(book, "operations", index, column, message)


def check_order_of_operations(book: Tables) -> Iterator[Problem]:
    """No operation has to come after itself, and none makes itself needless."""
    told: set[tuple[str, ...]] = set()
    for kind in KINDS:
        rows = book.of_kind("operations", kind)
        after: dict[str, set[str]] = defaultdict(set)
        for name, row in rows.items():
            for follower in row.followed_by:
                after[follower].add(name)
        covered = {name: set(row.covers) for name, row in rows.items()}
        for cycle, where, words in (
            (cycle_in(after), "followed_by", "these must each come before the next, which can't be"),
            (cycle_in(covered), "covers", "these make one another needless, so that none would be done"),
        ):
            if cycle and (where, *cycle) not in told:
                told.add((where, *cycle))
                index = next(
                    i for i, row in enumerate(book.operations) if row.id in cycle and kind in kinds_of(row.kinds)
                )
                message = f"{words}: {' > '.join(cycle)}; take one out of {where}"
                yield problem_at(book, "operations", index, where, message)


def check_settings(book: Tables) -> Iterator[Problem]:
    """The settings agree with one another and with the operations."""
    settings = book.settings
    if settings.leaning_share > settings.clear_share:
        message = f"leaning ({settings.leaning_share:g}) may not ask for more than clear ({settings.clear_share:g})"
        yield problem_in_setting(book, "leaning_share", "value", message)
    code = settings.currency
    if not (len(code) == 3 and code.isascii() and code.isalpha() and code.isupper()):
        message = f"{quoted(code)} is not a currency code; write three capital letters, such as 'EUR'"
        yield problem_in_setting(book, "currency", "value", message)
    named = [("keep_operations", name) for name in settings.keep_operations]
    for setting, name in (*named, ("raise_operation", settings.raise_operation)):
        operations = with_id(book.operations, name)
        if operations and (kinds := lacking(operations, "both")):
            message = f"there is no {quoted(name)} for {plural(kinds)}; add one to operations.csv"
            yield problem_in_setting(book, setting, "value", message)
        if any(operation.level == "large" for operation in operations):
            message = f"{quoted(name)} renews a part, which is not 'keep'; name a service"
            yield problem_in_setting(book, setting, "value", message)


WORK_CHECKS = (
    check_remedies_cure,
    check_large_remedies,
    check_cures,
    check_what_is_forbidden,
    check_kinds_of_operations,
    check_order_of_operations,
    check_settings,
)
