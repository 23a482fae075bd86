"""Wood: how much water the air puts into it, and how far it moves across the grain.

Moisture is in percent of the wood's dry mass. The text behind all: "Wood Handbook", Forest Products Laboratory,
FPL-GTR-282, 2021.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from valuation.language import later
from valuation.measure.limits import require_between

FIBRE_SATURATION = 30.0
"""Above this moisture wood moves no more [%]; the Handbook's round figure."""

PUBLISHED_MOISTURE = (6.0, 14.0)
"""Moisture for which the coefficients are published [%]; beyond, movement is only about proportional."""

COEFFICIENTS: dict[str, tuple[float, float]] = {
    later("sitka spruce"): (0.00148, 0.00263),
    later("red spruce"): (0.00130, 0.00274),
    later("norway spruce"): (0.0019, 0.0039),
    later("hard maple"): (0.00165, 0.00353),
    later("american beech"): (0.00190, 0.00431),
    later("european beech"): (0.0020, 0.0041),
    later("yellow poplar"): (0.00158, 0.00289),
}
"""Change in size for 1 % of moisture, radial (quartersawn) and tangential [1/%]. Wood Handbook, table 13-5, spruces and
poplar from memory and confirmed from its shrinkage table; Norway spruce and European beech from memory of DIN 68100."""


def moisture(humidity: ArrayLike, temperature_c: ArrayLike) -> np.ndarray:
    """Return the moisture that wood comes to in air of one humidity and temperature.

    Parameters
    ----------
    humidity : array_like
        Relative humidity, 0 to 95 [%].
    temperature_c : array_like
        Temperature, -1.2 to 60 [°C].

    Returns
    -------
    numpy.ndarray
        Equilibrium moisture content, in percent of dry mass [%].

    Raises
    ------
    ValueError
        If the air is outside the range of the equation; °F taken for °C is caught above 60.

    Notes
    -----
    Sorption by two hydrates [1]_ with the coefficients of [2]_, equation 4-5. The mean of taking up and giving off
    water, for any wood; single boards stand 1 % and more away from it.

    References
    ----------
    .. [1] Hailwood and Horrobin, "Absorption of water by polymers", Trans. Faraday Soc. 42B (1946) 84.
    .. [2] Glass and Zelinka, "Wood Handbook", chapter 4, FPL-GTR-282, 2021.

    Examples
    --------
    >>> round(float(moisture(40, 21.1)), 1)
    7.7
    """
    h = require_between(humidity, 0, 95, what="relative humidity", unit="%") / 100
    t = require_between(temperature_c, -1.2, 60, what="temperature", unit="°C")
    w = 349 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    kh = k * h
    hydrates = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    return (1800 / w * (kh / (1 - kh) + hydrates))[()]


def humidity_for(moisture_percent: float, temperature_c: float) -> float | None:
    """Return the humidity at which wood comes to a given moisture.

    Parameters
    ----------
    moisture_percent : float
        Moisture of the wood, above 0 [%].
    temperature_c : float
        Temperature, -1.2 to 60 [°C].

    Returns
    -------
    float or None
        Relative humidity [%]; None where air of up to 95 % can't bring it there.

    Examples
    --------
    >>> round(humidity_for(7.7, 21.1), 1)
    40.0
    """
    require_between(moisture_percent, 0, FIBRE_SATURATION, what="moisture of wood", unit="%")
    low, high = 0.0, 95.0
    if moisture_percent > moisture(high, temperature_c):
        return None
    while high - low > 1e-9:
        middle = (low + high) / 2
        low, high = (middle, high) if moisture(middle, temperature_c) < moisture_percent else (low, middle)
    return (low + high) / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Climate:
    """The air of a month at the piano.

    Attributes
    ----------
    humidity : float
        Mean relative humidity [%].
    temperature_c : float
        Mean temperature [°C].
    """

    humidity: float
    temperature_c: float

    @property
    def moisture(self) -> float:
        """Moisture that wood comes to in this air [%]."""
        return float(moisture(self.humidity, self.temperature_c))


def movement(across_mm: ArrayLike, coefficient: float, moisture_from: ArrayLike, moisture_to: ArrayLike) -> np.ndarray:
    """Return how far free wood moves across the grain.

    Parameters
    ----------
    across_mm : array_like
        Size across the grain [mm].
    coefficient : float
        Change in size for 1 % of moisture, as in `COEFFICIENTS` [1/%].
    moisture_from, moisture_to : array_like
        Moisture before and after, 0 to 30 [%].

    Returns
    -------
    numpy.ndarray
        Growth, negative where it shrinks [mm].

    Raises
    ------
    ValueError
        If a number is not possible for wood.

    Notes
    -----
    ``size * coefficient * change of moisture``, Wood Handbook, chapter 13, published for 6 to 14 % of moisture. Along
    the grain wood hardly moves.

    Examples
    --------
    >>> round(float(movement(150, 0.00148, 10, 6)), 2)
    -0.89
    """
    across = require_between(across_mm, 0, 5000, what="size across the grain", unit="mm")
    require_between(coefficient, 0.0003, 0.008, what="coefficient of movement", unit="per %")
    before = require_between(moisture_from, 0, FIBRE_SATURATION, what="moisture of wood", unit="%")
    after = require_between(moisture_to, 0, FIBRE_SATURATION, what="moisture of wood", unit="%")
    return (across * coefficient * (after - before))[()]
