"""What tuning up, or new wire, can and can't do to a scale."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from valuation.measure.limits import require_between
from valuation.measure.scale import ScaleFigures
from valuation.measure.strings import STEEL_DENSITY
from valuation.measure.wire import THICKEST_MM, THINNEST_MM, least_strength


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PitchRaise:
    """What bringing the strings up to pitch asks of them and of the frame.

    Attributes
    ----------
    added_share : numpy.ndarray, shape (n,)
        Pull added to one string of each key, over the pull it has now [-].
    added_in_all_n : float
        Pull added by all the strings entered [N].
    greatest_share : numpy.ndarray, shape (n,)
        Share of what the wire can still bear, at the sharpest moment of the raise [-].
    keys_over : tuple of int
        Keys where that is more than the limit given [-].
    """

    added_share: np.ndarray
    added_in_all_n: float
    greatest_share: np.ndarray
    keys_over: tuple[int, ...]


def added_tension_share(cents: ArrayLike) -> np.ndarray:
    """Return by what share a string's pull grows when its pitch goes up.

    Parameters
    ----------
    cents : array_like
        Rise in pitch, -1200 to 1200 [cents].

    Returns
    -------
    numpy.ndarray
        Growth of the pull, exact: ``2 ** (cents / 600) - 1`` [-].

    Raises
    ------
    ValueError
        If the rise is more than an octave.

    Examples
    --------
    >>> round(float(added_tension_share(100)), 4)
    0.1225
    """
    return (2 ** (require_between(cents, -1200, 1200, what="rise in pitch", unit="cents") / 600) - 1)[()]


def raise_pitch(
    figures: ScaleFigures,
    flat_cents: ArrayLike,
    *,
    overpull_cents: float,
    strength_kept: float,
    highest_share: float,
) -> PitchRaise:
    """Return what it takes to bring strings that are flat up to the pitch of `figures`.

    Parameters
    ----------
    figures : ScaleFigures
        The scale at the pitch to be reached.
    flat_cents : array_like, shape (n,) or one for all
        How far each key is below that pitch now, negative where it is above [cents].
    overpull_cents : float
        How far above it strings are taken for a while, so that they settle on it [cents].
    strength_kept : float
        Share of its strength when new that the wire still has, above 0 [-].
    highest_share : float
        Share of what it can bear that old wire should be asked to take [-].

    Returns
    -------
    PitchRaise
        What is added, the greatest share reached, and the keys beyond the limit.

    Notes
    -----
    Rust pits and old bends break wire below any reckoned share; there is no reliable forecast. What this
    says is one-sided: a string beyond the limit should not be asked; one within it may still break.

    Examples
    --------
    >>> from valuation.measure.scale import Scale, scale_figures
    >>> scale = Scale(key=[64], length_mm=[181], core_mm=[0.925], outside_mm=[0], strings=[3])
    >>> figures = scale_figures(scale)
    >>> lift = raise_pitch(figures, 50, overpull_cents=10, strength_kept=0.8, highest_share=0.6)
    >>> round(lift.added_in_all_n), round(float(lift.greatest_share[0]), 2), lift.keys_over
    (127, 0.65, (64,))
    """
    scale = figures.scale
    flat = np.broadcast_to(require_between(flat_cents, -200, 1200, what="flatness", unit="cents"), scale.key.shape)
    require_between(overpull_cents, 0, 100, what="overpull", unit="cents")
    require_between(strength_kept, 0.05, 1, what="share of strength kept")
    added_share = added_tension_share(flat)
    added = figures.tension_n * added_share / (1 + added_share)
    sharpest = 1 + added_tension_share(np.maximum(-flat, overpull_cents))
    greatest = figures.share * sharpest / strength_kept
    return PitchRaise(
        added_share=added_share,
        added_in_all_n=float((added * scale.strings).sum()),
        greatest_share=greatest,
        keys_over=tuple(scale.key[greatest > highest_share].astype(int).tolist()),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ScaleLimits:
    """What no choice of wire can mend: the part of the result that the lengths decide.

    Attributes
    ----------
    overstrained : tuple of int
        Keys too long for their pitch: over the highest share with any wire [-].
    slack : tuple of int
        Plain keys too short for their pitch: under the lowest share with any wire [-].
    """

    overstrained: tuple[int, ...]
    slack: tuple[int, ...]


def scale_limits(
    figures: ScaleFigures,
    *,
    lowest_share: float,
    highest_share: float,
    thinnest_mm: float,
    thickest_mm: float,
) -> ScaleLimits:
    """Return how far the scale itself limits what new strings can do.

    Parameters
    ----------
    figures : ScaleFigures
        The scale at its pitch.
    lowest_share, highest_share : float
        Shares of breaking strength between which strings should lie [-].
    thinnest_mm, thickest_mm : float
        Thinnest and thickest wire that one would choose for these keys [mm].

    Returns
    -------
    ScaleLimits
        Keys out of reach of any wire.

    Raises
    ------
    ValueError
        If the limits don't rise, or a number is not possible.

    Notes
    -----
    In plain wire the stress ``4 L^2 f^2 rho`` holds no diameter: length and pitch set it, and the wire's size
    only shifts its strength a little. So a plain string out of limits is a matter of its length. A winding
    adds mass, hence stress: a wound string can always be made tighter, never slacker than plain wire. Strength
    is that of `least_strength`. The jumps that remain between sections are in `ScaleBreak.left_by_lengths`.

    Examples
    --------
    >>> from valuation.measure.scale import Scale, scale_figures
    >>> scale = Scale(key=[64], length_mm=[181], core_mm=[0.925], outside_mm=[0], strings=[3])
    >>> figures = scale_figures(scale)
    >>> limits = scale_limits(figures, lowest_share=0.55, highest_share=0.7, thinnest_mm=0.8, thickest_mm=1.0)
    >>> limits.overstrained, limits.slack
    ((), (64,))
    """
    require_between([lowest_share, highest_share], 0.01, 1, what="share of breaking strength")
    require_between([thinnest_mm, thickest_mm], THINNEST_MM, THICKEST_MM, what="diameter of the wire", unit="mm")
    if lowest_share >= highest_share or thinnest_mm > thickest_mm:
        raise ValueError("limits must rise: the lowest share below the highest, the thinnest wire below the thickest")
    scale = figures.scale
    stress_mpa = 4e-6 * (scale.length_mm / 1000 * figures.frequency_hz) ** 2 * STEEL_DENSITY
    overstrained = stress_mpa / least_strength(thinnest_mm) > highest_share
    slack = ~scale.is_wound & (stress_mpa / least_strength(thickest_mm) < lowest_share)
    return ScaleLimits(
        overstrained=tuple(scale.key[overstrained].astype(int).tolist()),
        slack=tuple(scale.key[slack].astype(int).tolist()),
    )
