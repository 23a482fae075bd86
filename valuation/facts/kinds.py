"""Kinds of values: what one may hold, and what is wrong with any other, in words.

A value comes as JSON or TOML has it: text, number, truth value, list or table. Nothing here knows the shop's tables:
whether there is such a check or feature is asked where the tables are at hand.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from math import inf
from typing import Any

from valuation.errors import quoted
from valuation.language import later, numeral, say

NUMBER_MOST = 1e12
"""No figure of a piano, its work or its price is larger."""

LINE, TEXT = 300, 50_000
"""Letters of a text on one line, and of one of several."""

FIRST_DAY = date(1700, 1, 1)
"""Nothing about a piano has an earlier day."""

YEARS_AHEAD = 10
"""No day lies farther ahead of the day on which it is entered."""

MOST_ITEMS = 2000
"""A longer list is a mistake: a piano has some 230 strings."""

_DEEPEST = 12

HALF_LETTER = later("the text holds half a letter, which no screen can show; write it anew")


def last_day(entered: date) -> date:
    """Return the last day that may be told on a day.

    Examples
    --------
    >>> last_day(date(2026, 5, 4)), last_day(date(9990, 1, 1))
    (datetime.date(2036, 5, 4), datetime.date(9999, 12, 31))
    """
    year = entered.year + YEARS_AHEAD
    if year > date.max.year:
        return date.max
    leap_day = (entered.month, entered.day) == (2, 29)
    return (entered - timedelta(days=leap_day)).replace(year=year)


def plain_number(value: Any) -> float | None:
    """Return a number as a float; None for anything else, and for NaN, the infinities and truth values."""
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not abs(value) <= NUMBER_MOST:
        return None
    return float(value)


def why_not_words(text: str, letters: int, *, lines: bool) -> str:
    """Return what is wrong with a text, empty if nothing."""
    if text.isprintable() and len(text) <= letters:  # nearly all, and far quicker than letter by letter
        return ""
    allowed = "\n\r\t" if lines else "\t"
    if any((ord(letter) < 32 and letter not in allowed) or ord(letter) == 127 for letter in text):
        return say("the text holds a line break or control character; write it on one line")
    if len(text) > letters:
        return say("the text has {count} letters; the most is {most}", count=numeral(f"{len(text):,}"),
                   most=numeral(f"{letters:,}"))  # fmt: skip
    return _why_no_letters(text)


def _why_no_letters(text: str) -> str:
    return say(HALF_LETTER) if not text.isascii() and any("\ud800" <= letter <= "\udfff" for letter in text) else ""


class Kind:
    """A kind of values. Whatever is told of a field that isn't declared may be anything that can be shown."""

    def why_not(self, value: Any, entered: date) -> str:
        """Return what is wrong with a value, empty if nothing.

        Parameters
        ----------
        value : object
            As JSON or TOML has it; never None, which stands for what is not known.
        entered : date
            On which day it is told: days may lie only so far ahead of it.
        """
        return _why_not_plain(value, entered, 0)


def _why_not_plain(value: Any, entered: date, depth: int) -> str:
    match value:
        case bool() | None:
            return ""
        case str():
            return _why_no_letters(value)
        case int() | float():
            return "" if plain_number(value) is not None else f"{quoted(value)} is not a number of any use"
        case list() | Mapping() if depth == _DEEPEST:
            return "it is a table within tables without end"
        case list():
            items = value
        case Mapping():
            items = [*value, *value.values()]
        case _:
            return f"{quoted(value)} is no text, number, list or table"
    return next((fault for item in items if (fault := _why_not_plain(item, entered, depth + 1))), "")


@dataclass(frozen=True, slots=True)
class Words(Kind):
    """A text; `lines` says whether it may have several."""

    letters: int = LINE
    lines: bool = False

    def why_not(self, value: Any, entered: date) -> str:  # noqa: ARG002
        """Return what is wrong with a value, empty if nothing."""
        if not isinstance(value, str):
            return f"{quoted(value)} is not text; write it in quotation marks"
        return why_not_words(value, self.letters, lines=self.lines)


@dataclass(frozen=True, slots=True)
class OneOf(Kind):
    """One of a few words; `what` names them."""

    choices: tuple[str, ...]
    what: str

    def why_not(self, value: Any, entered: date) -> str:  # noqa: ARG002
        """Return what is wrong with a value, empty if nothing."""
        if isinstance(value, str) and value in self.choices:
            return ""
        return f"{quoted(value)} is not a {self.what}; write {' or '.join(map(quoted, self.choices))}"


@dataclass(frozen=True, slots=True)
class Flag(Kind):
    """True or false; `usual` where nothing is said."""

    usual: bool = False

    def why_not(self, value: Any, entered: date) -> str:  # noqa: ARG002
        """Return what is wrong with a value, empty if nothing."""
        if isinstance(value, bool):
            return ""
        return f"{quoted(value)} is neither true nor false; write true or false, without quotation marks"


