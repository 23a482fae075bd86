"""Keys of the piano, 1 (A0) to 88 (C8), and their names."""

from __future__ import annotations

import re

KEYS = range(1, 89)

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
        raise ValueError(f"'{name}' is not on the keyboard, which goes from A0 (1) to C8 (88)")
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
