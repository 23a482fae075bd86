"""Across tables: states, parts, ages and the odds that join them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any

from valuation.core.rows import EXPOSURES, GRADES, HISTORY, STATES, StrengthRow, Tables
from valuation.errors import Problem
from valuation.files.check_names import ALWAYS, NO_VIEW
from valuation.files.faults import fault_at, quoted
from valuation.files.row_shapes import SUM_WITHIN

OLDEST_YEARS = 400
"""The last age band must reach at least so far, for no piano may fall out of it [years]."""

_ROUNDING = 1e-12
"""Products that should be equal may differ by so much."""


def check_states(book: Tables) -> Iterator[Problem]:
    """The four states stand in order and share out the score from 100 to 0 without gap."""
    if tuple(row.id for row in book.states) != STATES:
        yield fault_at(
            book, "states", None, "id", f"there must be exactly these rows, in this order: {', '.join(STATES)}"
        )
        return
    ends = [100.0, *(row.score_low for row in book.states)]
    for index, (row, end) in enumerate(zip(book.states, ends, strict=False)):
        if row.score_high != end:
            message = (
                f"the score of {row.id} ends at {row.score_high:g}; it must end at {end:g}, where the better one begins"
            )
            yield fault_at(book, "states", index, "score_high", message)
    if ends[-1] != 0:
        yield fault_at(book, "states", len(STATES) - 1, "score_low", f"the score must begin at 0, not at {ends[-1]:g}")


def check_exposures(book: Tables) -> Iterator[Problem]:
    """The three exposures stand in order and their odds add to 1."""
    if tuple(row.id for row in book.exposures) != EXPOSURES:
        message = f"there must be exactly these rows, in this order: {', '.join(EXPOSURES)}"
        yield fault_at(book, "exposures", None, "id", message)
        return
    total = sum(row.odds for row in book.exposures)
    if abs(total - 1) > SUM_WITHIN:
        yield fault_at(book, "exposures", None, "odds", f"the odds add to {total:.6g}; they must add to 1")


def check_parts(book: Tables) -> Iterator[Problem]:
    """Every component has parts, and the worth hangs on the parts that are always there to 1 in all."""
    used = {part.component for part in book.parts}
    for index, component in enumerate(book.components):
        if component.id not in used:
            yield fault_at(
                book, "components", index, "id", f"no part belongs to {quoted(component.id)}; add one or delete it"
            )
    total = sum(part.value_weight for part in book.parts if part.present == ALWAYS)
    if abs(total - 1) > SUM_WITHIN:
        message = f"the value_weight of the parts that are always present adds to {total:.6g}; it must add to 1"
        yield fault_at(book, "parts", None, "value_weight", message)


def check_ages(book: Tables) -> Iterator[Problem]:
    """Age bands follow one another without gap, from 0 to more than any piano's age."""
    ends = [0.0, *(row.to_years for row in book.ages)]
    for index, (row, end) in enumerate(zip(book.ages, ends, strict=False)):
        if row.from_years != end:
            message = f"the band must begin at {end:g}, where the one before ends; it begins at {row.from_years:g}"
            yield fault_at(book, "ages", index, "from_years", message)
    if ends[-1] < OLDEST_YEARS:
        yield fault_at(
            book, "ages", None, "to_years", f"the last band must reach {OLDEST_YEARS} years; it ends at {ends[-1]:g}"
        )


def check_priors(book: Tables) -> Iterator[Problem]:
    """Every part, age and exposure has its odds, and a harsher life never makes worse states rarer in ratio."""
    found = {(row.part, row.age, row.exposure): (index, row) for index, row in enumerate(book.priors)}
    for part in book.parts:
        for age in book.ages:
            rows = [found.get((part.id, age.id, exposure)) for exposure in EXPOSURES]
            for exposure, row in zip(EXPOSURES, rows, strict=True):
                if row is None:
                    message = f"there is no row for {part.id}, {age.id}, {exposure}; add it"
                    yield fault_at(book, "priors", None, "part", message)
            if None not in rows:
                for index, where, message in _not_rising(rows, STATES, "exposure"):
                    yield fault_at(book, "priors", index, where, f"{part.id}, {age.id}: {message}")


