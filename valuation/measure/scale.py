"""A scale: the strings of a piano together, what they pull, and where they jump."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from valuation.facts.units import STANDARD_GRAVITY
from valuation.measure.limits import require_between
from valuation.measure.strings import inharmonicity, key_frequency, string_mass, tension
from valuation.measure.wire import THICKEST_MM, THINNEST_MM, breaking_load

TONNE_N = 1000 * STANDARD_GRAVITY
"""Weight of a tonne of 1000 kg [N]. "Tons" of pull must say which: a short ton is 0.907 of it, a long ton 1.016."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Scale:
    """What was measured of the strings: all keys, or a few. Lists are turned into arrays.

    Attributes
    ----------
    key : numpy.ndarray, shape (n,)
        Numbers of the keys, rising [-].
    length_mm : numpy.ndarray, shape (n,)
        Speaking lengths [mm].
    core_mm : numpy.ndarray, shape (n,)
        Diameters of the steel wire [mm].
    outside_mm : numpy.ndarray, shape (n,)
        Diameters over the winding, 0 where plain [mm].
    strings : numpy.ndarray, shape (n,)
        Strings of each key, 1 to 3 [-].

    Raises
    ------
    ValueError
        If the columns are not of one length, the keys don't rise, or a number is not possible or not whole.
    """

    key: np.ndarray
    length_mm: np.ndarray
    core_mm: np.ndarray
    outside_mm: np.ndarray
    strings: np.ndarray

    def __post_init__(self) -> None:
        columns = {
            "key": require_between(self.key, 1, 88, what="key"),
            "length_mm": require_between(self.length_mm, 30, 2500, what="speaking length", unit="mm"),
            "core_mm": require_between(self.core_mm, THINNEST_MM, THICKEST_MM, what="diameter of the wire", unit="mm"),
            "outside_mm": require_between(self.outside_mm, 0, 12, what="diameter over the winding", unit="mm"),
            "strings": require_between(self.strings, 1, 3, what="strings of a key"),
        }
        if any(values.shape != (len(columns["key"].ravel()),) for values in columns.values()):
            raise ValueError("a scale needs one length, wire, winding and number of strings for each key")
        if (columns["key"] % 1).any() or (columns["strings"] % 1).any():
            raise ValueError("keys and strings are counted in whole numbers")
        if len(columns["key"]) == 0 or (np.diff(columns["key"]) <= 0).any():
            raise ValueError("a scale needs its keys in rising order, each once")
        for name, values in columns.items():
            object.__setattr__(self, name, values)

    @property
    def is_wound(self) -> np.ndarray:
        """Which keys have wound strings."""
        return self.outside_mm > 0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ScaleFigures:
    """What a scale comes to at the pitch it is meant for.

    Attributes
    ----------
    scale : Scale
        What was measured.
    frequency_hz : numpy.ndarray, shape (n,)
        Pitch [Hz].
    tension_n : numpy.ndarray, shape (n,)
        Pull of one string [N].
    share : numpy.ndarray, shape (n,)
        Tension over the least breaking load of the wire when new [-].
    inharmonicity : numpy.ndarray, shape (n,)
        Inharmonicity B, as `valuation.measure.strings.inharmonicity` says; a lower bound where wound [-].
    """

    scale: Scale
    frequency_hz: np.ndarray
    tension_n: np.ndarray
    share: np.ndarray
    inharmonicity: np.ndarray


def scale_figures(scale: Scale, a4_hz: float = 440.0) -> ScaleFigures:
    """Return tension, share of breaking strength and inharmonicity of every string entered.

    Parameters
    ----------
    scale : Scale
        What was measured.
    a4_hz : float
        Pitch of A4 for which to reckon [Hz].

    Returns
    -------
    ScaleFigures
        One figure for each key entered.

    Examples
    --------
    >>> scale = Scale(key=[64], length_mm=[181], core_mm=[0.925], outside_mm=[0], strings=[3])
    >>> figures = scale_figures(scale)
    >>> round(float(figures.tension_n[0])), round(float(figures.share[0]), 2)
    (757, 0.51)
    """
    frequency = key_frequency(scale.key, a4_hz)
    pull = tension(frequency, scale.length_mm, string_mass(scale.core_mm, scale.outside_mm))
    return ScaleFigures(
        scale=scale,
        frequency_hz=frequency,
        tension_n=pull,
        share=pull / breaking_load(scale.core_mm),
        inharmonicity=inharmonicity(scale.core_mm, scale.length_mm, pull),
    )


