"""The figures that 'what if' turns: which there are for a visit, how far they go, and what may be typed."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from valuation.engine.appraisal import Appraisal
from valuation.language import say
from valuation.report.format import exact, typed_numeral
from valuation.screens import kit
from valuation.service import Study

_MOST = 1e9
_YEARS = (3.0, 40.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One figure that can be turned; `scale` where the study takes it as a factor on today's."""

    name: str
    label: str
    today: float
    reach: kit.Reach
    scale: str = ""

    def change(self, turned: float) -> tuple[str, float]:
        """Return what the study is told, and how far it is turned."""
        return (self.scale, turned / self.today) if self.scale else (self.name, turned)


def figures_of(before: Appraisal, study: Study) -> Iterator[Figure]:
    """Give the figures that can be turned, as the visit has them."""
    stakes, currency = study.figures.stakes, before.currency
    today = {flip.driver: flip.today for flip in before.flips}
    for name, driver, label, scale in (
        ("finished", "finished_value", say("Worth when finished"), "finished_scale"),
        ("rate", "hourly_rate", say("An hour in the workshop"), "rate_scale"),
    ):
        if figure := today.get(driver):
            reach = _reach(0.3 * figure, 2.5 * figure)
            yield Figure(name=name, label=f"{label} ({currency})", today=figure, reach=reach, scale=scale)
    for name, label, figure in (
        ("to_hear", say("What it is worth to hear this very piano"), stakes.to_hear),
        ("to_have", say("What it is worth to have this very piano"), stakes.to_have),
        ("playing_year", say("What a year of good playing is worth"), stakes.playing_year),
    ):
        reach = _reach(0.0, max(2 * figure, 3_000.0 if name == "playing_year" else 20_000.0))
        yield Figure(name=name, label=f"{label} ({currency})", today=figure, reach=reach)
    low, high = _YEARS
    reach = kit.Reach(low=low, high=max(high, stakes.horizon), step=1.0)
    yield Figure(name="horizon", label=say("Years to look ahead"), today=stakes.horizon, reach=reach)


def _reach(low: float, high: float) -> kit.Reach:
    """Return a reach in round steps of about a two hundredth of it."""
    rough = high / 200
    size = 10 ** math.floor(math.log10(rough))
    step = float(max(1.0, next(n for n in (1, 2, 5, 10) if n * size >= rough) * size))
    return kit.Reach(low=round(low / step) * step, high=max(step, round(high / step) * step), step=step)


def read_figure(text: str, figure: Figure) -> float:
    """Return what was typed as a figure; a ValueError says what is wrong with it."""
    told = say("'{text}' is not a figure for this; write one such as {example}", text=text[:20],
               example=exact(figure.today or figure.reach.high))  # fmt: skip
    try:
        value = float(typed_numeral(text.strip().replace(" ", "")).replace(",", ""))
    except ValueError as error:
        raise ValueError(told) from error
    least = _YEARS[0] if figure.name == "horizon" else figure.reach.step if figure.scale else 0.0
    if not least <= value <= (100.0 if figure.name == "horizon" else _MOST):
        raise ValueError(told)
    return value
