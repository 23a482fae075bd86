"""What the client was told, as it is kept with the event: figures of that day, never redone.

Later tables, prices and findings change what an appraisal says. What somebody was told they don't.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_work import OptionResult
from valuation.engine.money import Z90, log_spread
from valuation.engine.rows import KINDS, Tables
from valuation.facts.visit import Piano, Range, Visit
from valuation.jobs.expected import expected_hours
from valuation.jobs.records import EstimatedHours, Evaluation
from valuation.record.job_card import operations_of

_CENTS = 2


def told_value(found: Appraisal, visit: Visit, tables: Tables, *, on: date) -> dict[str, Any]:
    """Return what a client is told of an evaluation, as it is kept.

    Parameters
    ----------
    tables : Tables
        Those of the appraisal.
    on : date
        Day on which the client has it.

    Returns
    -------
    dict
        JSON: verdict, who made it, what the client puts on keeping it, price and hours of the work that the verdict
        talks about, and what the piano would then be worth. What the verdict has no work for, is left out.
    """
    option = found.best
    value: dict[str, Any] = {
        "on": on.isoformat(),
        "verdict": found.verdict,
        "clarity": found.clarity,
        "technician": visit.technician,
        "premium": visit.client.to_have + visit.client.to_hear,
        "tables": found.tables_hash,
    }
    if option.lines:
        hours = hours_in_all(estimate_of(found, option.option, tables, visit.piano), tables.settings.job_spread)
        value |= {f"price_{end}": round(getattr(option.price, end), _CENTS) for end in ("low", "likely", "high")}
        value |= {f"hours_{end}": round(getattr(hours, end), _CENTS) for end in ("low", "likely", "high")}
        value["value_after"] = round(option.value_after.likely, _CENTS)
    return value


def estimate_of(found: Appraisal, option: str, tables: Tables, piano: Piano) -> tuple[EstimatedHours, ...]:
    """Return the hours of an option's operations as the tables have them, in the order of the work, each once."""
    chosen = found.option(option)
    return () if chosen is None else estimate_of_option(chosen, tables, piano)


def estimate_of_option(chosen: OptionResult, tables: Tables, piano: Piano) -> tuple[EstimatedHours, ...]:
    """Return the hours of the operations of a way; as `estimate_of`, for one that is planned as the client wants it."""
    pieces = pieces_of(chosen)
    names = dict.fromkeys(name for line in chosen.lines for name in (line.operation, *line.with_it))
    hours = (expected_hours(tables, piano.kind, piano.features, name, pieces.get(name, {})) for name in names)
    return tuple(line for line in hours if line is not None)


def pieces_of(option: OptionResult) -> dict[str, dict[str, float]]:
    """Return how many pieces of each fault the small repairs of an option treat, by operation."""
    found: dict[str, dict[str, float]] = {}
    for line in option.lines:
        if line.pieces:
            found.setdefault(line.operation, {}).update({fault: round(line.pieces, 2) for fault in line.faults})
    return found


def hours_in_all(lines: Sequence[EstimatedHours], job_spread: float) -> Range:
    """Return the hours of a whole job, 8 in 10 between low and high [h].

    Parameters
    ----------
    job_spread : float
        How whole jobs run over or under, standard deviation of the logarithm [-].

    Notes
    -----
    Each operation is lognormal about its likely figure, its own spread what the three points leave beside the job's
    share, as in `valuation.engine.money`. Their sum is taken for lognormal by its mean and variance [1]_; the job's
    share multiplies it.

    References
    ----------
    .. [1] Fenton, IRE Transactions on Communications Systems 8 (1960) 57.

    Examples
    --------
    >>> one = EstimatedHours(operation="restring", low=10, likely=12, high=16)
    >>> whole = hours_in_all([one], 0.0)
    >>> round(whole.likely, 6)
    12.0
    """
    mean = variance = 0.0
    for line in lines:
        spread = log_spread(line.low, line.likely, line.high)
        own = max(spread**2 - job_spread**2, 0.0)
        each = line.likely * math.exp(own / 2)
        mean += each
        variance += each**2 * math.expm1(own)
    if mean == 0:
        return Range(low=0.0, likely=0.0, high=0.0)
    over = math.log1p(variance / mean**2)
    likely = mean * math.exp(-over / 2)
    reach = math.exp(Z90 * math.sqrt(over + job_spread**2))
    return Range(low=likely / reach, likely=likely, high=likely * reach)


def estimate_agreed(agreed: Mapping[str, Any]) -> tuple[EstimatedHours, ...]:
    """Return the hours estimated for each operation, from what was kept when it was agreed on."""
    return tuple(
        EstimatedHours(operation=name, low=low, likely=likely, high=high)
        for name, (low, likely, high) in operations_of(agreed).items()
    )


def evaluation_of(columns: Mapping[str, Any], visit: str, kind: str) -> Evaluation | None:
    """Return an evaluation from the columns that are kept of its job; None where nobody was told, or of what piano.

    Parameters
    ----------
    columns : mapping of str to object
        As `valuation.record.job_card.job_columns` gives them.
    """
    if not columns["evaluated_on"] or not columns["verdict"] or kind not in KINDS:
        return None
    bands = {}
    for name in ("price", "hours"):
        band = [columns[f"{name}_{end}"] for end in ("low", "likely", "high")]
        bands[name] = None if None in band else Range(low=band[0], likely=band[1], high=band[2])
    return Evaluation(
        visit=visit,
        on=date.fromisoformat(columns["evaluated_on"]),
        kind=kind,
        verdict=columns["verdict"],
        technician=columns["technician"] or "",
        source=columns["source"] or "",
        referred=columns["referred"],
        premium=columns["premium"],
        value_after=columns["value_after"],
        **bands,
    )
