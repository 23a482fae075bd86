"""How far the band table as a whole lies off the market, by the sales, and the table moved by as much: a proposal."""

from __future__ import annotations

import math
from dataclasses import dataclass

from valuation.engine.money import Z90

SURE = 1.6448536269514722
"""The standard normal's 95 % point: a table is said to be off where 9 in 10 of what is likely lies on one side."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """The market's prices over the table's, over all its rows alike.

    Attributes
    ----------
    log : float
        The logarithm: above 0 the table is too low.
    unsure : float
        Its standard deviation.
    said_from : float
        A table off by less than this factor is not said to be off.
    """

    log: float
    unsure: float
    said_from: float

    @property
    def off(self) -> bool:
        """Whether the table looks off."""
        return abs(self.log) > max(SURE * self.unsure, math.log(self.said_from))

    @property
    def factor(self) -> float:
        """By how much the bands would be multiplied [-]."""
        return math.exp(self.log)

    @property
    def times(self) -> tuple[float, float, float]:
        """How many times too low, or too high, the table is: likely, and the limits of 8 in 10 [-].

        Examples
        --------
        >>> [round(times, 1) for times in Level(log=-math.log(2), unsure=0.2, said_from=1.1).times]
        [2.0, 1.5, 2.6]
        """
        size = abs(self.log)
        return math.exp(size), math.exp(size - Z90 * self.unsure), math.exp(size + Z90 * self.unsure)
