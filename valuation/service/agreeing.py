"""What is agreed on, as it is kept: scope and lines of that day as they were quoted, and the price really agreed on.

Later tables, prices and findings change what an appraisal says; what somebody agreed to, they don't.
"""

from __future__ import annotations

from collections import Counter
from datetime import date
from typing import Any

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_work import OptionResult
from valuation.engine.money import tax_of
from valuation.engine.rows import StageRow, Tables
from valuation.errors import Problem, VisitError
from valuation.facts.visit import Piano, Visit
from valuation.jobs.expected import expected_hours
from valuation.jobs.recorded_job import RecordedJob
from valuation.jobs.told import estimate_of_option, pieces_of
from valuation.report.quote import FixedLine, IfFound, Quote, quote_of
from valuation.report.their_version import TheirVersion

_CENTS, _FOUR = 2, 4


def options_to_agree(found: Appraisal) -> tuple[str, ...]:
    """Return the options that have work in them, the verdict's first, then by what they are worth to the client.

    None before enough was looked at: without a verdict there is no price, and nothing to agree on.
    """
    if not found.ready:
        return ()
    worked = [option for option in found.options if option.treatments] or [o for o in found.options if o.lines]
    ordered = sorted(worked, key=lambda option: (option.option != found.verdict, -option.expected_net))
    return tuple(option.option for option in ordered)


def stage_row(stage: str, book: Tables) -> StageRow:
    """Return a stage of the table; `VisitError` if there is none of that id."""
    row = next((row for row in book.stages if row.id == stage), None)
    if row is None:
        known = ", ".join(row.id for row in book.stages)
        raise VisitError([Problem("job", 0, "stage", f"'{stage[:40]}' is not a stage; write one of {known}")])
    return row


def agreement_for(
    job: RecordedJob,
    stage: str,
    day: date,
    *,
    book: Tables,
    visit: Visit,
    found: Appraisal | None,
    option: str = "",
    version: TheirVersion | None = None,
    price: float | None = None,
) -> dict[str, Any] | None:
    """Return the agreement that a step makes, to be kept in `AGREEMENT`; None where it makes none.

    A stage that is a yes makes one, also where it stands in the place of a no that was entered first. There is one a
    job: what was agreed on already stays, and is changed by a change of the agreement.

    Parameters
    ----------
    job, stage, day, book, visit, found
        As for `event_for`; nothing can be agreed on before the appraisal has a verdict.
    option : str
        The first of `options_to_agree` if left out.
    version : TheirVersion, optional
        The option as the client wants it, which is what the quotation says.
    price : float, optional
        What was really agreed on for the fixed lines, with tax; that of the quote if left out.
    """
    if stage_row(stage, book).outcome != "yes" or job.agreed or found is None or not visit.findings:
        return None
    name = option or next(iter(options_to_agree(found)), "")
    chosen = version.option if version else found.option(name) if name else None
    if chosen is None or not chosen.lines:
        return None
    quote = version.quote if version else quote_of(chosen, tax_of(book, found.on))
    return agreement_value(chosen, quote, visit.piano, book, on=day, price=price)


def agreement_value(
    chosen: OptionResult,
    quote: Quote,
    piano: Piano,
    tables: Tables,
    *,
    on: date,
    price: float | None = None,
) -> dict[str, Any]:
    """Return what is agreed on.

    Parameters
    ----------
    chosen : OptionResult
        The way, with what the client wants done and left.
    quote : Quote
        Its lines and prices, as they stand on the quotation.
    on : date
        Day of the agreement.
    price : float, optional
        What was really agreed on for the fixed lines, with tax; that of the quote if left out.

    Returns
    -------
    dict
        JSON. Hours of the lines are expected ones, those that were priced; ``operations`` has low, likely and high of
        each operation once, and ``pieces`` what was counted, so that the work can later be held against any tables.

    Raises
    ------
    ValueError
        If nothing is done in it.
    """
    if not quote.lines:
        raise ValueError(f"'{chosen.option}' has no work in it; choose an option that has")
    quoted = float(quote.total)
    return {
        "day": on.isoformat(),
        "option": chosen.option,
        "scope": chosen.scope,
        "price": round(quoted if price is None else price, _CENTS),
        "quoted": quoted,
        "tax": round(float(quote.tax / quote.before_tax), 6) if quote.before_tax else 0.0,
        "lines": [_line(row) for row in quote.lines],
        "if_found": _if_found_lines(quote, piano, tables),
        "plan": {part: level for part, level in chosen.plan.items() if level != "keep"},
        "operations": [
            [e.operation, *(round(h, _FOUR) for h in (e.low, e.likely, e.high))]
            for e in estimate_of_option(chosen, tables, piano)
        ],
        "pieces": pieces_of(chosen),
        "tables": tables.hash,
    }


def _line(row: FixedLine) -> dict[str, Any]:
    line = row.line
    money = {"labour": float(row.labour), "materials": float(row.materials), "outside": float(row.outside)}
    told: dict[str, Any] = {"operation": line.operation, "part": line.part, "with_it": list(line.with_it)}
    told |= {"hours": round(float(line.hours), _FOUR), **money}
    return {name: cell for name, cell in told.items() if cell not in ("", [])}


def _if_found_lines(quote: Quote, piano: Piano, tables: Tables) -> list[dict[str, Any]]:
    often = Counter(row.allowance.operation for row in quote.if_found)
    return [_if_found(row, often[row.allowance.operation] > 1, piano, tables) for row in quote.if_found]


def _if_found(row: IfFound, named_by_fault: bool, piano: Piano, tables: Tables) -> dict[str, Any]:
    told = row.allowance
    key = f"{told.operation}__{'_'.join(told.faults)}"[:60] if named_by_fault else told.operation
    hours = expected_hours(tables, piano.kind, piano.features, told.operation)
    return {
        "key": key,
        "operation": told.operation,
        "part": told.part,
        "faults": list(told.faults),
        "chance": round(float(told.chance), _FOUR),
        "price": float(row.price),
    } | ({"hours": [round(h, _FOUR) for h in (hours.low, hours.likely, hours.high)]} if hours else {})
