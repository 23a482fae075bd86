"""Results: everything that was worked out, put together as one `Appraisal`.

In: a study, its answer, draws and advice. Out: figures with the findings and table rows behind each. Nothing is
reckoned here that is not a sum or a share.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_advice import CautionResult, Flip, Reason
from valuation.engine.appraised_condition import Conflict
from valuation.engine.appraised_work import Allowance, OptionResult, ScopeResult, tax_on
from valuation.engine.condition_told import cause_of, components_of, findings_of, parts_of, whole_score
from valuation.engine.decision import KEEP, OPTIONS, RETIRE, Scope
from valuation.engine.lines import levels_of, lines_of, repairs_of
from valuation.engine.next_looks import Looks, Readiness
from valuation.engine.outcomes import Draws, Outcome, offered_outcomes, tenths
from valuation.engine.reasons import breakdown, checks_by_fault, expected_value, scope_breakdown
from valuation.engine.rows.words import SEVERITIES
from valuation.engine.rows.work import CautionRow
from valuation.engine.study import Answer, Study
from valuation.facts.visit import Range

_LIKELY = 0.5


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
        scopes=_scopes(study, answer, options, outcomes[KEEP]),
        conflicts=conflicts,
        score=score,
        score_low=low,
        score_high=high,
        options=options,
        parts=parts_of(study, findings),
        components=components_of(study),
        exposure=cause_of(study, "air"),
        use=cause_of(study, "use"),
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
    figures, settings = answer.figures, study.tables.settings
    repairs = repairs_of(study.catalogue, answer.bench, study.prices, scope, settings.likely_from)
    lines, allowances = lines_of(
        study.catalogue, answer.bench, study.prices, settings, scope, scope.verdict, repairs,
        figures.hours_scale * figures.rate_scale, checks_by_fault(study),
    )  # fmt: skip
    before_tax, tax = sum(line.amount for line in lines), tax_on(lines, study.prices.tax)
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
        fixed_price=before_tax + tax,
        most_price=before_tax + tax + most_of(allowances),
        before_tax=before_tax,
        tax=tax,
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


def planned(study: Study, answer: Answer, scope: Scope) -> OptionResult:
    """Return one scope with its lines and no draws: each of its ranges is one figure."""
    return _option(study, answer, scope, None, _NO_DRAWS, 0.0)


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


def _scopes(study: Study, answer: Answer, options: tuple[OptionResult, ...], keep: Outcome) -> tuple[ScopeResult, ...]:
    outcomes = offered_outcomes(study, answer)
    rows = {row.id: row for row in study.tables.scopes}
    drawn = {(option.option, option.scope): option for option in options}
    results = []
    for scope in answer.decision.scopes:
        row = rows.get(scope.name)
        best = answer.decision.best.get(scope.verdict)
        result = drawn.get((scope.verdict, scope.name)) if best is scope or scope.name == "pays" else None
        if result is None:
            outcome = outcomes.get(scope.name)
            result = _option(study, answer, scope, outcome, keep, 0.0) if outcome else planned(study, answer, scope)
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
    """Return the cautions that apply: always, by a fault as likely found, by a feature, by work.

    Of one fault the gravest speaks. Stops come first, those that forbid any tuning before all others.
    """
    condition, index = study.condition, study.condition.network.index
    applying: list[CautionRow] = []
    gravest: dict[str, CautionRow] = {}
    for row in study.tables.cautions:
        if row.always or row.feature in study.visit.piano.features or row.operation in operations:
            applying.append(row)
        elif row.fault in index:
            since = SEVERITIES.index(row.since)
            graver = row.fault not in gravest or SEVERITIES.index(gravest[row.fault].since) < since
            if graver and float(condition.severities[index[row.fault], since:].sum()) >= _LIKELY:
                gravest[row.fault] = row
    order = {"stop": 0, "warn": 1, "note": 2}
    untuned = study.stops.get("tune", ())
    told = sorted((*gravest.values(), *applying), key=lambda row: (order[row.rank], row.fault not in untuned))
    return tuple(map(_caution, told))


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
