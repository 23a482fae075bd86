"""Headline: the few figures of an appraisal that a list of many pianos needs, without the reasons behind them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from valuation.engine.condition_told import whole_score
from valuation.engine.next_looks import known_of, looks_of, readiness_of
from valuation.engine.outcomes import outcomes_of, tenths
from valuation.engine.results import beats_next, clarity, expected_loss
from valuation.engine.study import Study, decide_at


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionFigures:
    """One way in figures: as the fields of those names in `OptionResult`; `value_after` is the middle one."""

    option: str
    scope: str
    expected_price: float
    price_low: float
    price_high: float
    expected_net: float
    value_after: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Headline:
    """A verdict in figures, as the fields of those names in `Appraisal`; no `next_check` when looking may stop."""

    title: str
    ready: bool
    verdict: str
    clarity: str
    beats_next: float
    next_option: str
    gap: float
    expected_loss: float
    score: float
    options: tuple[OptionFigures, ...]
    next_check: str
    stop_looking: bool
    tables_hash: str
    on: date
    seed: int
    draws: int


def headline(study: Study) -> Headline:
    """Return the figures that `report` would give for a study, and no others."""
    answer = decide_at(study)
    decision, outcomes = answer.decision, outcomes_of(study, answer)
    readiness, looks = readiness_of(study), looks_of(study, known_of(study, answer))
    settings = study.tables.settings
    beats = beats_next(outcomes, decision.verdict, decision.next_option)
    options = []
    for option, outcome in outcomes.items():
        scope = decision.best.get(option)
        low, _, high = tenths(outcome.price)
        _, middle, _ = tenths(outcome.value)
        bought = study.market.replacement_price if decision.parting.exchange else 0.0
        options.append(
            OptionFigures(
                option=option,
                scope=scope.name if scope else "",
                expected_price=scope.price if scope else bought - decision.parting.sale,
                price_low=low,
                price_high=high,
                expected_net=decision.nets[option],
                value_after=middle,
            )
        )
    next_check = readiness.musts[0] if not readiness.ready and readiness.musts else ""
    if readiness.ready and looks.checks and not looks.stop_looking:
        next_check = looks.checks[0].check
    return Headline(
        title=study.visit.title,
        ready=readiness.ready,
        verdict=decision.verdict,
        clarity=clarity(beats, settings.clear_share, settings.leaning_share),
        beats_next=beats,
        next_option=decision.next_option,
        gap=decision.nets[decision.verdict] - decision.nets[decision.next_option],
        expected_loss=expected_loss(outcomes, decision.verdict, decision.affordable),
        score=whole_score(study)[0],
        options=tuple(options),
        next_check=next_check,
        stop_looking=readiness.ready and looks.stop_looking,
        tables_hash=study.tables.hash,
        on=study.on,
        seed=study.seed,
        draws=study.draws,
    )