def total_pull(figures: ScaleFigures, strings_in_all: int | None = None) -> float:
    """Return the pull of all strings together.

    Parameters
    ----------
    figures : ScaleFigures
        Figures of the keys entered.
    strings_in_all : int, optional
        Strings of the whole piano [-]. Where given, their mean pull is taken from the strings entered: fair if
        those are spread evenly over the keyboard. Left out, the strings entered are all there are.

    Returns
    -------
    float
        Pull [N].

    Raises
    ------
    ValueError
        If the piano is said to have fewer strings than were entered.

    Examples
    --------
    >>> scale = Scale(key=[64], length_mm=[181], core_mm=[0.925], outside_mm=[0], strings=[3])
    >>> round(total_pull(scale_figures(scale), strings_in_all=225) / TONNE_N, 1)
    17.4
    """
    entered = float(figures.scale.strings.sum())
    pull = float((figures.tension_n * figures.scale.strings).sum())
    if strings_in_all is None:
        return pull
    require_between(strings_in_all, entered, 300, what="number of strings in all")
    return pull * strings_in_all / entered


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleBreak:
    """How far figures jump from one section of the scale to the next, over and above the trend on either side.

    Attributes
    ----------
    below, above : int
        Last key entered below the break, first above it [-].
    tension_ratio : float
        Tension above over tension below; 1 is no jump [-].
    share_ratio : float
        The same for the share of breaking strength [-].
    inharmonicity_ratio : float
        The same for inharmonicity [-].
    left_by_lengths : float or None
        Jump of inharmonicity that would be left if other wire made the tension even; None where either side is
        wound, since a winding can be made to fit [-].
    """

    below: int
    above: int
    tension_ratio: float
    share_ratio: float
    inharmonicity_ratio: float
    left_by_lengths: float | None


def jump_ratio(key: ArrayLike, values: ArrayLike, first_above: int, *, neighbours: int = 5) -> float:
    """Return how far values jump at a break, over and above their trend on either side.

    Parameters
    ----------
    key : array_like, shape (n,)
        Keys, rising [-].
    values : array_like, shape (n,)
        Positive figures of those keys, in any unit [unit].
    first_above : int
        First key above the break [-].
    neighbours : int
        How many keys on each side show the trend, at least 2 [-].

    Returns
    -------
    float
        Value just above the break over value just below; 1 is no jump [-].

    Raises
    ------
    ValueError
        If fewer than two keys were entered on a side, or a value is not positive.

    Notes
    -----
    A straight line through the logarithms of the nearest values on each side, both read half way between the two
    keys at the break. So the usual rise from key to key, also over keys that were not entered, is no jump.

    Examples
    --------
    >>> round(jump_ratio([19, 20, 21, 22], [500, 500, 600, 600], 21), 2)
    1.2
    """
    key, values = np.asarray(key, dtype=float), np.asarray(values, dtype=float)
    if not (values > 0).all():
        raise ValueError("jumps are reckoned from figures above zero")
    below, above = np.flatnonzero(key < first_above)[-neighbours:], np.flatnonzero(key >= first_above)[:neighbours]
    if min(len(below), len(above), neighbours) < 2:
        raise ValueError(f"a jump at key {first_above} needs at least two keys entered below it and two from it up")
    middle = (key[below[-1]] + key[above[0]]) / 2
    at_break = [np.polynomial.Polynomial.fit(key[side], np.log(values[side]), 1)(middle) for side in (below, above)]
    return float(np.exp(at_break[1] - at_break[0]))


def scale_breaks(figures: ScaleFigures, first_above: Sequence[int]) -> tuple[ScaleBreak, ...]:
    """Return the jumps at each break of the scale.

    Parameters
    ----------
    figures : ScaleFigures
        Figures of the keys entered.
    first_above : sequence of int
        First key above each break: where a strut parts the strings, where winding ends, where a bridge begins [-].

    Returns
    -------
    tuple of ScaleBreak
        In the order given.

    Raises
    ------
    ValueError
        If fewer than two keys were entered on a side of a break.

    Notes
    -----
    For plain wire, inharmonicity over tension hangs on length and pitch alone,
    ``B / T = pi E / (64 rho^2 L^6 f^4)``: whatever wire is chosen, a jump in that ratio stays. Only moving a bridge
    or a rest mends it.

    Examples
    --------
    >>> scale = Scale(
    ...     key=[40, 41, 42, 43],
    ...     length_mm=[640, 610, 550, 520],
    ...     core_mm=[1.0, 1.0, 1.0, 1.0],
    ...     outside_mm=[0, 0, 0, 0],
    ...     strings=[3, 3, 3, 3],
    ... )
    >>> (found,) = scale_breaks(scale_figures(scale), [42])
    >>> round(found.tension_ratio, 2), round(found.inharmonicity_ratio, 2)
    (0.9, 1.23)
    """
    scale = figures.scale

    def jump(values: np.ndarray, first: int) -> float:
        return jump_ratio(scale.key, values, first)

    found = []
    for first in first_above:
        stiffness_jump, pull_jump = jump(figures.inharmonicity, first), jump(figures.tension_n, first)
        at = int(np.searchsorted(scale.key, first))
        found.append(
            ScaleBreak(
                below=int(scale.key[at - 1]),
                above=int(scale.key[at]),
                tension_ratio=pull_jump,
                share_ratio=jump(figures.share, first),
                inharmonicity_ratio=stiffness_jump,
                left_by_lengths=None if scale.is_wound[at - 1 : at + 1].any() else stiffness_jump / pull_jump,
            )
        )
    return tuple(found)
