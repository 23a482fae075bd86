"""Tables with what was learned in them, and how well they foretell what teardown showed: to try what is learned."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from valuation.engine.condition import assess
from valuation.engine.rows import SEVERITIES, Tables
from valuation.learn.cases import Case
from valuation.learn.condition_tables import ConditionLearned, ages_of


def with_condition(tables: Tables, learned: ConditionLearned) -> Tables:
    """Return tables with the learned shares in the place of the old ones; for trying them, not for writing."""
    readings = []
    for row in tables.readings:
        if row.id in learned.readings:
            shares = learned.readings[row.id].shares[SEVERITIES.index(row.given)]
            row = _with_shares(row, shares)
        readings.append(row)
    odds = []
    for odd in tables.fault_odds:
        name = (odd.fault, odd.build)
        if name in learned.odds:
            odd = _with_shares(odd, 100 * learned.odds[name].shares[ages_of(tables, name).index(odd.age)])
        odds.append(odd)
    return replace(tables, readings=tuple(readings), fault_odds=tuple(odds))


def _with_shares(row: Any, shares: np.ndarray) -> Any:
    none, slight, marked, severe = map(float, shares)
    return replace(row, none=none, slight=slight, marked=marked, severe=severe)


def teardown_scores(cases: Sequence[Case], tables: Tables) -> np.ndarray:
    """Return the logarithm of the odds that the findings gave each severity which teardown then showed.

    Returns
    -------
    ndarray
        One for each fault shown; nearer to 0 is better.
    """
    scores = []
    for case in cases:
        if case.teardown:
            found = assess(tables, case.visit, case.visit.on)
            scores += [
                np.log(found.severities[found.network.index[t.fault], SEVERITIES.index(t.severity)])
                for t in case.teardown
            ]
    return np.array(scores)
