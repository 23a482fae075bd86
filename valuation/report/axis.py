"""Places on the axis of a chart, at round numbers."""

from __future__ import annotations

import math

from valuation.facts.units import FACTORS
from valuation.report.format import exact, plain_measure, shown_unit

_ABOUT = 5
"""Places wanted on an axis [-]."""


def round_step(width: float) -> float:
    """Return a round step, 1, 2 or 5 times a power of ten, that parts a width into about five.

    Examples
    --------
    >>> round_step(63000), round_step(0.9)
    (20000.0, 0.2)
    """
    if width <= 0:
        return 1.0
    rough = width / _ABOUT
    power = 10.0 ** math.floor(math.log10(rough))
    return next(step * power for step in (1, 2, 5, 10) if step * power >= rough * 0.999)


def ticks(start: float, end: float, unit: str, system: str) -> tuple[tuple[float, str], ...]:
    """Return places between two measures, round in the unit shown, each with its words."""
    factor = FACTORS[unit][shown_unit(unit, system)]
    places = _places(start / factor, end / factor)
    return tuple((place * factor, plain_measure(place * factor, unit, system)) for place in places)


def money_ticks(start: float, end: float) -> tuple[tuple[float, str], ...]:
    """Return places between two amounts, each with its words.

    Examples
    --------
    >>> money_ticks(0, 900)
    ((0.0, '0'), (200.0, '200'), (400.0, '400'), (600.0, '600'), (800.0, '800'))
    """
    return tuple((place, exact(place)) for place in _places(start, end))


def _places(start: float, end: float) -> list[float]:
    step = round_step(end - start)
    first = math.ceil(start / step - 1e-9)
    return [step * i for i in range(first, math.floor(end / step + 1e-9) + 1)]
