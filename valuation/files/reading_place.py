"""Where on the piano a reading was taken: ``"49.2: 31 in-lb"`` is key 49, second string from the left.

A tilde before the number, as in ``"49.2: ~31 in-lb"``, says that it was tried because it felt soft.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from valuation.errors import quoted
from valuation.facts.keys import key_number
from valuation.facts.visit import Reading
from valuation.files.visit_values import AnswerError, read_quantity

SOFT = "~"
"""Before a number: tried because it felt soft, and no part of the sample."""

STRINGS = range(1, 4)
"""Strings of one key, counted from the left."""

_LONGEST_NAME = 3
_TINY = re.compile(r"[0-9](\.[0-9]+)?e-[0-9]{2,3}")


def read_reading(value: Any, stored: str, low: float, high: float, written: str, section: str) -> Reading:
    """Return one reading of a list: a number or text, perhaps with its place before a colon.

    Parameters
    ----------
    value : object
        Such as ``31``, ``"31 in-lb"``, ``"~31"``, ``"49: 31"`` or ``"A4.2: 31 in-lb"``.
    stored, low, high, written
        As `read_quantity` takes them.
    section : str
        Of the list; empty where not told.

    Raises
    ------
    AnswerError
        As from `read_quantity`, or if there is no such key or string.
    """
    if not isinstance(value, str):
        return Reading(value=read_quantity(value, stored, low, high, written), section=section)
    place, colon, text = value.rpartition(":")
    soft, text = SOFT in text[:2], text.strip().removeprefix(SOFT)
    if not colon:
        return Reading(value=read_quantity(_plain(text), stored, low, high, written), section=section, soft=soft)
    key, string = read_place(place)
    try:
        number = read_quantity(_plain(text.strip()), stored, low, high, written)
    except AnswerError as fault:
        raise AnswerError(f"at {quoted(place.strip())}: {fault}") from None
    return Reading(value=number, section=section, key=key, string=string, soft=soft)


def read_place(place: str) -> tuple[int, int]:
    """Return the key [1-88] and the string [1-3, 0 where not told] of a place.

    Raises
    ------
    AnswerError
        If there is no such key or string.

    Examples
    --------
    >>> read_place("49.2"), read_place("A4.2"), read_place("49")
    ((49, 2), (49, 2), (49, 0))
    """
    name, dot, string = (piece.strip() for piece in place.partition("."))
    if len(name) > _LONGEST_NAME:
        raise AnswerError(f"{quoted(name)} is not a key; write its number or name, such as 49.2 or A4.2")
    try:
        key = key_number(int(name) if name.isdecimal() else name)
    except ValueError as fault:
        raise AnswerError(str(fault)) from None
    if not dot:
        return key, 0
    if string not in map(str, STRINGS):
        raise AnswerError(f"{quoted(string)} is not a string of {quoted(name)}; write 1, 2 or 3, counted from the left")
    return key, int(string)


def place_text(reading: Reading) -> str:
    """Return the place of a reading as `read_place` takes it; empty where not told.

    Examples
    --------
    >>> place_text(Reading(value=3.5, key=49, string=2)), place_text(Reading(value=3.5, key=49))
    ('49.2', '49')
    """
    if not reading.key:
        return ""
    return f"{reading.key}.{reading.string}" if reading.string else f"{reading.key}"


def places_told_twice(readings: Iterable[Reading]) -> list[tuple[Reading, str]]:
    """Return each further reading of a place that has one already, with a message."""
    seen: set[str] = set()
    twice = []
    for reading in readings:
        place = place_text(reading)
        if place in seen:
            twice.append((reading, _twice(place)))
        seen |= {place} - {""}
    return twice


def _twice(place: str) -> str:
    if "." in place:
        return f"key {place} has more than one reading; keep one"
    return f"key {place} has more than one reading; say of which string, as {place}.1 and {place}.2, or keep one"


def _plain(text: str) -> str | float:
    """Return a number with a power of ten as a number: the writer's smallest figures have one, a person's never."""
    return float(text) if _TINY.fullmatch(text) else text
