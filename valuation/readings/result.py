"""What comes of a measurement: figures, sentences, and findings with the grade that the tables give them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from valuation.engine.rows import CheckRow
from valuation.errors import Problem, UserError
from valuation.facts.visit import Finding
from valuation.language import numeral, say


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One figure, with how well it is known.

    Attributes
    ----------
    name : str
        What it is.
    value : float
        The figure; an `int` is shown as a count [unit].
    unit : str
        Its unit as people write it; empty where there is none.
    low, high : float or None
        Between these it lies; what they mean stands in `within` [unit].
    within : str
        What the range is: an error of measuring, or a bound.
    """

    name: str
    value: float
    unit: str
    low: float | None = None
    high: float | None = None
    within: str = ""

    @property
    def text(self) -> str:
        """The figure with unit and range, no finer than it is known."""
        return f"{_shown(self.value, self._decimals)}{' ' if self.unit else ''}{self.unit}{self._range}"

    @property
    def _decimals(self) -> int:
        if isinstance(self.value, int):
            return 0
        if self.low is None or self.high is None or self.high <= self.low:
            return max(0, 2 - math.floor(math.log10(abs(self.value)))) if self.value else 0
        return max(0, -math.floor(math.log10((self.high - self.low) / 2)))

    @property
    def _range(self) -> str:
        if self.low is None or self.high is None:
            return ""
        low, high = (_shown(end, self._decimals) for end in (self.low, self.high))
        if not self.within:
            return f" ({say('{low} to {high}', low=low, high=high)})"
        return f" ({say('{low} to {high}; {within}', low=low, high=high, within=self.within)})"


def _shown(value: float, decimals: int) -> str:
    text = f"{value:,.{decimals}f}"
    return numeral(text.removeprefix("-") if float(text.replace(",", "")) == 0 else text)


def give_or_take(name: str, value: float, unit: str, error: float, within: str = "") -> Figure:
    """Return a figure that lies within `error` of its value, either way."""
    return Figure(name=name, value=value, unit=unit, low=value - error, high=value + error, within=within)


@dataclass(frozen=True, slots=True, kw_only=True)
class Listing:
    """Figures key by key, section by section or note by note; the first cell of a row names it."""

    caption: str
    headers: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """Points that are better seen than read.

    Attributes
    ----------
    title, across, up : str
        What the chart shows, and its axes with their units.
    x, y : tuple of float
        The points [unit of the axis].
    marked : tuple of bool
        Points that stand out.
    limits : tuple of (str, float)
        Lines to compare with, each with its name, in the unit of the points.
    counted : bool
        The points are counted by size (a histogram of `x`); `y` is empty.
    """

    title: str
    across: str
    up: str
    x: tuple[float, ...]
    y: tuple[float, ...] = ()
    marked: tuple[bool, ...] = ()
    limits: tuple[tuple[str, float], ...] = ()
    counted: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Grade:
    """How one check reads.

    Attributes
    ----------
    check : CheckRow
        The row whose cut points grade it.
    number : float
        What the readings come to, in the unit of the check [unit].
    grade : str
        The severity that counts most.
    weights : tuple of float, length 4
        How much it counts for none, slight, marked and severe [-].
    """

    check: CheckRow
    number: float
    grade: str
    weights: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A finding that can be put into a visit, and what the tables make of it.

    Attributes
    ----------
    finding : Finding
        As a visit holds it.
    line : str
        The same as a line below ``[findings]`` of a visit file.
    grades : tuple of Grade
        Of the check itself first, then of those taken from its readings.
    """

    finding: Finding
    line: str
    grades: tuple[Grade, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What a measurement comes to.

    Attributes
    ----------
    title : str
        What was measured.
    figures : tuple of Figure
        With units and uncertainty.
    says, does_not_say : tuple of str
        What the figures mean, and what they must not be taken to mean; one sentence each.
    found : tuple of Found
        Findings for the visit, graded by the tables.
    listings : tuple of Listing
        Figures in detail.
    series : tuple of Series
        For charts.
    refused : tuple of Problem
        What could not be read while the rest could.
    """

    title: str
    figures: tuple[Figure, ...]
    says: tuple[str, ...]
    does_not_say: tuple[str, ...]
    found: tuple[Found, ...] = ()
    listings: tuple[Listing, ...] = ()
    series: tuple[Series, ...] = ()
    refused: tuple[Problem, ...] = ()


@contextmanager
def told_of(what: str) -> Iterator[None]:
    """Turn a number that can't be into a problem that a person can mend, told under `what`."""
    try:
        yield
    except ValueError as fault:
        raise UserError([Problem(what, 0, "", str(fault))]) from None
