"""The whole way: from what was found on a piano to a verdict that explains itself."""

from __future__ import annotations

from datetime import date

import numpy as np

from valuation.core.appraisal import (
    Appraisal,
    CautionResult,
    ComponentResult,
    FindingResult,
    NextCheck,
    OptionResult,
    PartResult,
)
from valuation.core.condition import band, readings_for, scores_without, weighted_band
from valuation.core.decide import Decision, Study
from valuation.core.explain import breakdown, flips, reasons
from valuation.core.grading import summarise
from valuation.core.left_to_see import tells_about, what_is_left
from valuation.core.next_checks import Worth
from valuation.core.options import KEEP, PARTIAL, REBUILD, RETIRE
from valuation.core.outcomes import tenths
from valuation.core.prices import PricesByState
from valuation.core.quote import allowances, level_words, quote_lines, state_word
from valuation.core.rows import EXPOSURES, GRADES, CautionRow, Level, Tables
from valuation.core.visit import Range, Visit


def appraise(
    visit: Visit,
    tables: Tables,
    *,
    on: date,
    draws: int = 8192,
    seed: int = 0,
    pinned: dict[str, Level] | None = None,
    sold: PricesByState | None = None,
) -> Appraisal:
    """Appraise one visit: condition, options with their price and value, verdict, reasons, what to check next.

    Parameters
    ----------
    visit : Visit
        What is known of the piano; anything may be unknown.
    tables : Tables
        The shop's tables.
    on : date
        Day whose rates and price bands count.
    draws : int
        Draws behind the bands, a power of two from 1,024 to 65,536. The verdict itself needs none.
    seed : int
        Shifts the draws.
    pinned : dict of str to Level, optional
        Parts whose level a person has set by hand.
    sold : PricesByState, optional
        Prices from the shop's own sales, instead of those of the band table.

    Returns
    -------
    Appraisal
        The same for the same input, tables and seed, byte for byte.

    Raises
    ------
    NotInForce
        If the tables hold no rate or price band for that day.
    ValueError
        If the number of draws is not such a power of two.
    """
    return report(Study(visit, tables, on=on, draws=draws, seed=seed, pinned=pinned, sold=sold))


def report(study: Study, decision: Decision | None = None) -> Appraisal:
    """Put together everything that a study says."""
    decision = decision or study.decide()
    findings = findings_of(study)
    calling = {part: tuple(f.check for f in found) for part, found in findings.items()}
    left = what_is_left(study, decision)
    made = {f.check for f in study.visit.findings}
    hidden = {f.check for f in study.visit.findings if f.cannot_see}
    stakes, settings = decision.expected.stakes, study.tables.settings
    score, low, high = weighted_band(study.condition, np.array([part.value_weight for part in study.net.parts]))
    options, held_back = [], []
    for option in decision.actions:
        result, extra = _option(study, decision, option, calling)
        options.append(result)
        held_back += extra
    market = study.market
    now = next(option.value_after for option in options if option.option == KEEP)
    return Appraisal(
        title=study.visit.title,
        verdict=decision.verdict,
        clarity=decision.clarity,
        chance_best=decision.chance_best,
        beats_next=decision.beats_next,
        next_option=decision.next_option,
        gap=decision.nets[decision.verdict] - decision.nets[decision.next_option],
        expected_loss=decision.expected_loss,
        score=score,
        score_low=low,
        score_high=high,
        options=tuple(options),
        parts=_parts(study, findings),
        components=_components(study),
        exposure=dict(zip(EXPOSURES, study.condition.exposure.tolist(), strict=True)),
        reasons=reasons(study, decision, left.joint, left.actions, calling),
        flips=flips(study, decision, left.joint, left.actions),
        next_checks=_next_checks(study, left.ranked),
        worth_of_the_unseen=left.worth_of_the_unseen,
        stop_looking=left.stop_looking,
        allowances=tuple(held_back),
        cautions=_cautions(study, decision),
        not_looked_at=tuple(id_ for id_, row in study.net.checks.items() if id_ not in made and not row.readings_of),
        cannot_see=tuple(id_ for id_ in study.net.checks if id_ in hidden),
        assumed=market.assumed,
        value_now=now,
        worth_selling=now.low * (1 - stakes.selling_cost) > market.replacement.haul_away,
        value_sound=market.sound,
        prices_by_state=market.by_state,
        price_basis=market.basis,
        sales_used=market.sales_used,
        replacement_price=market.replacement_price,
        playing_year=stakes.playing_year,
        premium=stakes.premium,
        budget=stakes.budget,
        horizon=stakes.horizon,
        discount_rate=stakes.discount,
        currency=settings.currency,
        tables_hash=study.tables.hash,
        on=study.on,
        seed=study.seed,
        draws=study.draws.base.n,
    )


