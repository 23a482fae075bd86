"""Keys of the piano, 1 (A0) to 88 (C8): their standard pitch, the stiffness usual for them; `core.keys` names them."""

from __future__ import annotations

import math
from typing import TypeVar

import numpy as np

Numbers = TypeVar("Numbers", float, np.ndarray)

A4 = 49
C4 = 40
STANDARD_A4_HZ = 440.0
"""Standard tuning frequency [Hz], ISO 16:1975."""


def standard_hz(key: Numbers, a4_hz: float = STANDARD_A4_HZ) -> Numbers:
    """Return the frequency of a key in equal temperament [Hz].

    Parameters
    ----------
    key : float or numpy.ndarray
        Number of the key [-]; fractions lie between keys, and places beyond the keyboard are reckoned too.
    a4_hz : float
        Pitch of key 49 [Hz].

    Returns
    -------
    float or numpy.ndarray
        Frequency [Hz].

    References
    ----------
    ISO 16:1975, Acoustics: Standard tuning frequency.

    Examples
    --------
    >>> round(standard_hz(C4), 4)
    261.6256
    """
    return a4_hz * 2 ** ((key - A4) / 12)


def cents_between(frequency_hz: float, reference_hz: float) -> float:
    """Return how far a frequency [Hz] lies above another [cents]."""
    return 1200 * math.log2(frequency_hz / reference_hz)


def cents_from_standard(frequency_hz: float, key: int) -> float:
    """Return how far a frequency [Hz] lies above the standard pitch of a key [cents]; negative is flat."""
    return cents_between(frequency_hz, standard_hz(key))


def plain_wire_inharmonicity(key: Numbers) -> Numbers:
    """Return the inharmonicity usual for plain wire [-], by Young's line.

    Second partial of middle C 1.2 cents sharp, doubling every eight keys.

    References
    ----------
    Young, R. W., "Inharmonicity of plain wire piano strings", J. Acoust. Soc. Am. 24 (1952) 267.

    Examples
    --------
    >>> float(f"{plain_wire_inharmonicity(C4):.4g}")
    0.0003468
    """
    middle_c = (2 ** (1.2 / 600) - 1) / 4
    return middle_c * 2 ** ((key - C4) / 8)


def usual_inharmonicity(key: Numbers) -> Numbers:
    """Return where a search for the inharmonicity of a key should start [-].

    Young's line for plain wire, and a second line that rises towards the lowest wound strings. The second
    is a rough starting point of our own (about 3e-4 at A0), not a published figure; it only centres a search
    that is wide on both sides.
    """
    return plain_wire_inharmonicity(key) + 3e-4 * 2 ** (-(key - 1) / 8)
