"""What not to do: learn from the opened pianos alone, by counting. For the tests that show what it costs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from valuation.engine.rows import SEVERITIES, Tables
from valuation.learn.cases import see
from valuation.learn.condition_tables import ODDS_COUNT_AS, READINGS_COUNT_AS
from valuation.learn.rising import nearest_rising


def count_opened(cases, tables: Tables, *, readings: bool = True, odds: bool = True) -> Tables:
    """Return tables learned by counting what was found with which true severity, on faults that were opened."""
    seen = see([case for case in cases if case.teardown], tables)
    truth = seen.fixed.argmax(axis=1)
    found = {name: np.zeros((4, 4)) for name in seen.surenesses}
    for pair, reading, speaks in zip(seen.pair, seen.reading, seen.speaks, strict=True):
        if seen.shown[pair]:
            found[seen.surenesses[reading]][truth[pair]] += speaks
    lived: dict[tuple[str, str, float], np.ndarray] = {}
    ages = {name: _ages(tables, name) for name in seen.names}
    for m in np.flatnonzero(seen.shown & (seen.odds >= 0)):
        name = seen.names[seen.odds[m]]
        nearest = min(ages[name], key=lambda age, m=m: abs(age - seen.age[m]))
        lived.setdefault((*name, nearest), np.zeros(4))[truth[m]] += 1

    def reading_row(row):
        if row.id not in found or not found[row.id].any():
            return row
        first = np.array([[getattr(r, s) for s in SEVERITIES] for r in tables.readings if r.id == row.id])
        shares = nearest_rising(READINGS_COUNT_AS * first + found[row.id])[SEVERITIES.index(row.given)]
        return replace(row, **dict(zip(SEVERITIES, map(float, shares), strict=True)))

    def odds_row(row):
        counts = lived.get((row.fault, row.build, row.age))
        if counts is None:
            return row
        first = np.array([getattr(row, s) for s in SEVERITIES])
        shares = ODDS_COUNT_AS * first / first.sum() + counts
        return replace(row, **dict(zip(SEVERITIES, map(float, 100 * shares / shares.sum()), strict=True)))

    return replace(
        tables,
        readings=tuple(map(reading_row, tables.readings)) if readings else tables.readings,
        fault_odds=tuple(map(odds_row, tables.fault_odds)) if odds else tables.fault_odds,
    )


def _ages(tables: Tables, name: tuple[str, str]) -> list[float]:
    return [row.age for row in tables.fault_odds if (row.fault, row.build) == name]
