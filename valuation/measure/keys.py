"""Keys of the piano, 1 (A0) to 88 (C8): their names, their standard pitch, the stiffness usual for them."""

from __future__ import annotations

import math
import re
from typing import TypeVar

import numpy as np

Numbers = TypeVar("Numbers", float, np.ndarray)

KEYS = range(1, 89)
A4 = 49
C4 = 40
STANDARD_A4_HZ = 440.0
"""Standard tuning frequency [Hz], ISO 16:1975."""

_NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
_NAME = re.compile(r"([A-G])([#♯b♭]?)(\d)")


def key_number(name: str | int) -> int:
    """Return the number of a key [1-88] from its name or number.

    Parameters
    ----------
    name : str or int
        ``"A4"``, ``"D#5"``, ``"Bb2"``, or the number counted from the lowest key.

    Returns
    -------
    int
        Number counted from A0 = 1 [-].

    Raises
    ------
    ValueError
        If there is no such key.

    Examples
    --------
    >>> key_number("A4"), key_number("C8"), key_number("Bb0")
    (49, 88, 2)
    """
    if isinstance(name, int):
        number = name
    else:
        match = _NAME.fullmatch(name.strip())
        if not match:
            raise ValueError(f"'{name}' is not a key; write A4, D#5 or Bb2")
        letter, sign, octave = match.groups()
        shift = {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1}[sign]
        number = 12 * int(octave) + _NAMES.index(letter) + shift - 8
    if number not in KEYS:
        raise ValueError(f"'{name}' is not on the keyboard, which goes from A0 to C8")
    return number


def key_name(key: int) -> str:
    """Return the name of a key, sharps rather than flats.

    Examples
    --------
    >>> key_name(49), key_name(1), key_name(2)
    ('A4', 'A0', 'A#0')
    """
    octave, step = divmod(key + 8, 12)
    return f"{_NAMES[step]}{octave}"


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
    >>> round(standard_hz(key_number("C4")), 4)
    261.6256
    """
    return a4_hz * 2 ** ((key - A4) / 12)


def cents_between(frequency_hz: float, reference_hz: float) -> float:
    """Return how far a frequency [Hz] lies above another [cents]."""
    return 1200 * math.log2(frequency_hz / reference_hz)


def cents_from_standard(frequency_hz: float, key: int) -> float:
    """Return how far a frequency [Hz] lies above the standard pitch of a key [cents]; negative is flat."""
    return cents_between(frequency_hz, standard_hz(key))


def plain_wire_inharmonicity(key: float) -> float:
    """Return the inharmonicity usual for plain wire [-], by Young's line.

    Second partial of middle C 1.2 cents sharp, doubling every eight keys.

    References
    ----------
    Young, R. W., "Inharmonicity of plain wire piano strings", J. Acoust. Soc. Am. 24 (1952) 267.

    Examples
    --------
    >>> float(f"{plain_wire_inharmonicity(key_number('C4')):.4g}")
    0.0003468
    """
    middle_c = (2 ** (1.2 / 600) - 1) / 4
    return middle_c * 2 ** ((key - C4) / 8)


def usual_inharmonicity(key: float) -> float:
    """Return where a search for the inharmonicity of a key should start [-].

    Young's line for plain wire, and a second line that rises towards the lowest wound strings. The second
    is a rough starting point of our own (about 3e-4 at A0), not a published figure; it only centres a search
    that is wide on both sides.
    """
    return plain_wire_inharmonicity(key) + 3e-4 * 2 ** (-(key - 1) / 8)
