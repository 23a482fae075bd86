"""One table of a visit file, read key by key; every fault is told with its dotted key and line."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import replace
from datetime import date
from typing import Any

from valuation.errors import quoted
from valuation.facts import units
from valuation.facts.kinds import LINE, Flag, Kind, Number, Whole, Words, plain_number
from valuation.facts.units import UnitError, convert
from valuation.files.faults import did_you_mean

Tell = Callable[[str, str], None]

_LINE = Words(LINE)


class AnswerError(ValueError):
    """The value is not what is asked; the message says what to write instead."""


class Section:
    """A table of the file. What is asked of it is what it may hold: `tell_unknown_keys` tells the rest.

    Parameters
    ----------
    content : object
        What the file holds in its place; anything but a table is told.
    path : str
        Dotted key of the table, empty for the file itself.
    tell : callable
        Takes the dotted key and the message of a fault.
    """

    def __init__(self, content: Any, path: str, tell: Tell) -> None:
        self.path, self._tell = path, tell
        self._asked: list[str] = []
        self.content: dict[str, Any] = content if isinstance(content, dict) else {}
        if not isinstance(content, dict):
            tell(path, f"write it as a table: [{path}] and below it key = value")

    def tell(self, key: str, message: str) -> None:
        """Tell a fault of one key."""
        self._tell(f"{self.path}.{key}" if self.path else key, message)

    def ask(self, key: str) -> Any:
        """Return the raw value of a key, None where it is missing."""
        self._asked.append(key)
        return self.content.get(key)

    def need(self, key: str, hint: str) -> bool:
        """Tell a key that is missing; return whether it is there."""
        if key not in self.content:
            self.tell(key, f"it is missing; {hint}")
        return key in self.content

    def section(self, key: str) -> Section:
        """Return a table within this one; empty where it is missing."""
        content = self.ask(key)
        return Section({} if content is None else content, f"{self.path}.{key}" if self.path else key, self._tell)

    def fits(self, key: str, kind: Kind) -> Any:
        """Return the value of a key, None where it is missing or told not to be of its kind."""
        value = self.ask(key)
        if value is None:
            return None
        if fault := kind.why_not(value, date.max):  # how far ahead a day may lie is for `day`
            self.tell(key, fault)
            return None
        return value

    def words(self, key: str, kind: Words = _LINE) -> str:
        """Return a text, empty where it is missing or at fault."""
        return self.fits(key, kind) or ""

    def choice(self, key: str, choices: Collection[str], what: str) -> str:
        """Return one of the words allowed, empty where it is missing or none of them."""
        word = self.words(key)
        if word and word not in choices:
            self.tell(key, f"{quoted(word)} is not a {what}{did_you_mean(word, choices)}")
            return ""
        return word

    def flag(self, key: str, kind: Flag) -> bool:
        """Return true or false, what is usual where it is missing or at fault."""
        value = self.fits(key, kind)
        return kind.usual if value is None else value

    def number(self, key: str, kind: Number) -> float | None:
        """Return a number, None where it is missing or at fault."""
        value = self.fits(key, kind)
        return None if value is None else float(value)

    def whole(self, key: str, kind: Whole, *, low: int | None = None, high: int | None = None) -> int | None:
        """Return a whole number, between narrower bounds where they are given; None where missing or at fault."""
        narrower = replace(kind, low=max(kind.low, low or kind.low), high=min(kind.high, high or kind.high))
        return self.fits(key, narrower)

    def length_mm(self, key: str, low: float, high: float) -> float | None:
        """Return a length [mm], from text with its unit or a bare number; None where missing or at fault."""
        value = self.ask(key)
        if value is None:
            return None
        try:
            return read_quantity(value, "mm", low, high)
        except AnswerError as fault:
            self.tell(key, str(fault))
        return None

    def day(self, key: str, first: date, last: date) -> date | None:
        """Return a day, None where it is missing or at fault."""
        value = self.ask(key)
        if type(value) is not date:  # a moment is a date too, but not a day
            if value is not None:
                self.tell(key, f"{quoted(value)} is not a day; write it like 2026-05-04, without quotation marks")
        elif value > last:
            self.tell(key, f"{value} is in the future; today is {last}")
        elif value < first:
            self.tell(key, f"{value} is too long ago; check the year")
        else:
            return value
        return None

    def names(self, key: str, choices: Collection[str], what: str) -> tuple[str, ...]:
        """Return a list of names, each of them allowed and given once; names at fault are left out."""
        value = self.ask(key)
        if value is None:
            return ()
        if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
            self.tell(key, f"{quoted(value)} is not a list of names; write it like ['one', 'two']")
            return ()
        for name in dict.fromkeys(value):
            if name not in choices:
                self.tell(key, f"{quoted(name)} is not a {what}{did_you_mean(name, choices)}")
            elif value.count(name) > 1:
                self.tell(key, f"{quoted(name)} stands twice; write it once")
        return tuple(name for name in dict.fromkeys(value) if name in choices)

    def tell_unknown_keys(self, known: Iterable[str] = ()) -> None:
        """Tell every key that nothing has asked for; `known` are names to offer beside those asked for."""
        for key in self.content:
            if key not in self._asked:
                self.tell(key, f"{quoted(key)} is not known here{did_you_mean(key, [*self._asked, *known])}")


def read_quantity(value: Any, stored: str, low: float, high: float, written: str = "") -> float:
    """Return a number in the unit `stored`, from text with a unit or a bare number.

    Parameters
    ----------
    value : object
        Text such as ``'1/8 in'``, or a number.
    stored : str
        Unit of the result.
    low, high : float
        Range allowed, in the unit stored.
    written : str, optional
        Unit of a bare number; the unit stored if left out.

    Raises
    ------
    AnswerError
        If it is no number, its unit doesn't fit, or it is out of range; the range is told in the unit written.
    """
    written = written or stored
    try:
        if not isinstance(value, str):
            if plain_number(value) is None:
                raise AnswerError(f"{quoted(value)} is not a number; write it like 4.5 or '1/8 in'")
            number = convert(float(value), written, stored)
        else:
            number, unit = units.read_quantity(value, stored)
            number, written = (number, unit) if unit else (convert(number, written, stored), written)
        one = convert(1, written, stored)
    except UnitError as fault:
        raise AnswerError(str(fault)) from None
    if not low <= number <= high:
        raise AnswerError(f"{quoted(value)} is out of range; write {low / one:.4g} to {high / one:.4g} {written}")
    return number
