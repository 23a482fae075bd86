"""Units: what a technician writes, turned into what is stored.

Stored units are SI or the trade's own: torque in N.m, lengths in mm, weights on keys in g, pitch in cents.
Factors are exact by definition (international yard and pound; NIST SP 811, 2008, appendix B.8).
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction
from typing import Any
from unicodedata import normalize

INCH_MM = 25.4
INCHES_OF_A_FOOT = 12
POUND_KG = 0.45359237
STANDARD_GRAVITY = 9.80665
IN_LB_NM = POUND_KG * STANDARD_GRAVITY * INCH_MM / 1000
"""One pound-force inch in newton metres."""

FACTORS: dict[str, dict[str, float]] = {
    "N.m": {"N.m": 1, "in-lb": IN_LB_NM, "kgf.cm": STANDARD_GRAVITY / 100},
    "mm": {"mm": 1, "cm": 10, "m": 1000, "in": INCH_MM, "ft": 304.8},
    "g": {"g": 1, "kg": 1000, "oz": POUND_KG * 1000 / 16},
    "cents": {"cents": 1},
    "%": {"%": 1},
    "s": {"s": 1},
    "deg": {"deg": 1},
    "count": {"count": 1},
    "swings": {"swings": 1},
}
"""Stored unit -> units that can be written for it -> factor from written to stored."""

UNITS = tuple(FACTORS)

_SPELLINGS = {
    "N.m": ("n-m", "nm", "newton-metre", "newton-metres", "newton-meter", "newton-meters"),
    "in-lb": (
        *("in-lb", "in-lbs", "in-lbf", "inlb", "inlbs", "lb-in", "lbs-in", "lbf-in"),
        *("inch-lb", "inch-lbs", "inch-pound", "inch-pounds", "pound-inch", "pound-inches"),
    ),
    "kgf.cm": ("kgf-cm", "kg-cm", "kgfcm", "kgcm"),
    "mm": ("mm", "millimetres", "millimeters"),
    "cm": ("cm", "centimetres", "centimeters"),
    "m": ("m", "metre", "metres", "meter", "meters"),
    "in": ("in", '"', "''", "inch", "inches"),
    "ft": ("ft", "'", "feet", "foot"),
    "g": ("g", "gram", "grams"),
    "kg": ("kg",),
    "oz": ("oz", "ounce", "ounces"),
    "cents": ("cents", "cent", "ct"),
    "%": ("%", "percent"),
    "s": ("s", "sec", "second", "seconds"),
    "deg": ("deg", "°", "degree", "degrees"),
    "count": ("count",),
    "swings": ("swings", "swing"),
}
"""Unit -> ways of writing it, after `_plain_unit`."""

_UNIT_OF = {spelling: unit for unit, spellings in _SPELLINGS.items() for spelling in spellings}

_NUMBER = r"(?:(\d+)(?:\s+|\s*-\s*)(\d+)/(\d+)|(\d+)/(\d+)|(\d+(?:\.\d+)?|\.\d+))"
_PART = re.compile(rf"\s*{_NUMBER}\s*([^\d\s.][^\d]*)?")
_FEET = re.compile(rf"\s*{_NUMBER}\s*(feet|foot|ft|')[\s.-]*(.*)", re.IGNORECASE)
_MARKS = str.maketrans({"’": "'", "′": "'", "”": '"', "″": '"', "–": "-", "−": "-"})
_MOST_LETTERS = 40


class UnitError(ValueError):
    """The text is not a number with a unit that fits; the message says what would."""


def convert(number: float, written: str, stored: str) -> float:
    """Return `number`, given in the unit `written`, in the unit `stored`.

    Raises
    ------
    UnitError
        If the unit is unknown or measures something else; names the units that would do.

    Examples
    --------
    >>> round(convert(110, "in-lb", "N.m"), 2)
    12.43
    """
    unit = _UNIT_OF.get(_plain_unit(written))
    fitting = FACTORS[stored]
    if unit not in fitting:
        raise UnitError(f"'{written}' is not a unit for this; write {' or '.join(fitting)}")
    return number * fitting[unit]


def parse_quantity(text: str, stored: str) -> float:
    """Return the number in `text`, in the unit `stored`; without a unit it is taken as stored.

    Whole numbers, decimals and fractions are understood, and feet with inches: ``3 mm``, ``1/8 in``, ``1 7/8 in``,
    ``1-1/2 in``, ``1½ in``, ``110 in-lb``, ``80 in lbs``, ``9 N-m``, ``5' 6"``, ``5 ft 6 1/2 in``.

    Raises
    ------
    UnitError
        If the text is not a number, or its unit does not fit.

    Examples
    --------
    >>> parse_quantity("1/8 in", "mm"), parse_quantity("5 ft 6 in", "mm")
    (3.175, 1676.4)
    """
    return read_quantity(text, stored)[0]


def read_quantity(text: str, stored: str) -> tuple[float, str]:
    """Return what `parse_quantity` does, and the unit in which it was written, its last one; empty where there is none.

    Examples
    --------
    >>> read_quantity("5' 6", "mm")
    (1676.4, 'in')
    """
    if re.search(r"\d,\d", text):
        raise UnitError(f"'{text[:_MOST_LETTERS]}' has a comma; write decimals with a point")
    plain = _plain_number(text)
    sign, plain = (-1, plain[1:]) if plain.startswith("-") else (1, plain.removeprefix("+"))
    if feet := _FEET.fullmatch(plain):
        *number, unit, rest = feet.groups()
        if rest and len(text) <= _MOST_LETTERS:
            return sign * (convert(_number(number, text), unit, stored) + _inches(rest, text, stored)), "in"
    match = _PART.fullmatch(plain)
    if not match or len(text) > _MOST_LETTERS:
        raise _not_a_number(text)
    *number, unit = match.groups()
    amount = sign * _number(number, text)
    return (convert(amount, unit, stored), unit.strip()) if unit else (amount, "")


def _inches(rest: str, text: str, stored: str) -> float:
    """Return the inches after the feet; they may stand without their unit."""
    match = _PART.fullmatch(rest)
    if not match:
        raise _not_a_number(text)
    *number, unit = match.groups()
    inches = _number(number, text)
    if _UNIT_OF.get(_plain_unit(unit or "in")) != "in" or inches >= INCHES_OF_A_FOOT:
        raise UnitError(f"'{text}' is not feet and inches; write it as 5 ft 6 in, the inches below 12")
    return convert(inches, "in", stored)


def _number(groups: Sequence[Any], text: str) -> float:
    """Return the number that the six groups of a match hold: whole and part, a fraction alone, or decimals."""
    whole, top, bottom, numerator, denominator, decimal = groups
    try:
        if decimal:
            return float(decimal)
        if numerator:
            return float(Fraction(int(numerator), int(denominator)))
        part = Fraction(int(top), int(bottom))
    except ZeroDivisionError:
        raise UnitError(f"'{text}' divides by zero") from None
    if part >= 1:
        raise UnitError(f"'{text}' has a fraction of 1 or more after a whole number; write it as 1 1/2")
    return int(whole) + float(part)


def _plain_number(text: str) -> str:
    """Return the text with one sort of marks, and printed fractions such as ½ written out."""
    text = text.translate(_MARKS).strip()
    return re.sub("[¼-¾⅐-⅞]", lambda one: f" {normalize('NFKC', one[0])} ", text).replace("⁄", "/").strip()


def _plain_unit(written: str) -> str:
    """Return a unit in small letters, its parts joined by a hyphen."""
    return re.sub(r"[\s.·*-]+", "-", written.translate(_MARKS).strip().lower()).strip("-")


def _not_a_number(text: str) -> UnitError:
    return UnitError(f"'{text[:_MOST_LETTERS]}' is not a number; write it as 12.5, 1/8 in or 110 in-lb")
