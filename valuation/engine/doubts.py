"""Doubts: findings that hardly fit together, told so that somebody looks again; they never block.

In: the tables, a condition. Out: conflicts. The measure is Jensen's: the logarithm of how much less likely findings
are together than each by itself. Within one fault it is exact; between two faults, which are independent given the
causes, a small table says how rarely the one is found so bad beside the other so good.

References
----------
Jensen, Chamberlain, Nordahl and Jensen, "Analysis in HUGIN of Data Conflict", Uncertainty in Artificial Intelligence 6,
1991, 519-528.
"""

from __future__ import annotations

import math

import numpy as np

from valuation.engine.appraised_condition import Conflict
from valuation.engine.condition import Condition
from valuation.engine.rows.tables import Tables
from valuation.engine.rows.words import SEVERITIES


def conflicts_of(tables: Tables, condition: Condition) -> tuple[Conflict, ...]:
    """Return the conflicts that are worth telling, the greatest first."""
    found = [*_within(condition, tables.settings.conflict_from), *_between(tables, condition)]
    return tuple(sorted(found, key=lambda conflict: (-conflict.measure, conflict.fault)))


def _within(condition: Condition, least: float) -> list[Conflict]:
    """Compare the checks of one fault with each other."""
    evidence, network = condition.evidence, condition.network
    found = []
    for f in sorted({int(fault) for fault in evidence.faults if fault >= 0}):
        members = [i for i, fault in enumerate(evidence.faults.tolist()) if fault == f]
        if len(members) < 2:
            continue
        prior = condition.prior[f].T @ condition.causes
        columns = np.array([evidence.columns[i] for i in members])
        apart = float(np.log(columns @ prior).sum())
        joint = math.log(float(columns.prod(axis=0) @ prior))
        if apart - joint >= least:
            fault = network.faults[f].id
            found.append(
                Conflict(
                    fault=fault,
                    with_fault=fault,
                    checks=tuple(evidence.checks[i] for i in members),
                    measure=apart - joint,
                    says="",
                    rows=tuple(f"checks:{evidence.checks[i]}" for i in members),
                )
            )
    return found


def _between(tables: Tables, condition: Condition) -> list[Conflict]:
    network, severities = condition.network, condition.severities
    read = {condition.network.faults[f].id for f in condition.evidence.faults.tolist() if f >= 0}
    found = []
    for row in tables.conflicts:
        if not {row.fault, row.with_fault} <= read:
            continue
        bad = float(severities[network.index[row.fault], SEVERITIES.index(row.at_least) :].sum())
        good = float(severities[network.index[row.with_fault], : SEVERITIES.index(row.at_most) + 1].sum())
        both = bad * good
        measure = math.log(both / (both * row.chance + 1 - both)) if both > 0 else 0.0
        if measure >= tables.settings.conflict_from:
            found.append(
                Conflict(
                    fault=row.fault,
                    with_fault=row.with_fault,
                    checks=tuple(
                        check
                        for check, f in zip(condition.evidence.checks, condition.evidence.faults.tolist(), strict=True)
                        if f >= 0 and network.faults[f].id in (row.fault, row.with_fault)
                    ),
                    measure=measure,
                    says=row.says,
                    rows=(f"conflicts:{row.fault}/{row.with_fault}",),
                )
            )
    return found
