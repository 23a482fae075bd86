"""Next looks: whether there is a verdict yet, what to look at next, and when to stop looking.

In: a study, its answer. Out: the checks and accesses ranked by what they are worth a minute, and the musts still
open. There is no verdict until every gate has been looked at, or one is seen to have failed: a rule, not a worth,
since in an old upright nobody has looked at every single check is worth nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from valuation.engine.appraised_advice import NextCheck, NextStep
from valuation.engine.decision import PARTIAL, REBUILD, RETIRE, Scope
from valuation.engine.knowing import Candidate, Known, Worth, know, worth_of_checks, worth_of_faults
from valuation.engine.money import in_force
from valuation.engine.network import Network
from valuation.engine.payoffs import heart_payoff, together
from valuation.engine.plans import Payoff
from valuation.engine.rows.evidence import CheckRow
from valuation.engine.rows.words import ACCESSES, CAUSES, SEVERITIES, STATES
from valuation.engine.study import Answer, Study, tuning_at

_SEEN_FAILED = 0.8
"""A gate this surely failed settles that there is a verdict [-]."""
_PLANS_EACH = 3
"""Plans of each aim that count as candidates, beside those of the ways."""
_WORTH_A_STEP = 0.01


@dataclass(frozen=True, slots=True)
class Readiness:
    """Whether there is a verdict to speak of, and what is still to be seen before one."""

    ready: bool
    open_gates: tuple[str, ...]
    musts: tuple[str, ...]
    minutes: float
    locked: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Looks:
    """What is left to look at."""

    checks: tuple[NextCheck, ...]
    steps: tuple[NextStep, ...]
    worth_of_the_unseen: float
    stop_looking: bool


def readiness_of(study: Study) -> Readiness:
    """Return whether every gate has been looked at, or one is seen to have failed."""
    network, condition = study.condition.network, study.condition
    made = set(condition.evidence.checks)
    hidden = {finding.check for finding in study.visit.findings if finding.cannot_see}
    musts = [row for row in network.checks.values() if row.must == "yes"]
    asked = [row for row in musts if is_asked(study, row)]
    open_gates, locked = [], []
    failed = False
    for p, part in enumerate(network.parts):
        if not part.gate:
            continue
        of_part = [row for row in musts if _part_of(network, row) == part.id]
        failed |= float(condition.states[p, STATES.index("failed")]) >= _SEEN_FAILED and bool(
            {row.id for row in network.checks.values() if _part_of(network, row) == part.id} & made
        )
        if not any(row.id in made for row in of_part):
            open_gates.append(part.id)
            if of_part and all(row.id in hidden for row in of_part):
                locked.append(part.id)
    still = [row for row in asked if row.id not in made and row.id not in hidden and not row.readings_of]
    return Readiness(
        ready=failed or not open_gates,
        open_gates=tuple(open_gates),
        musts=tuple(row.id for row in still),
        minutes=sum(row.minutes for row in still),
        locked=tuple(locked),
    )


def _part_of(network: Network, check: CheckRow) -> str:
    return network.faults[network.index[check.reads]].part if check.reads in network.index else ""


def is_asked(study: Study, check: CheckRow) -> bool:
    """Tell whether a check is asked: at once, or because the answer before it called for it."""
    if not check.asked_after:
        return True
    evidence = study.condition.evidence
    if check.asked_after not in evidence.checks:
        return False
    reads = int(evidence.weights[evidence.checks.index(check.asked_after)].argmax())
    return reads >= SEVERITIES.index(check.asked_from)


def candidates_of(study: Study, answer: Answer) -> tuple[Candidate, ...]:
    """Return what could be decided after one more look: the ways' plans, and the best others of each aim.

    A class that nothing speaks for today counts too: one look may be what speaks for it. A repair at nearly the
    rebuild's price is offered by no decision but as the rebuild, so between the two nothing turns.
    """
    heart = heart_payoff(answer.figures.stakes)
    payoff = together(answer.payoff, heart)
    found: list[Candidate] = []
    keys: set[tuple[int, tuple[int, ...]]] = set()
    for option, scope in answer.decision.best.items():
        if answer.decision.affordable[option]:
            found.append(Candidate(option, scope.plan, payoff, _allowance(scope, heart, study)))
            keys.add((scope.plan.opening, scope.plan.choices))
    budget, unraised = answer.figures.stakes.budget, tuning_at(study, answer.figures).unraised
    classes = {row.id: row.verdict for row in study.tables.scopes} | {
        f"pays:{verdict}": verdict for verdict in (PARTIAL, REBUILD)
    }
    rebuild = answer.decision.best.get(REBUILD)
    near = study.tables.settings.near_rebuild * rebuild.plan.price if rebuild is not None else np.inf
    for aim, plans in answer.found.items():
        for plan in plans[:_PLANS_EACH]:
            key = (plan.opening, plan.choices)
            if key not in keys and (budget is None or plan.price <= budget):
                keys.add(key)
                way = REBUILD if classes[aim] == PARTIAL and plan.price >= near else classes[aim]
                found.append(Candidate(way, plan, payoff, -unraised))
    parting = answer.decision.parting
    market, stakes = study.market, answer.figures.stakes
    coefficients = np.zeros(len(payoff.coefficients))
    coefficients[0] = market.sound * market.mean_over_median * (1 - stakes.selling_cost)
    found.append(
        Candidate(RETIRE, None, Payoff(coefficients, max(parting.another, 0.0) - market.replacement.haul_away))
    )
    return tuple(found)


def _allowance(scope: Scope, heart: Payoff, study: Study) -> float:
    """Return what a scope is worth over its plan's own reading, where it may not be tuned or pulled up."""
    return scope.with_heart - scope.plan.net - heart.of(scope.terms, study.condition.causes)


