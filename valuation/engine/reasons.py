"""Reasons: why this way and not the next, as data.

In: a study, its answer. Out: what each way's net is made of, and the reasons for and against, heaviest first.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from valuation.engine.appraised_advice import Reason
from valuation.engine.decision import KEEP, RETIRE, Scope
from valuation.engine.knowing import Known
from valuation.engine.payoffs import playing_payoff
from valuation.engine.rows.words import STATES
from valuation.engine.study import Answer, Study

_NOTICEABLE = 0.02
"""Reasons below this share of the heaviest are left out."""


def expected_value(study: Study, answer: Answer, scope: Scope) -> float:
    """Return the expected value of the piano after a scope."""
    value = float(study.condition.causes @ scope.terms[:, 0])
    return value * answer.figures.finished_scale * study.market.sound * study.market.mean_over_median


def breakdown(study: Study, answer: Answer, option: str) -> dict[str, float]:
    """Return what a way's expected net is made of; the figures add up to it."""
    decision = answer.decision
    if option == RETIRE:
        parting = decision.parting
        return {"proceeds": parting.sale, "replacement": parting.net - parting.sale}
    return scope_breakdown(study, answer, decision.best[option])


def scope_breakdown(study: Study, answer: Answer, scope: Scope) -> dict[str, float]:
    """Return what a scope's expected net is made of; the figures add up to it."""
    stakes, causes = answer.figures.stakes, study.condition.causes
    value = expected_value(study, answer, scope) * stakes.kept_at_end
    playing = stakes.playing_year * playing_payoff(stakes).of(scope.terms, causes) if scope.tuned else 0.0
    heart = scope.with_heart - scope.net
    return {
        "price": -scope.price,
        "value_kept": value,
        "playing": playing,
        "afterwards": scope.net + scope.price - value - playing,
        "heart": heart,
    }


def reasons(study: Study, answer: Answer, known: Known) -> tuple[Reason, ...]:
    """Return the reasons for and against the verdict, heaviest first, after the stops in force."""
    found = [*_money(study, answer), *_parts(study, answer, known)]
    heaviest = max((reason.weight for reason in found), default=0.0)
    found = [reason for reason in found if reason.weight > _NOTICEABLE * heaviest]
    found.sort(key=lambda reason: (-reason.weight, reason.code, reason.subject))
    return (*_stops(study, answer), *found)


def _stops(study: Study, answer: Answer) -> list[Reason]:
    checks = checks_by_fault(study)
    return [
        Reason(
            code="stop_rule",
            speaks_for=answer.decision.verdict,
            over="",
            weight=0.0,
            subject=fault,
            figures={},
            findings=checks.get(fault, ()),
            rows=(f"faults:{fault}",),
        )
        for fault in dict.fromkeys(fault for faults in study.stops.values() for fault in faults)
    ]


@lru_cache(maxsize=64)
def checks_by_fault(study: Study) -> dict[str, tuple[str, ...]]:
    """Return the checks made that read each fault, in the order of the walk."""
    found: dict[str, list[str]] = {}
    evidence = study.condition.evidence
    for check, f in zip(evidence.checks, evidence.faults.tolist(), strict=True):
        if f >= 0:
            found.setdefault(study.condition.network.faults[f].id, []).append(check)
    return {fault: tuple(checks) for fault, checks in found.items()}


def _money(study: Study, answer: Answer) -> list[Reason]:
    best, following = answer.decision.verdict, answer.decision.next_option
    if best == following:
        return []
    mine, theirs = breakdown(study, answer, best), breakdown(study, answer, following)
    replacement = f"replacements:{study.market.replacement.kind}/{study.market.replacement.tier}"
    rows: dict[str, tuple[str, ...]] = {
        "price": ("rates", "operations"),
        "value_kept": study.market.rows,
        "playing": (replacement, "settings:playing_worth"),
        "afterwards": (replacement,),
        "heart": (),
        "proceeds": (*study.market.rows, replacement),
        "replacement": (replacement,),
    }
    found = []
    for code, behind in rows.items():
        difference = mine.get(code, 0.0) - theirs.get(code, 0.0)
        if difference:
            found.append(
                Reason(
                    code=code,
                    speaks_for=best if difference > 0 else following,
                    over=following if difference > 0 else best,
                    weight=abs(difference),
                    subject="",
                    figures={best: mine.get(code, 0.0), following: theirs.get(code, 0.0)},
                    findings=(),
                    rows=behind,
                )
            )
    return found


def _parts(study: Study, answer: Answer, known: Known) -> list[Reason]:
    """What each part's worst fault does to the lead over keeping it, against the lead were that fault not there.

    Where keeping is the verdict itself, the lead over the next way counts.
    """
    decision, condition = answer.decision, study.condition
    other = decision.next_option if decision.verdict == KEEP else KEEP
    if other == decision.verdict or not {decision.verdict, other} <= set(known.options):
        return []
    mine = max((k for k, o in enumerate(known.options) if o == decision.verdict), key=lambda k: known.nets[k])
    theirs = max((k for k, o in enumerate(known.options) if o == other), key=lambda k: known.nets[k])
    lead = known.shares[mine] - known.shares[theirs]  # (F, 4)
    checks = checks_by_fault(study)
    found = []
    for p, part in enumerate(condition.network.parts):
        faults = np.arange(condition.network.first[p], condition.network.first[p + 1])
        without = lead[faults, 0] / condition.severities[faults, 0]
        weights = lead[faults].sum(axis=1) - without
        f = int(faults[np.abs(weights).argmax()])
        weight = float(weights[f - faults[0]])
        fault = condition.network.faults[f].id
        found.append(
            Reason(
                code="part",
                speaks_for=decision.verdict if weight > 0 else other,
                over=other if weight > 0 else decision.verdict,
                weight=abs(weight),
                subject=part.id,
                figures={state: float(condition.states[p, s]) for s, state in enumerate(STATES)},
                findings=checks.get(fault, ()),
                rows=(f"parts:{part.id}", f"faults:{fault}"),
            )
        )
    return found
