"""What the year's dry and wet season do to a board, a crack and a pinblock, and what holding the humidity would change.

A whole piano follows the room over weeks: give means of a month, not a reading of the hour. All movements are those
of free wood, so upper bounds for wood that is glued to ribs and rim.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from valuation.measure.limits import require_between
from valuation.measure.wood import PUBLISHED_MOISTURE, Climate, movement


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardYear:
    """Movement of free wood between the dry and the wet season.

    Attributes
    ----------
    movement_mm : float
        Growth from dry to wet, at most [mm].
    is_published_range : bool
        Both moistures lie where the coefficients are published; otherwise the figure is rougher.
    """

    movement_mm: float
    is_published_range: bool


def board_over_year(across_mm: float, coefficient: float, *, dry: Climate, wet: Climate) -> BoardYear:
    """Return how far a board would move across the grain over the year, were it free.

    Parameters
    ----------
    across_mm : float
        Size across the grain [mm].
    coefficient : float
        Change in size for 1 % of moisture, as in `COEFFICIENTS` [1/%].
    dry, wet : Climate
        Air of the driest and the wettest month.

    Returns
    -------
    BoardYear
        Movement.

    Examples
    --------
    >>> year = board_over_year(
    ...     1400, 0.00148, dry=Climate(humidity=25, temperature_c=21), wet=Climate(humidity=70, temperature_c=21)
    ... )
    >>> round(year.movement_mm, 1), year.is_published_range
    (16.0, False)
    """
    low, high = PUBLISHED_MOISTURE
    return BoardYear(
        movement_mm=float(movement(across_mm, coefficient, dry.moisture, wet.moisture)),
        is_published_range=low <= min(dry.moisture, wet.moisture) and max(dry.moisture, wet.moisture) <= high,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class CrackYear:
    """How a crack works over the year. Ribs and rim hold the board, so the truth lies between now and these.

    Attributes
    ----------
    dry_at_most_mm : float
        Width in the dry season, at most [mm].
    wet_at_least_mm : float
        Width in the wet season, at least; 0 where it may close [mm].
    """

    dry_at_most_mm: float
    wet_at_least_mm: float


def crack_over_year(
    width_mm: float, panel_mm: float, coefficient: float, *, now: Climate, dry: Climate, wet: Climate
) -> CrackYear:
    """Return how far a crack may open in the dry season and close in the wet one.

    Parameters
    ----------
    width_mm : float
        Width now [mm].
    panel_mm : float
        Width of wood whose shrinking this crack takes up: half way to the next crack or edge on each side [mm].
    coefficient : float
        Change in size for 1 % of moisture, as in `COEFFICIENTS` [1/%].
    now : Climate
        Air of the last weeks, to which the present width belongs.
    dry, wet : Climate
        Air of the driest and the wettest month.

    Returns
    -------
    CrackYear
        Bounds of its width.

    Examples
    --------
    >>> def air(humidity):
    ...     return Climate(humidity=humidity, temperature_c=21)
    >>> crack = crack_over_year(0.3, 150, 0.00148, now=air(45), dry=air(25), wet=air(60))
    >>> round(crack.dry_at_most_mm, 2), crack.wet_at_least_mm
    (0.99, 0.0)
    """
    width = float(require_between(width_mm, 0, 20, what="width of a crack", unit="mm"))
    require_between(panel_mm, 5, 2000, what="width of wood that a crack takes up", unit="mm")
    in_dry, in_wet = (
        width - float(movement(panel_mm, coefficient, now.moisture, season.moisture)) for season in (dry, wet)
    )
    return CrackYear(
        dry_at_most_mm=max(width, in_dry),
        wet_at_least_mm=min(width, max(0.0, in_wet)),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockYear:
    """What the dry season does to a pinblock, against how it is now. Upper bounds, signs as they stand.

    Attributes
    ----------
    fit_dry_mm : float
        Change of the pin's tightness in its hole across the grain, where the block can't grow outwards;
        negative is looser [mm].
    size_dry_mm : float
        Growth of the block across its grain, negative where it shrinks away from plate or back [mm].
    """

    fit_dry_mm: float
    size_dry_mm: float


def block_over_year(pin_mm: float, block_mm: float, coefficient: float, *, now: Climate, dry: Climate) -> BlockYear:
    """Return what the dry season does to the block, measured against now.

    Parameters
    ----------
    pin_mm : float
        Diameter of the tuning pins [mm].
    block_mm : float
        Size of the block across its grain, flange to back [mm].
    coefficient : float
        Change in size for 1 % of moisture of its wood, as in `COEFFICIENTS` [1/%].
    now : Climate
        Air of the last weeks: torque read now belongs to it.
    dry : Climate
        Air of the driest month.

    Returns
    -------
    BlockYear
        Change of fit and size.

    Notes
    -----
    Wood that can't grow outwards grows into the hole and grips; when it dries it lets go, and wood once crushed by
    swelling lets go further. So torque read in the wet season flatters a block: `fit_dry_mm` says by how much of the
    pin's grip. Plies glued crosswise move less than this.

    Examples
    --------
    >>> def air(humidity):
    ...     return Climate(humidity=humidity, temperature_c=21)
    >>> block = block_over_year(7.1, 200, 0.00353, now=air(65), dry=air(25))
    >>> round(block.fit_dry_mm, 2), round(block.size_dry_mm, 1)
    (-0.17, -4.7)
    """
    require_between(pin_mm, 5, 10, what="diameter of a tuning pin", unit="mm")
    require_between(block_mm, 20, 500, what="size of the block across its grain", unit="mm")
    fit, size = (float(movement(mm, coefficient, now.moisture, dry.moisture)) for mm in (pin_mm, block_mm))
    return BlockYear(fit_dry_mm=fit, size_dry_mm=size)


@dataclass(frozen=True, slots=True, kw_only=True)
class HumidityControl:
    """What holding the humidity would change: the figures of one sentence.

    Attributes
    ----------
    swing, swing_held : float
        Swing of moisture over the year, without and with it [%].
    share_left : float
        Share of all movement (board, cracks, block, crown) that is left; 1 where there was none to take away [-].
    """

    swing: float
    swing_held: float
    share_left: float


def hold_humidity(dry: Climate, wet: Climate, *, held_low: float, held_high: float) -> HumidityControl:
    """Return how much movement is left if the humidity at the piano is held between two limits.

    Parameters
    ----------
    dry, wet : Climate
        Air of the driest and the wettest month, as they are now.
    held_low, held_high : float
        Relative humidity between which the control keeps the air at the wood [%].

    Returns
    -------
    HumidityControl
        Swing of moisture without and with it, and the share left.

    Raises
    ------
    ValueError
        If the limits don't rise, or a number is not possible.

    Examples
    --------
    >>> dry, wet = Climate(humidity=25, temperature_c=21), Climate(humidity=70, temperature_c=21)
    >>> round(hold_humidity(dry, wet, held_low=40, held_high=50).share_left, 2)
    0.2
    """
    low, high = require_between([held_low, held_high], 0, 95, what="relative humidity", unit="%")
    if low > high:
        raise ValueError("humidity is held from a lower to a higher limit")
    held = [
        Climate(humidity=float(np.clip(air.humidity, low, high)), temperature_c=air.temperature_c) for air in (dry, wet)
    ]
    swing = abs(wet.moisture - dry.moisture)
    swing_held = abs(held[1].moisture - held[0].moisture)
    return HumidityControl(swing=swing, swing_held=swing_held, share_left=swing_held / swing if swing else 1.0)
