"""Strings: pull, share of breaking strength and inharmonicity, from length, wire and pitch.

Every function takes one string or arrays of them. The text behind all: Fletcher and Rossing, "The Physics of
Musical Instruments", 2nd ed., Springer 1998, chapters 2 and 12.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from valuation.measure.keys import STANDARD_A4_HZ, standard_hz
from valuation.measure.limits import require_between
from valuation.measure.wire import THICKEST_MM, THINNEST_MM

STEEL_DENSITY = 7850.0
"""Carbon steel wire [kg/m3]."""

COPPER_DENSITY = 8960.0
"""Copper of the winding [kg/m3]."""

WINDING_FILL = math.pi / 4
"""Share of the ring between core and outside that round wire, turn beside turn, fills; exact for each layer."""

STEEL_YOUNG = 25.5e6 * STEEL_DENSITY
"""Stiffness of steel wire [Pa]; the ratio of stiffness to density is Young's (1952), 25.5e10 cm2/s2."""


def key_frequency(key: ArrayLike, a4_hz: float = STANDARD_A4_HZ) -> np.ndarray:
    """Return the pitch of keys in equal temperament, refusing what is not on the keyboard.

    Parameters
    ----------
    key : array_like
        Number of the key, 1 (lowest A) to 88 (highest C) [-].
    a4_hz : float
        Pitch of key 49 [Hz].

    Returns
    -------
    numpy.ndarray
        Frequency [Hz].

    Raises
    ------
    ValueError
        If there is no such key, or the pitch is none that pianos were tuned to.

    Examples
    --------
    >>> round(float(key_frequency(40)), 4)
    261.6256
    """
    key = require_between(key, 1, 88, what="key")
    require_between(a4_hz, 350, 500, what="pitch of A4", unit="Hz")
    return standard_hz(key, a4_hz)[()]


def string_mass(core_mm: ArrayLike, outside_mm: ArrayLike = 0.0) -> np.ndarray:
    """Return the mass of a metre of string, plain or wound.

    Parameters
    ----------
    core_mm : array_like
        Diameter of the steel wire [mm].
    outside_mm : array_like
        Diameter over the copper winding, 0 where there is none [mm].

    Returns
    -------
    numpy.ndarray
        Mass per length [kg/m].

    Raises
    ------
    ValueError
        If a diameter is not possible, or a winding is thinner than its core.

    Notes
    -----
    Copper wound on with round wire, turn beside turn, in one layer or two, fills pi/4 of its ring. Aluminium or
    iron windings, and flattened ones, are not covered.

    Examples
    --------
    >>> round(float(string_mass(1.0)) * 1000, 3)
    6.165
    """
    core = require_between(core_mm, THINNEST_MM, THICKEST_MM, what="diameter of the wire", unit="mm")
    outside = require_between(outside_mm, 0, 12, what="diameter over the winding", unit="mm")
    if ((outside > 0) & (outside <= core)).any():
        raise ValueError("a winding must be thicker than its core; give 0 where the string is plain")
    ring = np.where(outside > 0, outside**2 - core**2, 0.0)
    return (math.pi / 4 * 1e-6 * (STEEL_DENSITY * core**2 + WINDING_FILL * COPPER_DENSITY * ring))[()]


def tension(frequency_hz: ArrayLike, length_mm: ArrayLike, mass_kg_per_m: ArrayLike) -> np.ndarray:
    """Return the pull of a string from its pitch, length and mass.

    Parameters
    ----------
    frequency_hz : array_like
        Pitch [Hz].
    length_mm : array_like
        Speaking length, 30 to 2500 [mm].
    mass_kg_per_m : array_like
        Mass per length [kg/m].

    Returns
    -------
    numpy.ndarray
        Tension [N].

    Raises
    ------
    ValueError
        If a length is not possible.

    Notes
    -----
    Law of Mersenne and Taylor, ``T = 4 L^2 f^2 m``. Stiffness is left out: the true pull is less by about the
    inharmonicity B, under 0.1 % in the middle and some 2 % at the top. A length 1 % wrong gives a pull 2 % wrong;
    so does a diameter, but it hardly moves the share of breaking strength, since both grow alike.

    Examples
    --------
    >>> round(float(tension(key_frequency(64), 181, string_mass(0.925))))  # 170.2 pounds-force
    757
    """
    length = require_between(length_mm, 30, 2500, what="speaking length", unit="mm") / 1000
    return (4 * (length * np.asarray(frequency_hz)) ** 2 * mass_kg_per_m)[()]


def inharmonicity(core_mm: ArrayLike, length_mm: ArrayLike, tension_n: ArrayLike) -> np.ndarray:
    """Return the inharmonicity B of a string: f_n = n f_0 sqrt(1 + B n^2), with f_0 its pitch without stiffness.

    Parameters
    ----------
    core_mm : array_like
        Diameter of the steel wire, without winding [mm].
    length_mm : array_like
        Speaking length [mm].
    tension_n : array_like
        Tension [N].

    Returns
    -------
    numpy.ndarray
        Inharmonicity B [-].

    Raises
    ------
    ValueError
        If a diameter, a length or a tension is not possible.

    Notes
    -----
    ``B = pi^3 E d^4 / (64 T L^2)``. For a wound string it is a lower bound: the stiffness of the winding and
    the bare ends of the core add to it.

    References
    ----------
    .. [1] Young, R. W., "Inharmonicity of plain wire piano strings", J. Acoust. Soc. Am. 24 (1952) 267.

    Examples
    --------
    >>> float(round(inharmonicity(1.0, 620, 648.8), 6))
    0.000389
    """
    core = require_between(core_mm, THINNEST_MM, THICKEST_MM, what="diameter of the wire", unit="mm") / 1000
    length = require_between(length_mm, 30, 2500, what="speaking length", unit="mm") / 1000
    pull = require_between(tension_n, 10, 5000, what="tension of a string", unit="N")
    return (math.pi**3 * STEEL_YOUNG * core**4 / (64 * pull * length**2))[()]