def findings_of(study: Study) -> dict[str, list[FindingResult]]:
    """Return the findings of each part (and of 'history'), the strongest pull first."""
    condition, net = study.condition, study.net
    without = scores_without(condition)
    by_check = {f.check: f for f in study.visit.findings}
    overall = float(condition.scores.mean())
    found: dict[str, list[FindingResult]] = {}
    for i, id_ in enumerate(condition.seen.checks):
        row = net.checks[id_]
        p = net.family_part[condition.seen.families[i]]
        grades = condition.seen.grades[i]
        readings = readings_for(row, by_check)
        score = float(condition.scores[p]) if p >= 0 else overall
        number = None if row.answer == "choice" else summarise(row, readings)
        found.setdefault(net.parts[p].id if p >= 0 else "history", []).append(
            FindingResult(
                check=id_,
                name=row.name,
                grade=GRADES[int(grades.argmax())],
                grades=tuple(grades.tolist()),
                number=number,
                unit=row.unit,
                score_without=float(without[i]),
                pull=score - float(without[i]),
                note=by_check[row.readings_of or id_].note,
                rows=(f"checks:{id_}", f"families:{row.family}", f"strengths:{row.strength}"),
            )
        )
    for results in found.values():
        results.sort(key=lambda result: (-abs(result.pull), result.check))
    return found


def _parts(study: Study, findings: dict[str, list[FindingResult]]) -> tuple[PartResult, ...]:
    condition, results = study.condition, []
    for p, part in enumerate(study.net.parts):
        low, high = band(condition.states[p], study.net.stretches)
        results.append(
            PartResult(
                part=part.id,
                name=part.name,
                component=part.component,
                score=float(condition.scores[p]),
                low=low,
                high=high,
                states=tuple(condition.states[p].tolist()),
                state=state_word(condition.states[p]),
                looked_at=part.id in findings,
                findings=tuple(findings.get(part.id, ())),
                rows=(f"parts:{part.id}", f"priors:{part.id}/{study.tables.ages[study.ages[p]].id}"),
            )
        )
    if "history" in findings:
        results.append(_history(study, findings["history"]))
    return tuple(results)


def _history(study: Study, findings: list[FindingResult]) -> PartResult:
    """How the piano has lived is no part; it is shown beside them, with the findings that tell of it."""
    score, low, high = weighted_band(study.condition, np.ones(len(study.net.parts)))
    return PartResult(
        part="history",
        name="how it has lived",
        component="",
        score=score,
        low=low,
        high=high,
        states=(),
        state=EXPOSURES[int(study.condition.exposure.argmax())],
        looked_at=True,
        findings=tuple(findings),
        rows=("exposures",),
    )


def _components(study: Study) -> tuple[ComponentResult, ...]:
    results = []
    for row in study.tables.components:
        member = np.array([part.component == row.id for part in study.net.parts])
        if not member.any():
            continue
        weights = np.array([part.score_weight for part in study.net.parts]) * member
        score, low, high = weighted_band(study.condition, weights)
        worst = int(np.where(member, study.condition.scores, np.inf).argmin())
        results.append(
            ComponentResult(
                component=row.id, name=row.name, score=score, low=low, high=high, worst_part=study.net.parts[worst].id
            )
        )
    return tuple(results)