def known_of(study: Study, answer: Answer) -> Known:
    """Return what each candidate is worth, shared out over each fault's severity."""
    figures = answer.figures
    return know(
        answer.bench,
        candidates_of(study, answer),
        study.market.factor,
        figures.hours_scale * figures.rate_scale,
    )


def looks_of(study: Study, known: Known) -> Looks:
    """Return what is left to look at, ranked, and whether to stop."""
    condition, network = study.condition, study.condition.network
    done = {finding.check for finding in study.visit.findings}
    left = [
        row
        for row in network.checks.values()
        if row.id not in done and not row.readings_of and row.access != "strings" and is_asked(study, row)
    ]
    worths = worth_of_checks(known, condition, left)
    price_of_minute = _minute_price(study)
    rows = sorted(zip(left, worths, strict=True), key=lambda pair: (-pair[1].gain / pair[0].minutes, pair[0].id))
    checks = tuple(_next_check(network, row, worth) for row, worth in rows)
    unseen = np.array([f for f in range(len(network.faults)) if f not in set(condition.evidence.faults.tolist())])
    single = max((worth.gain - row.minutes * price_of_minute for row, worth in rows), default=0.0)
    whole = _unseen_worth(known, unseen)
    minutes = sum(row.minutes for row in left if row.reads not in CAUSES)
    return Looks(
        checks=checks,
        steps=_steps(study, rows),
        worth_of_the_unseen=whole,
        stop_looking=single <= 0 and whole <= minutes * price_of_minute,
    )


def _unseen_worth(known: Known, unseen: np.ndarray[tuple[int, ...], np.dtype[np.intp]]) -> float:
    """Return what knowing the faults that nobody looked at would be worth, taken one by one [money]."""
    return float(worth_of_faults(known, unseen).sum()) if len(unseen) else 0.0


def _minute_price(study: Study) -> float:
    rate = study.tables.settings.visit_rate
    rows = [row for row in study.tables.rates if row.id == rate]
    return in_force(rows, study.on, f"rate '{rate}'").per_hour / 60


def _next_check(network: Network, row: CheckRow, worth: Worth) -> NextCheck:
    return NextCheck(
        check=row.id,
        name=row.name,
        part=_part_of(network, row) or "history",
        fault=row.reads,
        access=row.access,
        quick=row.quick,
        must=row.must == "yes",
        minutes=row.minutes,
        gain=worth.gain,
        gain_per_minute=worth.gain / row.minutes,
        chance_to_turn=worth.chance_to_turn,
        swing=worth.swing,
    )


def _steps(study: Study, rows: list[tuple[CheckRow, Worth]]) -> tuple[NextStep, ...]:
    """Return the accesses, ranked by the worth a minute of all that lies behind each."""
    opening = {row.id: row for row in study.tables.accesses}
    opened = {study.condition.network.checks[check].access for check in study.condition.evidence.checks}
    found = []
    for access in ACCESSES:
        behind = [(row, worth) for row, worth in rows if row.access == access and worth.gain > _WORTH_A_STEP]
        if not behind or access not in opening:
            continue
        minutes = (0.0 if access in opened else opening[access].minutes) + sum(row.minutes for row, _ in behind)
        gain = sum(worth.gain for _, worth in behind)
        found.append(
            NextStep(
                access=access,
                name=opening[access].name,
                minutes=minutes,
                gain=gain,
                gain_per_minute=gain / minutes,
                checks=tuple(row.id for row, _ in behind),
            )
        )
    return tuple(sorted(found, key=lambda step: -step.gain_per_minute))