@dataclass(frozen=True, slots=True)
class Number(Kind):
    """A finite number from `low` to `high`, and above `above`; `unit` ends the message."""

    low: float = -inf
    high: float = inf
    above: float = -inf
    unit: str = ""

    def why_not(self, value: Any, entered: date) -> str:  # noqa: ARG002
        """Return what is wrong with a value, empty if nothing."""
        number = plain_number(value)
        if number is None:
            return f"{quoted(value)} is not a number; write it like 4 or 4.5, without quotation marks"
        if self.low <= number <= self.high and number > self.above:
            return ""
        shown, low, high = (numeral(f"{bound:g}") for bound in (number, max(self.low, self.above), self.high))
        unit = say(self.unit) if self.unit else ""
        if self.above > -inf:
            return say("{number} is out of range; it must be above {low}", number=shown, low=low) + unit
        if self.high == inf:
            return say("{number} is out of range; it must be at least {low}", number=shown, low=low) + unit
        return say("{number} is out of range; write {low} to {high}", number=shown, low=low, high=high) + unit


@dataclass(frozen=True, slots=True)
class Whole(Kind):
    """A whole number from `low` to `high`."""

    low: int
    high: int

    def why_not(self, value: Any, entered: date) -> str:  # noqa: ARG002
        """Return what is wrong with a value, empty if nothing."""
        if isinstance(value, bool) or not isinstance(value, int):
            return f"{quoted(value)} is not a whole number; write it like {self.high}, without quotation marks"
        if not self.low <= value <= self.high:
            shown = value if abs(value) < NUMBER_MOST else quoted(value)
            return say("{number} is out of range; write {low} to {high}", number=shown, low=self.low, high=self.high)
        return ""


@dataclass(frozen=True, slots=True)
class Day(Kind):
    """A day, as text such as ``2026-05-04``: from `first` on, and not too far ahead."""

    first: date = FIRST_DAY

    def why_not(self, value: Any, entered: date) -> str:
        """Return what is wrong with a value, empty if nothing."""
        day = day_of(value)
        if day is None:
            return f"{quoted(value)} is not a day; write it like 2026-05-04"
        if day > (last := last_day(entered)):
            return say("{day} lies more than {years} years ahead; write a day up to {last}", day=day, years=YEARS_AHEAD,
                       last=last)  # fmt: skip
        return say("{day} is too long ago; check the year", day=day) if day < self.first else ""


def day_of(value: Any) -> date | None:
    """Return a day written as ``2026-05-04``; None for anything else."""
    try:
        return date.fromisoformat(value) if isinstance(value, str) and len(value) == 10 else None
    except ValueError:
        return None


@dataclass(frozen=True, slots=True)
class Listed(Kind):
    """A list of values of one kind, of so many at most; `what` names it, `once` a key that tells its tables apart."""

    of: Kind
    most: int = MOST_ITEMS
    what: str = "list of names; write it like ['one', 'two']"
    once: str = ""

    def why_not(self, value: Any, entered: date) -> str:
        """Return what is wrong with a value, empty if nothing."""
        if not isinstance(value, list):
            return f"{quoted(value)} is not a {self.what}"
        if len(value) > self.most:
            return f"the list has {len(value):,} items; the most is {self.most:,}"
        fault = next((fault for item in value if (fault := self.of.why_not(item, entered))), "")
        if fault or not self.once:
            return fault
        names = [item[self.once] for item in value]
        return next((f"{quoted(n)} stands twice in the {self.what}" for i, n in enumerate(names) if n in names[:i]), "")


@dataclass(frozen=True, slots=True)
class Row(Kind):
    """A list with a value of its own kind in each place."""

    cells: tuple[Kind, ...]

    def why_not(self, value: Any, entered: date) -> str:
        """Return what is wrong with a value, empty if nothing."""
        if not isinstance(value, list) or len(value) != len(self.cells):
            return f"{quoted(value)} is not a row of {len(self.cells)} cells"
        pairs = zip(self.cells, value, strict=True)
        return next((fault for kind, cell in pairs if (fault := kind.why_not(cell, entered))), "")


@dataclass(frozen=True, slots=True)
class Table(Kind):
    """A table with a kind for each key; `needed` are the keys that it can't be without.

    A key that isn't declared may belong to a later version: it is left alone, as far as it can be shown. A key that
    holds null is not there.
    """

    keys: Mapping[str, Kind] = field(default_factory=dict)
    needed: Collection[str] = ()
    rest: Kind = Kind()

    def why_not(self, value: Any, entered: date) -> str:
        """Return what is wrong with a value, empty if nothing."""
        if not isinstance(value, Mapping):
            return f"{quoted(value)} is not a table with {', '.join(self.keys)}"
        for key in self.needed:
            if value.get(key) is None:
                return f"{quoted(key)} is missing in it"
        for key, item in value.items():
            fault = _why_not_plain(key, entered, 0)
            if not fault and item is not None:
                fault = self.keys.get(key, self.rest).why_not(item, entered)
            if fault:
                return f"{quoted(key)}: {fault}"
        return ""


@dataclass(frozen=True, slots=True)
class Either(Kind):
    """A value of the first kind that it fits; the fault told is that of the last."""

    kinds: tuple[Kind, ...]

    def why_not(self, value: Any, entered: date) -> str:
        """Return what is wrong with a value, empty if nothing."""
        faults = [kind.why_not(value, entered) for kind in self.kinds]
        return "" if "" in faults else faults[-1]
