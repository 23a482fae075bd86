"""Swings: how far each figure that nobody knows for sure moves the lead of today's verdict over the best of the others.

In: a study. Out: a `Swing` for each figure, the widest first; plans are found anew at each figure.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from valuation.engine.decision import PARTIAL, REBUILD, Decision
from valuation.engine.money import Z90
from valuation.engine.reasons import expected_value
from valuation.engine.study import Answer, Study, decide_at, what_if

_KEPT = 4
_PLAYING = (0.5, 1.5)
"""A year of playing is worth half as much, or half as much again: what people say differs about so much [-].
From memory; nothing published."""

_YEARS = 5.0
"""The years to look ahead are turned by so much either way [years]."""

_LEAST_YEARS = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Swing:
    """One driver turned to a low and a high figure, all else as it is. Money.

    Attributes
    ----------
    driver : str
        'finished_value', 'hours', 'to_hear', 'horizon' or 'playing_year'.
    today, low, high : float
        Its figures; for hours as a share of what the tables say.
    lead, lead_low, lead_high : float
        Lead of today's verdict over the best of the other ways today, at the low and at the high figure;
        below 0 another way is best.
    then_low, then_high : str
        Best way there.
    """

    driver: str
    today: float
    low: float
    high: float
    lead: float
    lead_low: float
    lead_high: float
    then_low: str
    then_high: str

    @property
    def width(self) -> float:
        """How far it moves the lead in all."""
        return max(self.lead, self.lead_low, self.lead_high) - min(self.lead, self.lead_low, self.lead_high)


@lru_cache(maxsize=_KEPT)
def swings(study: Study) -> tuple[Swing, ...]:
    """Return the swing of each driver, the widest first. Made once and kept.

    Finished value and hours are turned to where 1 in 10 and 9 in 10 such pianos and jobs lie; what it is worth to hear
    it from nothing to twice what it is, or to the price of the replacement where there is none.
    """
    answer = decide_at(study)
    stakes, market = answer.figures.stakes, study.market
    found = []
    if finished := _finished(study, answer):
        value = math.exp(Z90 * math.hypot(market.own_spread, market.market_spread))
        job = math.exp(Z90 * study.prices.job_spread)
        found.append(_swing(study, answer, "finished_value", finished, (1 / value, value), "finished_scale", finished))
        found.append(_swing(study, answer, "hours", 1.0, (1 / job, job), "hours_scale"))
    most = 2 * stakes.to_hear or market.replacement_price
    found.append(_swing(study, answer, "to_hear", stakes.to_hear, (0.0, most), "to_hear"))
    years = (max(_LEAST_YEARS, stakes.horizon - _YEARS), stakes.horizon + _YEARS)
    found.append(_swing(study, answer, "horizon", stakes.horizon, years, "horizon"))
    if stakes.playing_year:
        low, high = (stakes.playing_year * share for share in _PLAYING)
        found.append(_swing(study, answer, "playing_year", stakes.playing_year, (low, high), "playing_year"))
    return tuple(sorted(found, key=lambda swing: -swing.width))


def _finished(study: Study, answer: Answer) -> float:
    """Return what the finished piano is expected to fetch: by the verdict's plan, else by the best plan of work."""
    decision = answer.decision
    worked = [option for option in (REBUILD, PARTIAL) if option in decision.best]
    if not worked:
        return 0.0
    by = decision.verdict if decision.verdict in worked else max(worked, key=lambda option: decision.nets[option])
    return expected_value(study, answer, decision.best[by])


def _swing(
    study: Study, answer: Answer, driver: str, today: float, turned: tuple[float, float], name: str,
    scale: float = 1.0,
) -> Swing:  # fmt: skip
    low, high = (decide_at(study, what_if(study, **{name: figure})).decision for figure in turned)
    verdict = answer.decision.verdict
    return Swing(
        driver=driver,
        today=today,
        low=turned[0] * scale,
        high=turned[1] * scale,
        lead=_lead(answer.decision, verdict),
        lead_low=_lead(low, verdict),
        lead_high=_lead(high, verdict),
        then_low=low.verdict,
        then_high=high.verdict,
    )


def _lead(decision: Decision, option: str) -> float:
    """Return by how much a way leads the best of the others that can be paid for; below 0 it trails."""
    others = [net for name, net in decision.nets.items() if name != option and decision.affordable[name]]
    return decision.nets.get(option, -math.inf) - max(others) if others else 0.0
