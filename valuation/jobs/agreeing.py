"""What is agreed on, as it is kept: scope and lines of that day, and the price really agreed on.

Later tables, prices and findings change what an appraisal says; what somebody agreed to, they don't.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from datetime import date
from typing import Any

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_work import Allowance, Line, OptionResult
from valuation.engine.rows import Tables
from valuation.facts.visit import Piano, Visit
from valuation.jobs.expected import expected_hours
from valuation.jobs.told import estimate_of, pieces_of

_CENTS, _FOUR = 2, 4


def agreement_value(
    found: Appraisal, option: str, visit: Visit, tables: Tables, *, on: date, price: float | None = None, note: str = ""
) -> dict[str, Any]:
    """Return what is agreed on.

    Parameters
    ----------
    found : Appraisal
    option : str
    visit : Visit
    tables : Tables
        Those of the appraisal.
    on : date
        Day of the agreement.
    price : float, optional
        What was really agreed on for the fixed lines, with tax; that of the lines if left out.
    note : str

    Returns
    -------
    dict
        JSON. Hours of the lines are expected ones, those that were priced; ``operations`` has low, likely and high of
        each operation once, and ``pieces`` what was counted, so that the work can later be held against any tables.

    Raises
    ------
    ValueError
        If the appraisal has no such option, or nothing is done in it.
    """
    chosen = found.option(option)
    if chosen is None or not chosen.lines:
        raise ValueError(f"'{option}' has no work in it; choose an option that has")
    estimate = estimate_of(found, option, tables, visit.piano)
    value: dict[str, Any] = {
        "day": on.isoformat(),
        "option": option,
        "scope": chosen.scope,
        "price": round(float(chosen.fixed_price if price is None else price), _CENTS),
        "quoted": round(float(chosen.fixed_price), _CENTS),
        "tax": round(float(chosen.tax / chosen.before_tax), 6) if chosen.before_tax else 0.0,
        "lines": [_line(row) for row in chosen.lines],
        "if_found": _if_found_lines(chosen, visit.piano, tables),
        "plan": {part: level for part, level in chosen.plan.items() if level != "keep"},
        "operations": [[e.operation, *(round(h, _FOUR) for h in (e.low, e.likely, e.high))] for e in estimate],
        "pieces": pieces_of(chosen),
        "tables": found.tables_hash,
    }
    return value | ({"note": note.strip()} if note.strip() else {})


def _line(row: Line) -> dict[str, Any]:
    figures = {name: round(float(getattr(row, name)), _FOUR) for name in ("hours", "labour", "materials", "outside")}
    told = {"operation": row.operation, "part": row.part, "with_it": list(row.with_it), **figures}
    return {name: cell for name, cell in told.items() if cell not in ("", [])}


def _if_found_lines(chosen: OptionResult, piano: Piano, tables: Tables) -> list[dict[str, Any]]:
    often = Counter(row.operation for row in chosen.allowances)
    return [_if_found(row, often, piano, tables) for row in chosen.allowances]


def _if_found(row: Allowance, often: Mapping[str, int], piano: Piano, tables: Tables) -> dict[str, Any]:
    key = row.operation if often[row.operation] == 1 else f"{row.operation}__{'_'.join(row.faults)}"[:60]
    hours = expected_hours(tables, piano.kind, piano.features, row.operation)
    return {
        "key": key,
        "operation": row.operation,
        "part": row.part,
        "faults": list(row.faults),
        "chance": round(float(row.chance), _FOUR),
        "price": round(float(row.if_needed), _CENTS),
    } | ({"hours": [round(h, _FOUR) for h in (hours.low, hours.likely, hours.high)]} if hours else {})
