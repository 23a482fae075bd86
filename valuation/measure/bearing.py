"""String bearing: from gauge or height to angle, and from angle to force on the board.

Angles are net bends of the string over the bridge, positive where the string presses the bridge towards the board.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from valuation.measure.limits import require_between

STEEPEST_DEG = 15.0
"""No bridge bends a string further; anything beyond is a slip of the pen."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bearing:
    """The bend of a string at the bridge.

    Attributes
    ----------
    front_deg, rear_deg : float
        Bend on the speaking side and behind the bridge [deg].
    """

    front_deg: float
    rear_deg: float

    @property
    def net_deg(self) -> float:
        """Both bends together [deg]."""
        return self.front_deg + self.rear_deg


def bearing_from_heights(bridge_mm: float, *, front_mm: float, rear_mm: float) -> Bearing:
    """Return the bend of a string from how high the bridge lifts it over a thread stretched before and behind.

    Parameters
    ----------
    bridge_mm : float
        Height of the string on the bridge, above the thread [mm].
    front_mm : float
        Length of string from the thread's front end to the bridge [mm].
    rear_mm : float
        Length of string from the bridge to the thread's rear end [mm].

    Returns
    -------
    Bearing
        Front and rear bend.

    Raises
    ------
    ValueError
        If a length is not possible, or the bend is steeper than a string's.

    Notes
    -----
    ``sin a = h / length`` on each side. Half a millimetre over 50 mm is 0.6 deg: measure short spans with a gauge.

    Examples
    --------
    >>> bearing = bearing_from_heights(0.5817, front_mm=50, rear_mm=25)
    >>> round(bearing.front_deg, 2), round(bearing.rear_deg, 2), round(bearing.net_deg, 2)
    (0.67, 1.33, 2.0)
    """
    front = require_between(front_mm, 5, 2500, what="length in front of the bridge", unit="mm")
    rear = require_between(rear_mm, 5, 2500, what="length behind the bridge", unit="mm")
    slopes = require_between(bridge_mm / np.array([front, rear]), -1, 1, what="rise of the string over its length")
    bends = require_between(
        np.degrees(np.arcsin(slopes)), -STEEPEST_DEG, STEEPEST_DEG, what="bend of the string", unit="deg"
    )
    return Bearing(front_deg=float(bends[0]), rear_deg=float(bends[1]))


def angle_from_gauge(gap_mm: ArrayLike, *, half_span_mm: float, bridge_width_mm: float) -> np.ndarray:
    """Return the net bend from the reading of a three-point gauge set astride the bridge.

    Parameters
    ----------
    gap_mm : array_like
        How much lower the string lies under each outer foot than in the middle, the mean of both feet; negative
        where it lies higher [mm].
    half_span_mm : float
        From the middle of the gauge to an outer foot [mm].
    bridge_width_mm : float
        Width of the bridge under the string, between its bends [mm].

    Returns
    -------
    numpy.ndarray
        Net bend [deg].

    Raises
    ------
    ValueError
        If the feet don't reach past the bridge, or the bend is steeper than a string's.

    Notes
    -----
    ``2 arcsin(gap / (half span - half the bridge's width))``: the string runs flat over the bridge and falls away
    on both sides. A gauge that only rocks tells that the bend is not positive, not whether it is negative.

    Examples
    --------
    >>> round(float(angle_from_gauge(0.00615 * 25.4, half_span_mm=25.4, bridge_width_mm=0.59 * 25.4)), 2)
    1.0
    """
    half_span = float(require_between(half_span_mm, 5, 200, what="half span of the gauge", unit="mm"))
    width = float(require_between(bridge_width_mm, 0, 60, what="width of the bridge", unit="mm"))
    reach = half_span - width / 2
    if reach <= 0:
        raise ValueError("the feet of the gauge must stand beyond the bridge: its half span is too short")
    slope = require_between(np.asarray(gap_mm) / reach, -0.5, 0.5, what="reading of the gauge over its reach")
    bend = 2 * np.degrees(np.arcsin(slope))
    return require_between(bend, -STEEPEST_DEG, STEEPEST_DEG, what="bend of the string", unit="deg")[()]


def down_force(tension_n: ArrayLike, net_deg: ArrayLike) -> np.ndarray:
    """Return the force with which a string presses on the bridge.

    Parameters
    ----------
    tension_n : array_like
        Tension of the string, or of many together [N].
    net_deg : array_like
        Net bend at the bridge [deg].

    Returns
    -------
    numpy.ndarray
        Force towards the board, negative where the string lifts [N].

    Raises
    ------
    ValueError
        If a bend is steeper than a string's, or a tension is below zero.

    Notes
    -----
    ``2 T sin(angle / 2)``, the resultant of two equal pulls. How the bend is shared between front and rear changes it
    by less than 0.1 % up to 5 degrees.

    Examples
    --------
    >>> round(float(down_force(711.7, 2.0)), 1)
    24.8
    """
    tension = require_between(tension_n, 0, 1e6, what="tension", unit="N")
    bend = require_between(net_deg, -STEEPEST_DEG, STEEPEST_DEG, what="bend of the string", unit="deg")
    return (2 * tension * np.sin(np.radians(bend) / 2))[()]


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionBearing:
    """Bearing of one section of the strings.

    Attributes
    ----------
    section : str
        Name of the section.
    mean_deg, least_deg, greatest_deg : float
        Net bend over the readings [deg].
    per_string_n : float
        Mean force of a string on the bridge [N].
    down_force_n : float
        Force of the whole section [N].
    """

    section: str
    mean_deg: float
    least_deg: float
    greatest_deg: float
    per_string_n: float
    down_force_n: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardLoad:
    """What the strings press on the board, section by section.

    Attributes
    ----------
    sections : tuple of SectionBearing
        In the order of the readings.
    """

    sections: tuple[SectionBearing, ...]

    @property
    def down_force_n(self) -> float:
        """Force of all sections together [N]."""
        return sum(section.down_force_n for section in self.sections)


def board_load(
    net_deg: Mapping[str, Sequence[float] | np.ndarray], *, tension_n: Mapping[str, float], strings: Mapping[str, int]
) -> BoardLoad:
    """Return the force of the strings on the board from a few readings in each section.

    Parameters
    ----------
    net_deg : mapping of section to readings
        Net bends [deg].
    tension_n : mapping of section to number
        Mean tension of a string [N].
    strings : mapping of section to number
        How many strings the section has [-].

    Returns
    -------
    BoardLoad
        Mean, least and greatest bend and the force, for each section and in all.

    Raises
    ------
    ValueError
        If a section has no reading, or its tension or number of strings is not known.

    Examples
    --------
    >>> load = board_load({"treble": [0.9, 1.1]}, tension_n={"treble": 700}, strings={"treble": 100})
    >>> round(load.down_force_n)
    1222
    """
    sections = []
    for section, readings in net_deg.items():
        if not len(readings) or section not in tension_n or section not in strings:
            raise ValueError(f"section '{section}' needs a reading, a mean tension and its number of strings")
        number = float(require_between(strings[section], 1, 300, what=f"strings of section '{section}'"))
        per_string = float(np.mean(down_force(tension_n[section], readings)))
        sections.append(
            SectionBearing(
                section=section,
                mean_deg=float(np.mean(readings)),
                least_deg=float(np.min(readings)),
                greatest_deg=float(np.max(readings)),
                per_string_n=per_string,
                down_force_n=per_string * number,
            )
        )
    return BoardLoad(sections=tuple(sections))
