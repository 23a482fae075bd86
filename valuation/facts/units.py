"""Units: what a technician writes, turned into what is stored.

Stored units are SI or the trade's own: torque in N.m, lengths in mm, weights on keys in g, pitch in cents.
Factors are exact by definition (international yard and pound; NIST SP 811, 2008, appendix B.8).
"""

from __future__ import annotations

import re
from fractions import Fraction

INCH_MM = 25.4
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
    "n·m": "N.m", "nm": "N.m", "n m": "N.m", "n.m": "N.m", "n*m": "N.m",
    "in-lb": "in-lb", "in·lb": "in-lb", "inlb": "in-lb", "in lb": "in-lb", "in-lbs": "in-lb", "in-lbf": "in-lb",
    "lbf.in": "in-lb", "lbf·in": "in-lb", "lb-in": "in-lb", "in.lb": "in-lb", "in. lb": "in-lb",
    "kgf.cm": "kgf.cm", "kgf·cm": "kgf.cm",
    "mm": "mm", "cm": "cm", "m": "m", "in": "in", '"': "in", "″": "in", "inch": "in", "inches": "in",
    "ft": "ft", "'": "ft", "feet": "ft", "foot": "ft",
    "g": "g", "kg": "kg", "oz": "oz", "cents": "cents", "cent": "cents", "ct": "cents", "%": "%", "percent": "%",
    "s": "s", "sec": "s", "seconds": "s", "deg": "deg", "°": "deg", "degrees": "deg",
    "count": "count", "swings": "swings", "swing": "swings",
}  # fmt: skip

_WRITTEN = re.compile(r"\s*([+-]?)\s*(?:(\d+)\s+(\d+)/(\d+)|(\d+)/(\d+)|(\d+(?:\.\d+)?|\.\d+))\s*([^\d\s].*)?")


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
    unit = _SPELLINGS.get(written.strip().lower())
    fitting = FACTORS[stored]
    if unit not in fitting:
        raise UnitError(f"'{written}' is not a unit for this; write {' or '.join(fitting)}")
    return number * fitting[unit]


def parse_quantity(text: str, stored: str) -> float:
    """Return the number in `text`, in the unit `stored`; without a unit it is taken as stored.

    Whole numbers, decimals and fractions are understood: ``3 mm``, ``1/8 in``, ``1 7/8 in``, ``110 in-lb``.

    Raises
    ------
    UnitError
        If the text is not a number, or its unit does not fit.

    Examples
    --------
    >>> parse_quantity("1/8 in", "mm")
    3.175
    """
    if re.search(r"\d,\d", text):
        raise UnitError(f"'{text[:40]}' has a comma; write decimals with a point")
    match = _WRITTEN.fullmatch(text)
    if not match or len(text) > 40:
        raise UnitError(f"'{text[:40]}' is not a number; write it as 12.5, 1/8 in or 110 in-lb")
    sign, whole, top, bottom, numerator, denominator, decimal, unit = match.groups()
    try:
        if decimal:
            number = float(decimal)
        elif numerator:
            number = float(Fraction(int(numerator), int(denominator)))
        else:
            number = int(whole) + float(Fraction(int(top), int(bottom)))
    except ZeroDivisionError:
        raise UnitError(f"'{text}' divides by zero") from None
    number = -number if sign == "-" else number
    return convert(number, unit, stored) if unit else number
