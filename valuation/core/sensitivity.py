"""How far each figure that nobody knows for sure moves the lead of today's verdict over the best of the others."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from valuation.core.cost import Z90
from valuation.core.decide import Decision, Study

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
        'finished_value', 'hours', 'premium', 'horizon' or 'playing_year'.
    today, low, high : float
        Its figures; for hours as a share of what the tables say.
    lead, lead_low, lead_high : float
        Lead of today's verdict over the best of the other options today, at the low and at the high figure;
        below 0 another option is best.
    then_low, then_high : str
        Best option there.
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
def sensitivity(study: Study) -> tuple[Swing, ...]:
    """Return the swing of each driver, the widest first; plans are found anew at each figure. Made once and kept.

    Finished value and hours are turned to where 1 in 10 and 9 in 10 such pianos and jobs lie; the premium from nothing
    to twice what it is, or to the price of the replacement where there is none.
    """
    decision, stakes, market = study.decide(), study.stakes, study.market
    finished = _finished(decision)
    value = math.exp(Z90 * math.hypot(market.own_spread, market.market_spread))
    job = math.exp(Z90 * study.prices.job_spread)
    found = []
    if finished is not None:
        turned = (stakes.finished_scale / value, stakes.finished_scale * value)
        scale = finished / stakes.finished_scale
        found.append(_swing(study, decision, "finished_value", finished, turned, "finished_scale", scale))
        found.append(_swing(study, decision, "hours", stakes.hours_scale, (1 / job, job), "hours_scale"))
    most = 2 * stakes.premium or market.replacement_price
    found.append(_swing(study, decision, "premium", stakes.premium, (0.0, most), "premium"))
    years = (max(_LEAST_YEARS, stakes.horizon - _YEARS), stakes.horizon + _YEARS)
    found.append(_swing(study, decision, "horizon", stakes.horizon, years, "horizon"))
    if stakes.playing_year:
        playing = tuple(stakes.playing_year * share for share in _PLAYING)
        found.append(_swing(study, decision, "playing_year", stakes.playing_year, playing, "playing_year"))
    return tuple(sorted(found, key=lambda swing: -swing.width))


def _finished(decision: Decision) -> float | None:
    """Return what the finished piano is expected to fetch: by the verdict's plan, else by the best plan of work."""
    worked = [option for option in ("rebuild", "partial_repair") if option in decision.actions]
    if not worked:
        return None
    by = decision.verdict if decision.verdict in worked else max(worked, key=lambda option: decision.nets[option])
    return float(decision.expected.value().of(decision.means[by])) * decision.expected.stakes.finished_scale


def _swing(
    study: Study, decision: Decision, driver: str, today: float, turned: tuple[float, float], name: str,
    scale: float = 1.0,
) -> Swing:  # fmt: skip
    low, high = (study.decide(study.what_if(**{name: figure})) for figure in turned)
    return Swing(
        driver=driver,
        today=today,
        low=turned[0] * scale,
        high=turned[1] * scale,
        lead=_lead(decision, decision.verdict),
        lead_low=_lead(low, decision.verdict),
        lead_high=_lead(high, decision.verdict),
        then_low=low.verdict,
        then_high=high.verdict,
    )


def _lead(decision: Decision, option: str) -> float:
    """Return by how much an option leads the best of the others that can be paid for; below 0 it trails."""
    others = [net for name, net in decision.nets.items() if name != option and decision.affordable[name]]
    return decision.nets.get(option, -math.inf) - max(others) if others else 0.0
