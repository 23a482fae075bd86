"""How prices moved: a dated table that brings a price of one day to another."""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from pathlib import Path

from valuation.errors import Problem, UserError
from valuation.facts.columns import column
from valuation.files.plain_text import read_text
from valuation.files.read_csv import read_table

MOST_BYTES = 1_000_000
"""A larger file is not read [bytes]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class IndexRow:
    """Prices on one day, as a multiple of those on any other day of the table."""

    on: date = column("day")
    upright: float = column("level of uprights' prices on that day", above=0)
    grand: float = column("level of grands' prices on that day", above=0)
    source: str = column("where the level comes from")
    note: str = column("anything the next person should know", default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceIndex:
    """The levels by day, and where they stand. Between two days prices move evenly, outside them not at all.

    Attributes
    ----------
    rows : tuple of IndexRow
        By day; none means that prices are not moved.
    places : tuple of str
        ``file:line`` of each row.
    """

    rows: tuple[IndexRow, ...] = ()
    places: tuple[str, ...] = ()

    def factor(self, kind: str, since: date, until: date) -> float:
        """Return by how much prices rose from one day to another.

        Parameters
        ----------
        kind : str
            ``upright`` or ``grand``.
        since, until : date
            The two days, in any order.

        Returns
        -------
        float
            Level on the later-named day over that on the first; 1 is not at all [-].
        """
        return math.exp(self._level(kind, until) - self._level(kind, since)) if self.rows else 1.0

    def places_of(self, since: date, until: date) -> tuple[str, ...]:
        """Return the rows that `factor` reads for two days, as ``file:line`` in the order of the file."""
        around = {index for day in (since, until) for index in self._around(day)} if self.rows else set()
        return tuple(self.places[index] for index in sorted(around))

    def _around(self, day: date) -> tuple[int, int]:
        after = bisect_right([row.on for row in self.rows], day)
        return max(after - 1, 0), min(after, len(self.rows) - 1)

    def _level(self, kind: str, day: date) -> float:
        before, after = (self.rows[index] for index in self._around(day))
        low, high = (math.log(getattr(row, kind)) for row in (before, after))
        days = (after.on - before.on).days
        return low + (high - low) * ((day - before.on).days / days if days else 0.0)


def read_price_index(path: Path) -> PriceIndex:
    """Read a price index.

    Parameters
    ----------
    path : Path
        A CSV file with the columns of `IndexRow`, the days rising.

    Returns
    -------
    PriceIndex
        The rows, each with its place.

    Raises
    ------
    UserError
        With every fault of a cell, and if the days don't rise or there is no row.
    """
    text, problems = read_text(path, most_bytes=MOST_BYTES)
    if problems:
        raise UserError(problems)
    return parse_price_index(text, path.name)


def parse_price_index(text: str, name: str) -> PriceIndex:
    """Return the price index that a text holds; as `read_price_index`.

    Parameters
    ----------
    text : str
        A line of column names, then one line for each day.
    name : str
        Name of the file, under which faults are told.

    Returns
    -------
    PriceIndex
        The rows, each with its place.

    Raises
    ------
    UserError
        As `read_price_index`.
    """
    rows, problems = read_table(text, name, IndexRow)
    for (_, before), (line, after) in pairwise(rows):
        if after.on <= before.on:
            message = f"{after.on} does not come after {before.on} of the row before; sort the rows by day"
            problems.append(Problem(name, line, "on", message))
    if not rows and not problems:
        problems.append(Problem(name, 0, "", "there is no row; add at least one day"))
    if problems:
        raise UserError(problems)
    return PriceIndex(rows=tuple(row for _, row in rows), places=tuple(f"{name}:{line}" for line, _ in rows))
