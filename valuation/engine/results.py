"""Results: everything that was worked out, put together as one `Appraisal`.

In: a study, its answer, draws and advice. Out: figures with the findings and table rows behind each. Nothing is
reckoned here that is not a sum or a share.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from valuation.engine.appraisal import (
    Allowance,
    Appraisal,
    CautionResult,
    ComponentResult,
    Conflict,
    FaultResult,
    FindingResult,
    Flip,
    OptionResult,
    PartResult,
    Reason,
    ScopeResult,
)
from valuation.engine.condition import band, scores_without, weighted_band
from valuation.engine.decision import KEEP, OPTIONS, RETIRE, Scope
from valuation.engine.lines import levels_of, lines_of, repairs_of
from valuation.engine.network import AIR_OF, USE_OF
from valuation.engine.next_looks import Looks, Readiness
from valuation.engine.outcomes import Draws, Outcome, tenths
from valuation.engine.reasons import breakdown, checks_by_fault, expected_value, scope_breakdown
from valuation.engine.rows.words import LEVELS_OF_CAUSE, SEVERITIES, STATES
from valuation.engine.rows.work import CautionRow
from valuation.engine.study import Answer, Study
from valuation.facts.visit import Range

_LIKELY = 0.5
HISTORY = "history"


def put_together(
    study: Study,
    answer: Answer,
    outcomes: dict[str, Outcome],
    *,
    readiness: Readiness,
    looks: Looks,
    reasons: tuple[Reason, ...],
    flips: tuple[Flip, ...],
    conflicts: tuple[Conflict, ...],
) -> Appraisal:
    """Return everything that was worked out for one visit."""
    condition, decision, stakes = study.condition, answer.decision, answer.figures.stakes
    market, settings = study.market, study.tables.settings
    chances = _chances(outcomes, [o for o in OPTIONS if decision.affordable.get(o)])
    options = _options(study, answer, outcomes, chances)
    findings = findings_of(study)
    score, low, high = whole_score(study)
    keep = next(option for option in options if option.option == KEEP)
    beats = beats_next(outcomes, decision.verdict, decision.next_option)
    made = {finding.check for finding in study.visit.findings}
    hidden = {finding.check for finding in study.visit.findings if finding.cannot_see}
    operations = {line.operation for option in options for line in option.lines}
    return Appraisal(
        title=study.visit.title,
        ready=readiness.ready,
        open_gates=readiness.open_gates,
        musts=readiness.musts,
        must_minutes=readiness.minutes,
        locked=readiness.locked,
        verdict=decision.verdict,
        clarity=clarity(beats, settings.clear_share, settings.leaning_share),
        chance_best=chances,
        beats_next=beats,
        next_option=decision.next_option,
        gap=decision.nets[decision.verdict] - decision.nets[decision.next_option],
        expected_loss=expected_loss(outcomes, decision.verdict, decision.affordable),
        furniture=decision.furniture,
        no_repair_short_of_rebuild=decision.no_repair_short_of_rebuild,
        stops=study.stops,
        scopes=_scopes(study, answer, options),
        conflicts=conflicts,
        score=score,
        score_low=low,
        score_high=high,
        options=options,
        parts=_parts(study, findings),
        components=_components(study),
        exposure=_cause(study, "air"),
        use=_cause(study, "use"),
        reasons=reasons,
        flips=flips,
        next_checks=looks.checks,
        next_steps=looks.steps,
        worth_of_the_unseen=looks.worth_of_the_unseen,
        stop_looking=looks.stop_looking,
        allowances=tuple(allowance for option in options for allowance in option.allowances),
        cautions=_cautions(study, operations),
        not_looked_at=tuple(
            id_ for id_, row in condition.network.checks.items() if id_ not in made and not row.readings_of
        ),
        cannot_see=tuple(id_ for id_ in condition.network.checks if id_ in hidden),
        assumed=market.assumed,
        value_now=keep.value_after,
        worth_selling=keep.value_after.low * (1 - stakes.selling_cost) > market.replacement.haul_away,
        value_sound=market.sound,
        prices_by_state=market.by_state,
        price_basis=market.basis,
        sales_used=market.sales_used,
        replacement_price=market.replacement_price,
        playing_year=stakes.playing_year,
        to_have=stakes.to_have,
        to_hear=stakes.to_hear,
        budget=stakes.budget,
        horizon=stakes.horizon,
        discount_rate=stakes.discount,
        currency=settings.currency,
        tables_hash=study.tables.hash,
        on=study.on,
        seed=study.seed,
        draws=study.draws,
    )


def clarity(beats: float, clear: float, leaning: float) -> str:
    """Return in a word how sure a verdict is."""
    return "clear" if beats >= clear else "leaning" if beats >= leaning else "close"


def beats_next(outcomes: dict[str, Outcome], option: str, other: str) -> float:
    """Return the share of draws in which one way is better than another [-]."""
    return float((outcomes[option].net > outcomes[other].net).mean()) if option != other else 1.0


def _chances(outcomes: dict[str, Outcome], options: list[str]) -> dict[str, float]:
    """Return the share of draws in which each way is best; adds to 1 over those that may be chosen."""
    best = np.stack([outcomes[option].net for option in options]).argmax(axis=0)
    counts = np.bincount(best, minlength=len(options)) / len(best)
    return {option: float(counts[options.index(option)]) if option in options else 0.0 for option in outcomes}


def expected_loss(outcomes: dict[str, Outcome], verdict: str, affordable: dict[str, bool]) -> float:
    """Return what deciding now costs on average against knowing how each way would come out."""
    nets = np.stack([outcome.net for option, outcome in outcomes.items() if affordable[option]])
    return float((nets.max(axis=0) - outcomes[verdict].net).mean())


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


def _parts(study: Study, findings: dict[str, list[FindingResult]]) -> tuple[PartResult, ...]:
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
    air = _cause(study, "air")
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


def _cause(study: Study, cause: str) -> dict[str, float]:
    level_of = AIR_OF if cause == "air" else USE_OF
    odds = np.bincount(level_of, study.condition.causes, minlength=3)
    return dict(zip(LEVELS_OF_CAUSE[cause], odds.tolist(), strict=True))


def _components(study: Study) -> tuple[ComponentResult, ...]:
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


def _options(
    study: Study, answer: Answer, outcomes: dict[str, Outcome], chances: dict[str, float]
) -> tuple[OptionResult, ...]:
    results = []
    for option in OPTIONS:
        if option == RETIRE:
            results.append(_retire(answer, outcomes[RETIRE], outcomes[KEEP], chances[RETIRE], study))
        elif option in answer.decision.best:
            results.append(
                _option(study, answer, answer.decision.best[option], outcomes[option], outcomes[KEEP], chances[option])
            )
    return tuple(results)


def _range(values: Draws) -> Range:
    low, likely, high = tenths(values)
    return Range(low=low, likely=likely, high=high)


def _option(
    study: Study, answer: Answer, scope: Scope, outcome: Outcome | None, keep: Outcome, chance: float
) -> OptionResult:
    """Return one scope with its lines; without draws its ranges are its means."""
    figures, settings, tax = answer.figures, study.tables.settings, study.prices.tax
    repairs = repairs_of(study.catalogue, answer.bench, study.prices, scope)
    lines, allowances = lines_of(
        study.catalogue, answer.bench, study.prices, settings, scope, scope.verdict, repairs,
        figures.hours_scale * figures.rate_scale, checks_by_fault(study),
    )  # fmt: skip
    before_tax = sum(line.amount for line in lines)
    levels, treatments = levels_of(answer.bench, repairs, settings)
    value = expected_value(study, answer, scope)
    budget = figures.stakes.budget

    def point(x: float) -> Range:
        return Range(low=x, likely=x, high=x)

    return OptionResult(
        option=scope.verdict,
        scope=scope.name,
        price=_range(outcome.price) if outcome else point(scope.price),
        value_after=_range(outcome.value) if outcome else point(value),
        net=_range(outcome.net) if outcome else point(scope.with_heart),
        cost_per_year=_range(outcome.per_year) if outcome else point(0.0),
        years=_range(outcome.years) if outcome else point(0.0),
        expected_price=scope.price,
        expected_value=value,
        expected_net=scope.with_heart,
        fixed_price=before_tax * (1 + tax),
        most_price=before_tax * (1 + tax) + most_of(allowances),
        before_tax=before_tax,
        tax=before_tax * tax,
        serves=scope.serves,
        tuned=scope.tuned,
        beats_keeping=float((outcome.net > keep.net).mean()) if outcome else 0.0,
        chance_best=chance,
        affordable=budget is None or scope.price <= budget,
        over_budget=0.0 if budget is None or outcome is None else float((outcome.price > budget).mean()),
        exchange=False,
        breakdown=scope_breakdown(study, answer, scope),
        plan=levels,
        treatments=treatments,
        lines=lines,
        allowances=allowances,
    )


def most_of(allowances: Iterable[Allowance]) -> float:
    """Return the most that if-found lines can come to: of the larger remedies of one part only one is ever done."""
    large: dict[str, float] = {}
    small = 0.0
    for allowance in allowances:
        if allowance.large:
            large[allowance.part] = max(large.get(allowance.part, 0.0), allowance.if_needed)
        else:
            small += allowance.if_needed
    return small + sum(large.values())


def _retire(answer: Answer, outcome: Outcome, keep: Outcome, chance: float, study: Study) -> OptionResult:
    parting, market = answer.decision.parting, study.market
    return OptionResult(
        option=RETIRE,
        scope="",
        price=_range(outcome.price),
        value_after=_range(outcome.value),
        net=_range(outcome.net),
        cost_per_year=_range(outcome.per_year),
        years=_range(outcome.years),
        expected_price=(market.replacement_price if parting.exchange else 0.0) - parting.sale,
        expected_value=market.replacement_price if parting.exchange else 0.0,
        expected_net=parting.net,
        fixed_price=0.0,
        most_price=0.0,
        before_tax=0.0,
        tax=0.0,
        serves=1.0 if parting.exchange else 0.0,
        tuned=parting.exchange,
        beats_keeping=float((outcome.net > keep.net).mean()),
        chance_best=chance,
        affordable=True,
        over_budget=0.0,
        exchange=parting.exchange,
        breakdown=breakdown(study, answer, RETIRE),
        plan={},
        treatments={},
        lines=(),
        allowances=(),
    )


def _scopes(study: Study, answer: Answer, options: tuple[OptionResult, ...]) -> tuple[ScopeResult, ...]:
    rows = {row.id: row for row in study.tables.scopes}
    drawn = {(option.option, option.scope): option for option in options}
    results = []
    for scope in answer.decision.scopes:
        row = rows.get(scope.name)
        best = answer.decision.best.get(scope.verdict)
        result = drawn.get((scope.verdict, scope.name)) if best is scope or scope.name == "pays" else None
        if result is None:
            result = _option(study, answer, scope, None, _NO_DRAWS, 0.0)
        results.append(
            ScopeResult(
                scope=scope.name,
                verdict=scope.verdict,
                name=row.name if row else "what pays",
                plain=row.plain if row else "",
                offered=scope.offered,
                why_not=scope.why_not,
                result=result,
            )
        )
    return tuple(results)


_NOTHING: Draws = np.zeros(1, dtype=np.float32)
_NO_DRAWS = Outcome(price=_NOTHING, value=_NOTHING, net=_NOTHING, years=_NOTHING, per_year=_NOTHING)


def _cautions(study: Study, operations: set[str]) -> tuple[CautionResult, ...]:
    """Return the cautions that apply: always, by a fault as likely found, by a feature, by work; stops first."""
    condition, index = study.condition, study.condition.network.index
    applying = []
    for row in study.tables.cautions:
        by_fault = row.fault in index and (
            float(condition.severities[index[row.fault], SEVERITIES.index(row.since) :].sum()) >= _LIKELY
        )
        if row.always or by_fault or row.feature in study.visit.piano.features or row.operation in operations:
            applying.append(row)
    order = {"stop": 0, "warn": 1, "note": 2}
    return tuple(map(_caution, sorted(applying, key=lambda row: order[row.rank])))


def stops_of(study: Study) -> tuple[CautionResult, ...]:
    """Return the stops that what was found has called up, whatever is planned."""
    return tuple(caution for caution in _cautions(study, set()) if caution.rank == "stop" and caution.fault)


def _caution(row: CautionRow) -> CautionResult:
    return CautionResult(
        caution=row.id,
        rank=row.rank,
        text=row.text,
        check="",
        operation=row.operation,
        fault=row.fault,
        source=row.source,
    )
