"""The few figures of an appraisal that a list of many pianos needs, without the reasons behind them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from valuation.core.condition import weighted_band
from valuation.core.decide import Study
from valuation.core.left_to_see import what_is_left
from valuation.core.outcomes import tenths


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionFigures:
    """One option in figures: as the fields of those names in `OptionResult`; `value_after` is the middle one."""

    option: str
    expected_price: float
    price_low: float
    price_high: float
    expected_net: float
    value_after: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Headline:
    """A verdict in figures, as the fields of those names in `Appraisal`; no `next_check` when looking may stop."""

    title: str
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
    decision = study.decide()
    left = what_is_left(study, decision)
    score, _, _ = weighted_band(study.condition, np.array([part.value_weight for part in study.net.parts]))
    options = []
    for option, outcome in decision.outcomes.items():
        low, _, high = tenths(outcome.price)
        options.append(
            OptionFigures(
                option=option,
                expected_price=decision.prices[option],
                price_low=low,
                price_high=high,
                expected_net=decision.nets[option],
                value_after=tenths(outcome.value)[1],
            )
        )
    return Headline(
        title=study.visit.title,
        verdict=decision.verdict,
        clarity=decision.clarity,
        beats_next=decision.beats_next,
        next_option=decision.next_option,
        gap=decision.nets[decision.verdict] - decision.nets[decision.next_option],
        expected_loss=decision.expected_loss,
        score=score,
        options=tuple(options),
        next_check=left.ranked[0].check.id if left.ranked and not left.stop_looking else "",
        stop_looking=left.stop_looking,
        tables_hash=study.tables.hash,
        on=study.on,
        seed=study.seed,
        draws=study.draws.base.n,
    )
