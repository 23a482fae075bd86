"""Which pins to try: dealt out evenly over the field by a random start, so that they speak for all.

Whoever chooses pins chooses those that are easy to reach or that feel soft. Dealt ones don't: each pin is as likely to
come as any other, neighbours hardly ever come together, and more of them can be dealt later without beginning anew.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from hashlib import sha256

from valuation.facts.keys import KEYS
from valuation.measure.pin_runs import Place

USUAL_ENDS = (28, 52)
"""Last key of bass and of tenor where nobody has told: from memory, and only to begin with; pianos differ."""

SINGLE_UNTIL = 10
"""Last key with one string where nobody has told: from memory, pianos differ [-]."""

_STEP = (math.sqrt(5) - 1) / 2
"""Steps of the golden section leave even gaps however many are taken (Steinhaus's three gaps)."""


def pins_of(bass_end: int) -> tuple[Place, ...]:
    """Return the pins of a field in the order of keys, and of the strings of each key.

    Even gaps in this order are even along the keyboard, and take the rows of the field, one for each string, in turn.

    Parameters
    ----------
    bass_end : int
        Last key of the bass; up to it a key has two strings, the lowest ones one, above it three.

    Examples
    --------
    >>> len(pins_of(28)), pins_of(28)[10:13]
    (226, ((11, 1), (11, 2), (12, 1)))
    """
    singles = min(SINGLE_UNTIL, bass_end)
    strings = {key: 1 if key <= singles else 2 if key <= bass_end else 3 for key in KEYS}
    return tuple((key, string) for key in KEYS for string in range(1, strings[key] + 1))


def start_of(visit_id: str) -> float:
    """Return where the deal of a visit begins, 0 up to 1: by chance, and the same whenever it is asked.

    Examples
    --------
    >>> 0 <= start_of("a visit") < 1, start_of("a visit") == start_of("another")
    (True, False)
    """
    return int.from_bytes(sha256(visit_id.encode("utf-8")).digest()[:6], "big") / 2**48


def deal_pins(pins: tuple[Place, ...], count: int, start: float) -> tuple[Place, ...]:
    """Return the pins to try, the first dealt first; a longer deal begins with the shorter one.

    Parameters
    ----------
    pins : tuple of (key, string)
        The field, as from `pins_of`.
    count : int
        Pins to try, at most all [-].
    start : float
        Drawn evenly from 0 up to 1 [-].

    Raises
    ------
    ValueError
        If there are not so many pins, or the start is none.

    Examples
    --------
    >>> deal_pins(pins_of(28), 3, 0.5)
    ((51, 2), (19, 1), (69, 1))
    """
    if not 0 <= count <= len(pins):
        raise ValueError(f"{count} pins can't be tried of {len(pins)}")
    if not 0 <= start < 1:
        raise ValueError(f"a start lies between 0 and 1, not at {start}")
    return tuple(pins[index] for index in _order(len(pins), start, count))


def _order(size: int, start: float, count: int) -> Iterator[int]:
    taken: set[int] = set()
    step = 0
    while len(taken) < count:
        index = int((start + step * _STEP) % 1 * size)
        step += 1
        if index not in taken:
            taken.add(index)
            yield index