def check_strengths(book: Tables) -> Iterator[Problem]:
    """Every strength table is whole, and a worse truth never makes worse readings rarer in ratio."""
    for name, rows in _strength_tables(book).items():
        truths = _truths(rows)
        given = tuple(truth for truth in truths if truth in {row.given for _, row in rows})
        if given != truths or len(rows) > len(truths):
            message = f"{quoted(name)} needs one row for each of {', '.join(STATES)}, or of {', '.join(EXPOSURES)}"
            yield fault_at(book, "strengths", rows[0][0], "given", message)
            continue
        in_order = sorted(rows, key=lambda item: truths.index(item[1].given))
        for index, where, message in _not_rising(in_order, GRADES, "given"):
            yield fault_at(book, "strengths", index, where, f"{name}: {message}")


def check_families(book: Tables) -> Iterator[Problem]:
    """A family of a part has a view and checks given states; a history family no view and checks given exposures."""
    tables = _strength_tables(book)
    families = {family.id: family for family in book.families}
    for index, family in enumerate(book.families):
        if family.part == HISTORY and family.view != NO_VIEW:
            yield fault_at(book, "families", index, "view", f"a history family has no view; write '{NO_VIEW}'")
        if family.part != HISTORY and family.view == NO_VIEW:
            yield fault_at(book, "families", index, "view", "a family of a part needs a view; name a strength table")
        if family.part != HISTORY and family.view in tables and _truths(tables[family.view]) != STATES:
            message = f"{quoted(family.view)} is given exposures; the view of a part needs one given states"
            yield fault_at(book, "families", index, "view", message)
    for index, check in enumerate(book.checks):
        if check.family not in families or check.strength not in tables:
            continue  # told with the names
        wanted, words = (EXPOSURES, "exposures") if families[check.family].part == HISTORY else (STATES, "states")
        if _truths(tables[check.strength]) != wanted:
            message = (
                f"{quoted(check.strength)} does not fit family {quoted(check.family)}, which needs one given {words}"
            )
            yield fault_at(book, "checks", index, "strength", message)


def _strength_tables(book: Tables) -> dict[str, list[tuple[int, StrengthRow]]]:
    tables: dict[str, list[tuple[int, StrengthRow]]] = {}
    for index, row in enumerate(book.strengths):
        tables.setdefault(row.id, []).append((index, row))
    return tables


def _truths(rows: Sequence[tuple[int, StrengthRow]]) -> tuple[str, ...]:
    return EXPOSURES if rows[0][1].given in EXPOSURES else STATES


def _not_rising(rows: Sequence[tuple[int, Any]], columns: Sequence[str], key: str) -> Iterator[tuple[int, str, str]]:
    """Yield (row index, column, message) where odds fall that should rise with the row.

    Rows and columns run from good to bad. All shares being above 0, neighbours in order mean all in order.
    """
    for (_, better), (index, worse) in pairwise(rows):
        for left, right in pairwise(columns):
            here = getattr(better, left) * getattr(worse, right)
            across = getattr(better, right) * getattr(worse, left)
            if here < across - _ROUNDING:
                first, second = _ratio(better, left, right), _ratio(worse, left, right)
                above, below = getattr(better, key), getattr(worse, key)
                message = f"{right} to {left} is {first} for {above} and {second} for {below}; it may not be less"
                yield index, right, message


def _ratio(row: Any, left: str, right: str) -> str:
    return f"{getattr(row, right) / getattr(row, left):.4g}"


ODDS_CHECKS = (check_states, check_exposures, check_parts, check_ages, check_priors, check_strengths, check_families)
