"""Hours and money as they are typed, into figures or into words that say what is wrong."""

from __future__ import annotations

import re

from valuation.language import say
from valuation.report.format import typed_numeral

_NUMBER = re.compile(r"\d+(\.\d+)?|\.\d+")
_MOST_HOURS, _MOST_HOURS_A_MONTH = 1000.0, 100_000.0
_MOST_MONEY = 1e7


def read_hours(text: str) -> tuple[float, str]:
    """Return typed hours and what is wrong with them, empty if nothing.

    Examples
    --------
    >>> read_hours("2.5 h"), read_hours("1:30")
    ((2.5, ''), (1.5, ''))
    >>> read_hours("much")[1]
    "'much' is not a time; write hours such as 2.5, or 1:30"
    """
    plain = text.strip().lower().removesuffix("h").strip()
    try:
        plain = typed_numeral(plain)
    except ValueError as fault:
        return 0.0, str(fault)
    whole, colon, minutes = plain.partition(":")
    if colon and whole.isdecimal() and minutes.isdecimal() and len(minutes) == 2 and int(minutes) < 60:
        hours = int(whole) + int(minutes) / 60
    elif _NUMBER.fullmatch(plain):
        hours = float(plain)
    else:
        return 0.0, say("'{text}' is not a time; write hours such as 2.5, or 1:30", text=text.strip()[:20])
    if not 0 < hours < _MOST_HOURS:
        return 0.0, say("'{text}': enter more than 0 and fewer than 1000 hours at once", text=text.strip()[:20])
    return hours, ""


def read_hours_a_month(text: str) -> tuple[float | None, str]:
    """Return hours that a shop can do in a month, None where nothing was typed, and what is wrong with them.

    Examples
    --------
    >>> read_hours_a_month("240"), read_hours_a_month("")
    ((240.0, ''), (None, ''))
    >>> read_hours_a_month("many")[1]
    "'many' is not a number of hours; write one such as 240"
    """
    try:
        hours = float(typed_numeral(text.strip())) if text.strip() else None
    except ValueError:
        hours = -1.0
    if hours is None or 0 < hours < _MOST_HOURS_A_MONTH:
        return hours, ""
    return None, say("'{text}' is not a number of hours; write one such as 240", text=text.strip()[:20])


def read_money(text: str, *, signed: bool = False) -> tuple[float | None, str]:
    """Return a typed sum, None where nothing was typed, and what is wrong with it, empty if nothing.

    Parameters
    ----------
    signed : bool
        It may be less than nothing.

    Examples
    --------
    >>> read_money("4200"), read_money(" "), read_money("-50", signed=True)
    ((4200.0, ''), (None, ''), (-50.0, ''))
    >>> read_money("a lot")[1]
    "'a lot' is not a sum; write a number such as 4200"
    """
    plain = text.strip().replace("\u2009", "").replace("\u202f", "")
    if not plain:
        return None, ""
    less = signed and plain[0] in "-\u2212"
    wrong = say("'{text}' is not a sum; write a number such as 4200", text=plain[:20])
    try:
        numeral = typed_numeral(plain[1:].strip() if less else plain)
    except ValueError as fault:
        return None, str(fault)
    if not _NUMBER.fullmatch(numeral) or float(numeral) >= _MOST_MONEY:
        return None, wrong
    return (-1 if less else 1) * float(numeral), ""
