"""What the tables say an operation takes: its set-up, and the pieces that it treats.

Both for the estimate that is kept when work is agreed on and for what is learned from the hours done: they must mean
the same.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping

from valuation.engine.network import fits
from valuation.engine.rows import CureRow, OperationRow, Tables
from valuation.jobs.records import EstimatedHours

Pieces = Mapping[str, float]
"""Fault -> how many pieces of it an operation treats."""


def expected_hours(
    tables: Tables, kind: str, features: Collection[str], operation: str, pieces: Pieces | None = None
) -> EstimatedHours | None:
    """Return the hours that the tables give an operation on one piano [h].

    Parameters
    ----------
    kind : str
        ``upright`` or ``grand``.
    features : collection of str
        Of the piano: they multiply hours.
    pieces : mapping of str to float, optional
        Fault to pieces that a small repair treats; each fault is a set-up of its own.

    Returns
    -------
    EstimatedHours or None
        None where the tables have no such operation for this kind, or hours go by the piece and nobody said how many.
    """
    row = tables.of_kind("operations", kind).get(operation)
    if row is None:
        return None
    cures = {cure.fault: cure for cure in tables.cures if cure.operation == operation and cure.piece_likely > 0}
    counted = _by_piece(cures, pieces) if row.level == "small" else _all_pieces(cures, tables, kind, features)
    if counted is None:
        return None
    times = max(len(pieces or ()), 1) if row.level == "small" else 1
    factor = _factor(tables, row, features)
    low, likely, high = (
        factor
        * (
            times * getattr(row, f"hours_{end}")
            + sum(count * getattr(cures[fault], f"piece_{end}") for fault, count in counted.items())
        )
        for end in ("low", "likely", "high")
    )
    return EstimatedHours(operation=operation, low=low, likely=likely, high=high)


def _by_piece(cures: Mapping[str, CureRow], pieces: Pieces | None) -> dict[str, float] | None:
    """Return the pieces of each fault whose hours go by the piece."""
    if pieces is None:
        return None if cures else {}
    return {fault: count for fault, count in pieces.items() if fault in cures}


def _all_pieces(cures: Mapping[str, CureRow], tables: Tables, kind: str, features: Collection[str]) -> dict[str, float]:
    """Return the pieces that a larger remedy treats: all, whatever set it off."""
    here = (fault for fault in tables.faults if fault.id in cures and fits(fault, kind, tuple(features)))
    return {fault.id: fault.extent_severe for fault in here}


def _factor(tables: Tables, row: OperationRow, features: Collection[str]) -> float:
    """Return by how much the piano's features multiply the hours of an operation."""
    return math.prod(
        feature.factor
        for feature in tables.feature_hours
        if feature.feature in features and feature.applies_to in (row.id, f"part:{row.part}")
    )
