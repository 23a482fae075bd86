"""Condition told: the scores, with what was found and the faults behind each.

In: a study. Out: the rows of an appraisal that tell of the condition, and the whole score.
"""

from __future__ import annotations

import numpy as np

from valuation.engine.appraised_condition import ComponentResult, FaultResult, FindingResult, PartResult
from valuation.engine.condition import band, scores_without, weighted_band
from valuation.engine.network import AIR_OF, USE_OF
from valuation.engine.reasons import checks_by_fault
from valuation.engine.rows.words import HISTORY, LEVELS_OF_CAUSE, SEVERITIES, STATES
from valuation.engine.study import Study


def whole_score(study: Study) -> tuple[float, float, float]:
    """Return the whole score: the mean weighed by value, held to what the worst gate allows."""
    condition = study.condition
    weights = np.array([part.value_weight for part in condition.network.parts])
    score, low, high = weighted_band(condition, weights)
    limits = np.array([row.whole_at_most for row in study.tables.states])
    gates = [p for p, part in enumerate(condition.network.parts) if part.gate]
    cap = min((float(condition.states[p] @ limits) for p in gates), default=100.0)
    return min(score, cap), min(low, cap), min(high, cap)


def findings_of(study: Study) -> dict[str, list[FindingResult]]:
    """Return the findings of each part (and of 'history'), the strongest pull first."""
    condition, network, evidence = study.condition, study.condition.network, study.condition.evidence
    without = scores_without(condition)
    by_check = {finding.check: finding for finding in study.visit.findings}
    overall = float(condition.scores.mean())
    found: dict[str, list[FindingResult]] = {}
    for i, id_ in enumerate(evidence.checks):
        row, f = network.checks[id_], int(evidence.faults[i])
        p = int(network.part_of[f]) if f >= 0 else -1
        score = float(condition.scores[p]) if p >= 0 else overall
        weights = evidence.weights[i]
        found.setdefault(network.parts[p].id if p >= 0 else HISTORY, []).append(
            FindingResult(
                check=id_,
                name=row.name,
                fault=row.reads,
                grade=SEVERITIES[int(weights.argmax())],
                grades=tuple(weights.tolist()),
                number=evidence.numbers[i],
                unit=row.unit,
                score_without=float(without[i]),
                pull=score - float(without[i]),
                note=by_check[row.readings_of or id_].note,
                rows=(f"checks:{id_}", f"readings:{row.sureness}", *((f"faults:{row.reads}",) if f >= 0 else ())),
            )
        )
    for results in found.values():
        results.sort(key=lambda result: (-abs(result.pull), result.check))
    return found


def parts_of(study: Study, findings: dict[str, list[FindingResult]]) -> tuple[PartResult, ...]:
    """Return every part with its odds, faults and findings; last how the piano has lived, if that was looked at."""
    condition, network = study.condition, study.condition.network
    results = []
    for p, part in enumerate(network.parts):
        low, high = band(condition.states[p], network.stretches)
        faults = _faults(study, p)
        results.append(
            PartResult(
                part=part.id,
                name=part.name,
                component=part.component,
                score=float(condition.scores[p]),
                low=low,
                high=high,
                states=tuple(condition.states[p].tolist()),
                state=STATES[int(condition.states[p].argmax())],
                looked_at=part.id in findings,
                faults=faults,
                why=faults[0].fault if faults else "",
                findings=tuple(findings.get(part.id, ())),
                rows=(f"parts:{part.id}", *(f"faults:{fault.fault}" for fault in faults[:3])),
            )
        )
    if HISTORY in findings:
        results.append(_history(study, findings[HISTORY]))
    return tuple(results)


def _faults(study: Study, p: int) -> tuple[FaultResult, ...]:
    """Return the faults of a part that are more likely there than not, or forbid something, the worst first."""
    condition, network = study.condition, study.condition.network
    checks = checks_by_fault(study)
    stopping = {fault for faults in study.stops.values() for fault in faults}
    found = []
    for f in range(network.first[p], network.first[p + 1]):
        row, odds = network.faults[f], condition.severities[f]
        likeliest = int(odds.argmax())
        if likeliest == 0:
            if row.id not in stopping:
                continue
            likeliest = 1 + int(odds[1:].argmax())
        severity = SEVERITIES[likeliest]
        makes = int(network.makes[f, likeliest])
        found.append(
            (
                (-makes, -likeliest, -float(odds[likeliest])),
                FaultResult(
                    fault=row.id,
                    name=row.name,
                    plain=row.plain,
                    severity=severity,
                    severities=tuple(odds.tolist()),
                    makes=STATES[makes],
                    looks=getattr(row, severity),
                    checks=checks.get(row.id, ()),
                    rows=(f"faults:{row.id}", f"fault_odds:{row.id}"),
                ),
            )
        )
    found.sort(key=lambda pair: (pair[0], pair[1].fault))
    return tuple(fault for _, fault in found)


def _history(study: Study, findings: list[FindingResult]) -> PartResult:
    """How the piano has lived is no part; it is shown beside them, with the findings that tell of it."""
    score, low, high = weighted_band(study.condition, np.ones(len(study.condition.network.parts)))
    air = cause_of(study, "air")
    return PartResult(
        part=HISTORY,
        name="how it has lived",
        component="",
        score=score,
        low=low,
        high=high,
        states=(),
        state=max(air, key=lambda level: air[level]),
        looked_at=True,
        faults=(),
        why="",
        findings=tuple(findings),
        rows=("hidden",),
    )


def cause_of(study: Study, cause: str) -> dict[str, float]:
    """Return the odds of each level of a hidden cause: 'air' or 'use'."""
    level_of = AIR_OF if cause == "air" else USE_OF
    odds = np.bincount(level_of, study.condition.causes, minlength=3)
    return dict(zip(LEVELS_OF_CAUSE[cause], odds.tolist(), strict=True))


def components_of(study: Study) -> tuple[ComponentResult, ...]:
    """Return every component that such a piano has, by its parts' weights, with the worst of them."""
    condition, network = study.condition, study.condition.network
    results = []
    for row in study.tables.components:
        member = np.array([part.component == row.id for part in network.parts])
        weights = np.array([part.score_weight for part in network.parts]) * member
        if not weights.any():
            continue
        score, low, high = weighted_band(condition, weights)
        counted = np.where(weights > 0, condition.scores, np.inf)
        worst = int(counted.argmin())
        faults = _faults(study, worst)
        results.append(
            ComponentResult(
                component=row.id,
                name=row.name,
                score=score,
                low=low,
                high=high,
                worst_part=network.parts[worst].id,
                why=faults[0].fault if faults else "",
            )
        )
    return tuple(results)
