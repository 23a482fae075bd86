"""Figures as people read them: no finer than they are known, with the signs of the language spoken."""

from __future__ import annotations

import math
import re
from decimal import Decimal

from valuation.facts.units import FACTORS
from valuation.facts.visit import Range
from valuation.language import later, number_signs, numeral, say

IMPERIAL = {"N.m": "in-lb", "mm": "in"}
"""Stored unit -> unit shown where inches and pounds are wanted; the others are the same everywhere."""

_UNITS = {
    "N.m": "N·m",
    "count": "",
    "deg": later("degrees"),
    "cents": later("cents"),
    "swings": later("swings"),
    "in": later("in"),
    "years": later("years"),
    "share/year": later("share/year"),
    "money": later("money"),
    "money/h": later("money/h"),
}
"""Unit -> how people write it, where that differs from the tables or from language to language."""


def money(amount: float, currency: str = "") -> str:
    """Return an amount to two significant digits and a half step, with thin grouping.

    Examples
    --------
    >>> money(14639, "EUR")
    '14,500 EUR'
    >>> money(-251)
    '-250'
    """
    text = exact(honest(amount))
    text = "0" if text == "-0" else text
    return f"{text} {currency}" if currency else text


def exact(amount: float | Decimal) -> str:
    """Return an amount in whole units: figures that a reader adds up.

    Examples
    --------
    >>> exact(14639.2)
    '14,639'
    """
    return numeral(f"{amount:,.0f}")


def cents(amount: float | Decimal) -> str:
    """Return an amount to the cent: tax, and what holds it.

    Examples
    --------
    >>> cents(13145.9)
    '13,145.90'
    """
    return numeral(f"{amount:,.2f}")


def honest(amount: float) -> float:
    """Round to two significant digits and a half step of the second: 14,639 to 14,500.

    Examples
    --------
    >>> honest(14639), honest(1474), honest(87)
    (14500.0, 1450.0, 87.0)
    """
    if abs(amount) < 1:
        return 0.0
    step = 10 ** (math.floor(math.log10(abs(amount))) - 1) / 2
    return round(amount / step) * step


def money_range(band: Range) -> str:
    """Return a band as 'low to high'."""
    return low_to_high(money(band.low), money(band.high))


def years_range(band: Range) -> str:
    """Return years as 'low to high', whole years."""
    return low_to_high(f"{round(band.low)}", f"{round(band.high)}")


def low_to_high(low: str, high: str) -> str:
    """Return a range of two shown figures; one of them where they are the same."""
    return low if low == high else say("{low} to {high}", low=low, high=high)


def of_100(share: float) -> str:
    """Return a chance as a count out of 100, never quite none or all unless it is.

    Examples
    --------
    >>> of_100(0.876), of_100(0.0001), of_100(0.9999), of_100(0.0)
    ('88 of 100', 'fewer than 1 of 100', 'more than 99 of 100', '0 of 100')
    """
    if 0 < share < 0.005:
        return say("fewer than 1 of 100")
    if 0.995 <= share < 1:
        return say("more than 99 of 100")
    return say("{count} of 100", count=round(share * 100))


def percent(share: float) -> str:
    """Return a share in whole per cent.

    Examples
    --------
    >>> percent(0.187)
    '19%'
    """
    return say("{number}%", number=f"{100 * share:.0f}")


def rate_words(rate: float | Decimal) -> str:
    """Return a rate of tax as it is set, never rounded to whole per cent.

    Examples
    --------
    >>> rate_words(0.19), rate_words(0.081), rate_words(Decimal("0.08875"))
    ('19%', '8.1%', '8.875%')
    """
    shown = (Decimal(str(rate)) * 100).normalize()
    return say("{number}%", number=numeral(f"{shown:f}"))


def number(value: float) -> str:
    """Return a measured number with at most two decimals, none if it is whole.

    Examples
    --------
    >>> number(12.4283), number(3.0), number(0.3)
    ('12.43', '3', '0.3')
    """
    return numeral(f"{value:.2f}".rstrip("0").rstrip("."))


def typed_numeral(text: str) -> str:
    """Return what was typed with its number as files write it: '3,5 mm' is '3.5 mm' where commas part decimals.

    Raises
    ------
    ValueError
        If a sign stands where thousands could be meant, such as '1.250' where points part them.
    """
    decimal, group = number_signs()
    if (decimal, group) == (".", ","):
        return text
    if re.search(rf"(?<![\d.,])[1-9]\d{{0,2}}[{re.escape(group)}']\d{{3}}(?!\d)", text):
        raise ValueError(say("'{text}': write the number without a sign between thousands", text=text[:40]))
    return re.sub(r"(?<=\d),(?=\d)", ".", text)  # where points part decimals, as in Switzerland, commas do too


def shown_unit(stored: str, system: str) -> str:
    """Return the unit that a stored unit is shown in; `system` is 'metric' or 'imperial'."""
    return IMPERIAL.get(stored, stored) if system == "imperial" else stored


def unit_words(stored: str, system: str = "metric") -> str:
    """Return the unit shown, as people write it; counts have none."""
    return say(_UNITS.get(unit := shown_unit(stored, system), unit))


def plain_measure(value: float, stored: str, system: str = "metric") -> str:
    """Return a measured number without its unit, to three significant digits.

    Examples
    --------
    >>> plain_measure(12.4283, "N.m", "imperial"), plain_measure(2.2, "mm"), plain_measure(-110, "cents")
    ('110', '2.2', '-110')
    """
    shown = value / FACTORS[stored][shown_unit(stored, system)]
    text = f"{shown:.{_decimals(shown)}f}"
    return numeral(text.rstrip("0").rstrip(".") if "." in text else text)


def apart(by: float, value: float, stored: str, system: str = "metric") -> str:
    """Return by how much a measured number misses, with its unit, no finer than the number itself is shown.

    Examples
    --------
    >>> apart(0.398, 10.9, "N.m"), apart(0.004, 11.3, "N.m"), apart(0.6, 9.4, "cents")
    ('0.4 N·m', 'less than 0.1 N·m', '0.6 cents')
    """
    scale = FACTORS[stored][shown_unit(stored, system)]
    step = Decimal(1).scaleb(-_decimals(value / scale))
    shown = Decimal(repr(by / scale)).quantize(step)
    text = f"{shown or step:f}"
    plain = text.rstrip("0").rstrip(".") if "." in text else text
    amount = f"{numeral(plain)} {unit_words(stored, system)}".strip()
    return amount if shown else say("less than {amount}", amount=amount)


def _decimals(shown: float) -> int:
    """Return how many decimals three significant digits of a number have."""
    return max(0, 2 - math.floor(math.log10(abs(shown)))) if shown else 0


def measure(value: float, stored: str, system: str = "metric") -> str:
    """Return a measured number with its unit; counts have none.

    Examples
    --------
    >>> measure(12.4283, "N.m", "imperial"), measure(3.5, "N.m"), measure(12, "count")
    ('110 in-lb', '3.5 N·m', '12')
    """
    return f"{plain_measure(value, stored, system)} {unit_words(stored, system)}".strip()