def _option(study: Study, decision: Decision, option: str, findings: dict[str, tuple[str, ...]]):
    expected, rules = decision.expected, study.rules
    action, outcome = decision.actions[option], decision.outcomes[option]
    lines, extra, plan, treatments = (), (), {}, {}
    if option in (REBUILD, PARTIAL):
        charged = study.shop.uncovered(rules.base | study.shop.demanded[action.plan, 0].any(axis=0))
        lines = quote_lines(expected, charged, rules.base, action.plan, findings)
        extra = allowances(expected, option, action.plan, decision.ways.price)
        plan, treatments = level_words(expected, action.plan)
    elif option == KEEP:
        lines = quote_lines(expected, rules.kept, rules.base, None, findings)
        plan, _ = level_words(expected, action.plan)
    price = decision.prices[option]
    value = float(expected.value().of(decision.means[option]))
    if option in (REBUILD, PARTIAL):
        value *= expected.stakes.finished_scale
    elif option == RETIRE:
        value = expected.market.replacement_price if action.exchange else 0.0
    before_tax = price / (1 + study.prices.tax) if lines else price
    budget = expected.stakes.budget
    result = OptionResult(
        option=option,
        price=_range(outcome.price),
        value_after=_range(outcome.value),
        net=_range(outcome.net),
        cost_per_year=_range(outcome.per_year),
        years=_range(outcome.years),
        expected_price=price,
        expected_value=value,
        expected_net=decision.nets[option],
        before_tax=before_tax,
        tax=price - before_tax,
        chance_best=decision.chance_best[option],
        affordable=decision.affordable[option],
        over_budget=0.0 if budget is None else float((outcome.price > budget).mean()),
        exchange=action.exchange,
        breakdown=breakdown(decision, option),
        plan=plan,
        treatments=treatments,
        lines=lines,
    )
    return result, extra


def _range(values: np.ndarray) -> Range:
    """Return the 10, 50 and 90 % points of draws."""
    low, likely, high = tenths(values)
    return Range(low=low, likely=likely, high=high)


def _next_checks(study: Study, ranked: tuple[Worth, ...]) -> tuple[NextCheck, ...]:
    return tuple(
        NextCheck(
            check=worth.check.id,
            name=worth.check.name,
            part=tells_about(study.net, worth.check.id),
            place=worth.check.place,
            quick=worth.check.quick,
            minutes=worth.check.minutes,
            gain=worth.gain,
            gain_per_minute=worth.gain_per_minute,
            chance_to_turn=worth.chance_to_turn,
            swing=worth.swing,
        )
        for worth in ranked
    )


def _cautions(study: Study, decision: Decision) -> tuple[CautionResult, ...]:
    planned = {
        study.shop.operations[o].id
        for option in (REBUILD, PARTIAL)
        if option in decision.actions
        for o in np.flatnonzero(study.shop.planned(decision.actions[option].plan))
    }
    rows = [*study.rules.in_force, *(row for row in study.tables.cautions if row.operation in planned)]
    order = {"stop": 0, "warn": 1, "note": 2}
    return tuple(map(_caution, sorted(rows, key=lambda row: order[row.rank])))


def stops_of(study: Study) -> tuple[CautionResult, ...]:
    """Return the stop rules that what was found has called up, whatever is planned."""
    return tuple(_caution(row) for row in study.rules.in_force if row.rank == "stop")


def _caution(row: CautionRow) -> CautionResult:
    return CautionResult(
        caution=row.id,
        rank=row.rank,
        text=row.text,
        check=row.check,
        operation=row.operation,
        blocks=row.blocks,
        requires=row.requires,
        source=row.source,
    )
