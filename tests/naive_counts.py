"""What not to do: learn from the opened pianos alone, by counting. For the tests that show what it costs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from valuation.engine.rows import EXPOSURES, GRADES, STATES, Tables
from valuation.learn.cases import lots
from valuation.learn.condition_tables import LEAST_PRIOR, PRIOR_COUNTS_AS, STRENGTH_COUNTS_AS
from valuation.learn.rising import nearest_rising


def count_opened(cases, tables: Tables, *, strengths: bool = True, priors: bool = True) -> Tables:
    """Return tables learned by counting what was found in which true state, on parts that were opened."""
    found = {row.id: np.zeros((4, 4)) for row in tables.strengths}
    lived = {(row.part, row.age): np.zeros(4) for row in tables.priors}
    opened = [case for case in cases if case.teardown]
    for lot in lots(opened, tables):
        state = lot.possible.argmax(axis=2)
        for c, (check, family) in enumerate(lot.net.check_family.items()):
            p = lot.net.family_part[family]
            here = lot.made[:, c] & lot.opened[:, p]
            if p >= 0:
                np.add.at(found[lot.net.checks[check].strength], state[here, p], lot.grades[here, c])
        for p, part in enumerate(lot.net.parts):
            for i in np.flatnonzero(lot.opened[:, p]):
                lived[part.id, tables.ages[lot.ages[i, p]].id][state[i, p]] += 1

    def strength(row):
        rows = [r for r in tables.strengths if r.id == row.id]
        if len(rows) == 3 or not found[row.id].any():
            return row
        first = np.array([[getattr(r, grade) for grade in GRADES] for r in rows])
        shares = nearest_rising(STRENGTH_COUNTS_AS * first + found[row.id])[STATES.index(row.given)]
        return replace(row, **dict(zip(GRADES, map(float, shares), strict=True)))

    def prior(row):
        seen = lived[row.part, row.age]
        if not seen.any():
            return row
        rows = [r for r in tables.priors if (r.part, r.age) == (row.part, row.age)]
        first = np.array([[getattr(r, s) for s in STATES] for r in rows])
        shares = nearest_rising(PRIOR_COUNTS_AS * first + seen / 3, least=LEAST_PRIOR)[EXPOSURES.index(row.exposure)]
        return replace(row, **dict(zip(STATES, map(float, shares), strict=True)))

    return replace(
        tables,
        strengths=tuple(map(strength, tables.strengths)) if strengths else tables.strengths,
        priors=tuple(map(prior, tables.priors)) if priors else tables.priors,
    )
