"""Across tables: how sure checks are, what they read, and which are asked after which."""

from __future__ import annotations

from collections.abc import Iterator

from valuation.engine.rows.evidence import ReadingRow
from valuation.engine.rows.tables import Tables
from valuation.engine.rows.words import CAUSES, KINDS, LEVELS_OF_CAUSE, SEVERITIES
from valuation.errors import Problem, quoted
from valuation.files.row_shapes import cycle_in
from valuation.rules.answer_checks import is_share
from valuation.rules.places import kinds_of, lacking, plural, problem_at, with_id
from valuation.rules.rising import not_rising

_TRUTHS = {"a fault": SEVERITIES, **LEVELS_OF_CAUSE}


def check_readings(book: Tables) -> Iterator[Problem]:
    """Every sureness is whole, and a worse truth never makes worse readings rarer in ratio."""
    for name, rows in _by_name(book).items():
        truths = _TRUTHS.get(_truth_of(rows), ())
        by_truth = {row.given: (index, row) for index, row in rows}
        if tuple(truth for truth in truths if truth in by_truth) != truths or len(rows) != len(truths) or not truths:
            choices = ", or of ".join(", ".join(levels) for levels in _TRUTHS.values())
            message = f"{quoted(name)} needs one row for each of {choices}"
            yield problem_at(book, "readings", rows[0][0], "given", message)
            continue
        in_order = [by_truth[truth] for truth in truths]
        shares = [[getattr(row, severity) for severity in SEVERITIES] for _, row in in_order]
        for worse, column, ratios in not_rising(shares):
            index, row = in_order[worse]
            milder, severity = SEVERITIES[column - 1 : column + 1]
            before = in_order[worse - 1][1].given
            message = (
                f"{name}: {severity} to {milder} is {ratios}, given {before} and then {row.given}; it may not fall"
            )
            yield problem_at(book, "readings", index, severity, message)


def check_sureness_fits(book: Tables) -> Iterator[Problem]:
    """How sure a check is, is told of what it reads: of a fault's severities, or of the levels of a cause."""
    truth_of = {name: truth for name, rows in _by_name(book).items() if (truth := _truth_of(rows))}
    for index, check in enumerate(book.checks):
        reads = check.reads if check.reads in CAUSES else "a fault"
        told = truth_of.get(check.sureness, reads)
        if told != reads:
            message = f"{quoted(check.sureness)} tells of {told}, but the check reads {reads}; name another sureness"
            yield problem_at(book, "checks", index, "sureness", message)


def check_kinds_of_checks(book: Tables) -> Iterator[Problem]:
    """What a check reads, and what it is asked after, is there on every kind of piano that it is for."""
    for index, check in enumerate(book.checks):
        faults = with_id(book.faults, check.reads)
        if faults and (kinds := lacking(faults, check.kinds)):
            message = f"{quoted(check.reads)} is no fault of {plural(kinds)}; narrow the kinds of the check"
            yield problem_at(book, "checks", index, "kinds", message)
        before = with_id(book.checks, check.asked_after)
        if before and (kinds := lacking(before, check.kinds)):
            message = f"there is no check {quoted(check.asked_after)} for {plural(kinds)}, as there is of this one"
            yield problem_at(book, "checks", index, "asked_after", message)


def check_order_of_checks(book: Tables) -> Iterator[Problem]:
    """No check waits, by way of others, for itself."""
    told: set[frozenset[str]] = set()
    for kind in KINDS:
        rows = book.of_kind("checks", kind)
        cycle = cycle_in({name: {row.asked_after} - {"", name} for name, row in rows.items()})
        if cycle and frozenset(cycle) not in told:
            told.add(frozenset(cycle))
            index = next(i for i, row in enumerate(book.checks) if row.id in cycle and kind in kinds_of(row.kinds))
            message = f"each of these waits for the one before, so that none is asked: {' > '.join(cycle)}"
            yield problem_at(book, "checks", index, "asked_after", f"{message}; empty one asked_after")


def check_whose_readings(book: Tables) -> Iterator[Problem]:
    """The check whose readings are used has readings of its own, for the same kinds of piano and in a fitting unit."""
    for index, row in enumerate(book.checks):
        if not with_id(book.checks, row.readings_of):
            continue
        for kind in kinds_of(row.kinds):
            source = book.of_kind("checks", kind).get(row.readings_of)
            if source is None:
                message = f"there is no check {quoted(row.readings_of)} for {kind}s, as there is of this one"
            elif source.answer != row.answer or source.readings_of:
                message = f"{quoted(source.id)} has no {_told(row.answer)} of its own; name a check answered by it"
            elif not is_share(row) and not is_share(source) and row.unit != source.unit:
                message = f"it is told in {row.unit} but the readings of {quoted(source.id)} are in {source.unit}"
            else:
                continue
            yield problem_at(book, "checks", index, "readings_of", message)
            break


def check_what_is_counted(book: Tables) -> Iterator[Problem]:
    """Where a check asks how many, its fault says what is counted."""
    for index, check in enumerate(book.checks):
        if check.extent == "count" and any(not fault.piece for fault in with_id(book.faults, check.reads)):
            message = f"{quoted(check.reads)} says not what is counted; fill its piece in faults.csv, or write 'none'"
            yield problem_at(book, "checks", index, "extent", message)


def _told(answer: str) -> str:
    return "number" if answer == "number" else "readings"


def _by_name(book: Tables) -> dict[str, list[tuple[int, ReadingRow]]]:
    tables: dict[str, list[tuple[int, ReadingRow]]] = {}
    for index, row in enumerate(book.readings):
        tables.setdefault(row.id, []).append((index, row))
    return tables


def _truth_of(rows: list[tuple[int, ReadingRow]]) -> str:
    """Return what the first row is given: 'a fault', 'air' or 'use'; empty where it is none of these."""
    given = rows[0][1].given
    return next((told for told, truths in _TRUTHS.items() if given in truths), "")


EVIDENCE_CHECKS = (
    check_readings,
    check_sureness_fits,
    check_kinds_of_checks,
    check_order_of_checks,
    check_whose_readings,
    check_what_is_counted,
)
