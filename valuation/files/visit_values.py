"""One table of a visit file, read key by key; every fault is told with its dotted key and line."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from datetime import date
from math import inf
from typing import Any

from valuation.facts import units
from valuation.facts.units import UnitError, convert
from valuation.files.faults import did_you_mean, quoted

Tell = Callable[[str, str], None]

NUMBER_MOST = 1e12
MOST_LETTERS = {"line": 300, "text": 50_000}


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

    def words(self, key: str, *, length: str = "line") -> str:
        """Return a text, empty where it is missing; a 'line' has no line breaks."""
        value = self.ask(key)
        if value is None:
            return ""
        if not isinstance(value, str):
            self.tell(key, f"{quoted(value)} is not text; write it in quotation marks")
            return ""
        if fault := why_not_words(value, length):
            self.tell(key, fault)
            return ""
        return value

    def choice(self, key: str, choices: Collection[str], what: str) -> str:
        """Return one of the words allowed, empty where it is missing or none of them."""
        word = self.words(key)
        if word and word not in choices:
            self.tell(key, f"{quoted(word)} is not a {what}{did_you_mean(word, choices)}")
            return ""
        return word

    def flag(self, key: str, *, usual: bool) -> bool:
        """Return true or false, `usual` where it is missing."""
        value = self.ask(key)
        if value is None or isinstance(value, bool):
            return usual if value is None else value
        self.tell(key, f"{quoted(value)} is neither true nor false; write true or false, without quotation marks")
        return usual

    def number(
        self, key: str, low: float = -inf, high: float = inf, *, above: float = -inf, what: str = ""
    ) -> float | None:
        """Return a number within its range, None where it is missing or at fault; `what` names its unit."""
        value = self.ask(key)
        if value is None:
            return None
        number = plain_number(value)
        if number is None:
            self.tell(key, f"{quoted(value)} is not a number; write it like 4 or 4.5, without quotation marks")
        elif not (low <= number <= high and number > above):
            self.tell(key, f"{number:g} is out of range; {_range(low, high, above)}{what}")
        else:
            return number
        return None

    def whole(self, key: str, low: int, high: int) -> int | None:
        """Return a whole number within its range, None where it is missing or at fault."""
        value = self.ask(key)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int):
            self.tell(key, f"{quoted(value)} is not a whole number; write it like {high}, without quotation marks")
        elif not low <= value <= high:
            self.tell(key, f"{value} is out of range; write {low} to {high}")
        else:
            return value
        return None

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


def plain_number(value: Any) -> float | None:
    """Return a number as a float; None for anything else, and for NaN, the infinities and truth values."""
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not abs(value) <= NUMBER_MOST:
        return None
    return float(value)


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


def why_not_words(text: str, length: str) -> str:
    """Return what is wrong with a text, empty if nothing; `length` is 'line' or 'text'."""
    allowed = "\n\r\t" if length == "text" else "\t"
    if any((ord(letter) < 32 and letter not in allowed) or ord(letter) == 127 for letter in text):
        return "the text holds a line break or control character; write it on one line"
    if len(text) > MOST_LETTERS[length]:
        return f"the text has {len(text):,} letters; the most is {MOST_LETTERS[length]:,}"
    return ""


def _range(low: float, high: float, above: float) -> str:
    if above > -inf:
        return f"it must be above {above:g}"
    return f"it must be at least {low:g}" if high == inf else f"write {low:g} to {high:g}"
