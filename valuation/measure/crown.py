"""Crown: the rise of a soundboard along its ribs, and how far the year's moisture may change it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from valuation.measure.limits import require_between
from valuation.measure.wood import FIBRE_SATURATION, Climate, humidity_for

HIGHEST_CROWN_MM = 40.0
"""No soundboard rises or sags further; anything beyond is a slip of the pen."""


def crown_of(curvature_per_mm: float, rib_mm: float) -> float:
    """Return the rise in the middle of a rib that is bent to an arc.

    Parameters
    ----------
    curvature_per_mm : float
        One over the radius, negative for a board bent the other way [1/mm].
    rib_mm : float
        Length of the rib, end to end in a straight line [mm].

    Returns
    -------
    float
        Crown [mm].

    Raises
    ------
    ValueError
        If a rib can't be so long, or its arc would be more than a half circle.

    Examples
    --------
    >>> round(crown_of(1 / (60 * 12 * 25.4), 1200), 3)  # a radius of 60 feet
    9.845
    """
    rib = float(require_between(rib_mm, 50, 2500, what="length of a rib", unit="mm"))
    half = float(require_between(curvature_per_mm * rib / 2, -1, 1, what="half a rib over its radius"))
    return curvature_per_mm * rib**2 / 4 / (1 + math.sqrt(1 - half**2))


def curvature_of(crown_mm: float, rib_mm: float) -> float:
    """Return the curvature of a rib from its rise in the middle.

    Parameters
    ----------
    crown_mm : float
        Crown, negative for a board bent the other way [mm].
    rib_mm : float
        Length of the rib [mm].

    Returns
    -------
    float
        One over the radius [1/mm].

    Raises
    ------
    ValueError
        If a rib can't be so long, or a crown so high.

    Examples
    --------
    >>> round(1 / curvature_of(9.845, 1200) / 304.8, 1)
    60.0
    """
    rib = float(require_between(rib_mm, 50, 2500, what="length of a rib", unit="mm"))
    crown = float(require_between(crown_mm, -HIGHEST_CROWN_MM, HIGHEST_CROWN_MM, what="crown", unit="mm"))
    return 8 * crown / (rib**2 + 4 * crown**2)


def bending_of_ribbed_panel(strain: float, *, panel_mm: float, rib_mm: float, stiffness_ratio: float) -> float:
    """Return how much a panel that swells or shrinks bends the ribs it is glued to.

    Parameters
    ----------
    strain : float
        Free growth of the panel across its grain, as a share of its size; negative where it shrinks [-].
    panel_mm : float
        Thickness of the panel [mm].
    rib_mm : float
        Height of the ribs [mm].
    stiffness_ratio : float
        Stiffness of the panel across its grain over that of the ribs along theirs, times the distance between
        ribs over their width [-].

    Returns
    -------
    float
        Change of curvature, positive towards more crown [1/mm].

    Notes
    -----
    A strip of two layers, one of which grows [1]_, with moisture in the place of heat. Loaded by nothing: the strings
    take some of the crown as well.

    References
    ----------
    .. [1] Timoshenko, "Analysis of bi-metal thermostats", J. Opt. Soc. Am. 11 (1925) 233.

    Examples
    --------
    >>> bending_of_ribbed_panel(0.01, panel_mm=10, rib_mm=10, stiffness_ratio=1)  # 1.5 strain / height
    0.00075
    """
    require_between(strain, -0.2, 0.2, what="growth of the panel")
    panel = float(require_between(panel_mm, 2, 30, what="thickness of the panel", unit="mm"))
    rib = float(require_between(rib_mm, 2, 80, what="height of the ribs", unit="mm"))
    n = float(require_between(stiffness_ratio, 0.001, 1000, what="ratio of stiffness"))
    m = panel / rib
    return 6 * strain * (1 + m) ** 2 / ((panel + rib) * (3 * (1 + m) ** 2 + (1 + m * n) * (m**2 + 1 / (m * n))))


@dataclass(frozen=True, slots=True, kw_only=True)
class RibbedBoard:
    """A soundboard at one rib.

    Attributes
    ----------
    crown_mm : float
        Crown now, negative where it is reversed [mm].
    rib_length_mm, rib_height_mm : float
        Length of the rib, and its height without the board [mm].
    panel_mm : float
        Thickness of the board [mm].
    coefficient : float
        Change in size of its wood for 1 % of moisture, as in `COEFFICIENTS` [1/%].
    stiffness_ratio : float
        As for `bending_of_ribbed_panel` [-].
    """

    crown_mm: float
    rib_length_mm: float
    rib_height_mm: float
    panel_mm: float
    coefficient: float
    stiffness_ratio: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CrownYear:
    """How the crown may work over the year; rim, bridges and strings hold it, so the truth lies between now and these.

    Attributes
    ----------
    dry_at_least_mm, wet_at_most_mm : float
        Crown in the dry season at the least and in the wet season at the most, negative where reversed [mm].
    flat_at_humidity : float or None
        Relative humidity in which, at the temperature of the dry season, a board held by its ribs alone would be flat;
        None where that takes wood below 0 or above 30 % of moisture [%].
    """

    dry_at_least_mm: float
    wet_at_most_mm: float
    flat_at_humidity: float | None


def crown_over_year(board: RibbedBoard, *, now: Climate, dry: Climate, wet: Climate) -> CrownYear:
    """Return how far the crown may fall by the dry season and rise by the wet one.

    Parameters
    ----------
    board : RibbedBoard
        The board at one rib.
    now : Climate
        Air of the last weeks, to which the present crown belongs.
    dry, wet : Climate
        Air of the driest and the wettest month.

    Returns
    -------
    CrownYear
        Bounds of the crown in the two seasons, and where it would be gone.

    Notes
    -----
    A bound, and a wide one: a panel held by nothing but its ribs moves several times as far as one glued into its rim
    under load. So it answers one question only: could the season alone account for a crown that is missing now? It
    doesn't tell what the board was built with.

    Examples
    --------
    >>> board = RibbedBoard(
    ...     crown_mm=3, rib_length_mm=1000, rib_height_mm=22, panel_mm=9, coefficient=0.00148, stiffness_ratio=0.5
    ... )
    >>> def air(humidity):
    ...     return Climate(humidity=humidity, temperature_c=21)
    >>> year = crown_over_year(board, now=air(45), dry=air(25), wet=air(60))
    >>> round(year.dry_at_least_mm, 1), round(year.wet_at_most_mm, 1), round(year.flat_at_humidity)
    (-15.3, 17.8, 42)
    """
    curvature = curvature_of(board.crown_mm, board.rib_length_mm)
    bending_per_percent = bending_of_ribbed_panel(
        board.coefficient,
        panel_mm=board.panel_mm,
        rib_mm=board.rib_height_mm,
        stiffness_ratio=board.stiffness_ratio,
    )
    in_dry, in_wet = (
        crown_of(curvature + bending_per_percent * (season.moisture - now.moisture), board.rib_length_mm)
        for season in (dry, wet)
    )
    flat_at = now.moisture - curvature / bending_per_percent
    can_be_flat = 0 <= flat_at <= FIBRE_SATURATION
    return CrownYear(
        dry_at_least_mm=min(board.crown_mm, in_dry),
        wet_at_most_mm=max(board.crown_mm, in_wet),
        flat_at_humidity=humidity_for(flat_at, dry.temperature_c) if can_be_flat else None,
    )
