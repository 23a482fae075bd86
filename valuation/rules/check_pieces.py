"""Across tables: how the pieces of a thing read, for checks that are told by their pieces."""

from __future__ import annotations

from collections.abc import Iterator

from valuation.engine.rows.evidence import PieceRow
from valuation.engine.rows.tables import Tables
from valuation.engine.rows.words import SEVERITIES
from valuation.errors import Problem, quoted
from valuation.files.row_shapes import SUM_WITHIN
from valuation.rules.answer_checks import PIECES
from valuation.rules.places import problem_at, with_id
from valuation.rules.rising import not_rising

_Rows = list[tuple[int, PieceRow]]


def check_pieces(book: Tables) -> Iterator[Problem]:
    """A check told by its pieces has its steps: shares that add to 1, alike throughout, ratios that rise."""
    by_check: dict[str, _Rows] = {}
    for index, row in enumerate(book.pieces):
        by_check.setdefault(row.check, []).append((index, row))
    for index, check in enumerate(book.checks):
        if check.summary == PIECES and check.id not in by_check:
            message = f"pieces.csv has no rows for {quoted(check.id)}; add them, or choose another summary"
            yield problem_at(book, "checks", index, "summary", message)
    for name, rows in by_check.items():
        checks = with_id(book.checks, name)
        if checks and all(check.summary != PIECES for check in checks):
            message = f"the summary of {quoted(name)} is not '{PIECES}'; write that in checks.csv, or delete its rows"
            yield problem_at(book, "pieces", rows[0][0], "check", message)
        faults = list(_check_steps(name, rows)) or list(_check_shares(name, rows))
        faults = faults or list(_check_rise(name, rows, rising=any(check.better == "low" for check in checks)))
        for at, where, message in faults:
            yield problem_at(book, "pieces", at, where, message)


def _check_steps(name: str, rows: _Rows) -> Iterator[tuple[int, str, str]]:
    """Every severity has the same steps, at least two."""
    middles = {severity: {row.middle for _, row in rows if row.given == severity} for severity in SEVERITIES}
    wanted = set().union(*middles.values())
    for severity, there in middles.items():
        if missing := sorted(wanted - there):
            listed = ", ".join(f"{middle:g}" for middle in missing)
            yield rows[0][0], "middle", f"{name}: given {severity} there is no row at {listed}; add it"
    if len(wanted) < 2:
        yield rows[0][0], "middle", f"{name}: one step tells nothing; write at least two"


def _check_shares(name: str, rows: _Rows) -> Iterator[tuple[int, str, str]]:
    for severity in SEVERITIES:
        given = [(index, row) for index, row in rows if row.given == severity]
        total = sum(row.share for _, row in given)
        if abs(total - 1) > SUM_WITHIN:
            yield given[0][0], "share", f"{name}: given {severity} the shares add to {total:.6g}; they must add to 1"
        for index, row in given:
            if row.alike != given[0][1].alike:
                message = f"{name}: given {severity} it is {row.alike:g} here and {given[0][1].alike:g} before"
                yield index, "alike", f"{message}; write one figure"


def _check_rise(name: str, rows: _Rows, *, rising: bool) -> Iterator[tuple[int, str, str]]:
    """The worse the fault, the likelier the worse steps in ratio."""
    at = {(row.given, row.middle): (index, row) for index, row in rows}
    middles = sorted({row.middle for _, row in rows}, reverse=not rising)
    shares = [[at[severity, middle][1].share for middle in middles] for severity in SEVERITIES]
    for worse, column, ratios in not_rising(shares):
        milder, middle = middles[column - 1 : column + 1]
        before, given = SEVERITIES[worse - 1 : worse + 1]
        message = f"{name}: {middle:g} to {milder:g} is {ratios}, given {before} and then {given}; it may not fall"
        yield at[given, middle][0], "share", message


PIECE_CHECKS = (check_pieces,)
