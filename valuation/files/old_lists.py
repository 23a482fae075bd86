"""Lists from before this tool: cells of a spreadsheet, which column is what, days and sums where they mean one thing.

Columns may be called anything: whoever brings a list in says which is which, `guessed` helps. `past_rows`, `past_hours`
and `past_prices` each read one kind of list by it.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from valuation.errors import Problem, quoted
from valuation.language import say

Row = tuple[int, Sequence[str]]
"""Row of the file, and its cells."""

Wrong = list[tuple[str, str]]
"""What is wrong with a row: target and message."""

_GERMAN_DAY = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})")
_ISO_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
_SUM = re.compile(r"\d+(?:\.\d+)?")


@dataclass(frozen=True, slots=True, kw_only=True)
class OldList:
    """What the columns of one kind of list can be.

    Attributes
    ----------
    targets : mapping of str to str
        What a column can be, and what that is called.
    needed : tuple of str
        Targets without which nothing can be read.
    names : mapping of str to tuple of str
        Words in the name of a column by which it is likely that.
    """

    targets: Mapping[str, str]
    needed: tuple[str, ...]
    names: Mapping[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class PastRow:
    """One row as it was written, and what it comes to.

    Attributes
    ----------
    line : int
        Row of the file.
    facts : dict of str to value
        Empty where anything is wrong with the row.
    """

    line: int
    facts: dict[str, Any]


def cells_of_text(text: str) -> tuple[list[str], list[tuple[int, list[str]]]]:
    r"""Return the head and the rows of a CSV text with the row of the file, cells parted by comma, semicolon or tab.

    Examples
    --------
    >>> cells_of_text("a;b\n1;2\n\n")
    (['a', 'b'], [(2, ['1', '2'])])
    """
    first = text.partition("\n")[0]
    delimiter = max(",;\t", key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    rows = [(reader.line_num, [" ".join(cell.split()) for cell in row]) for row in reader]
    head = rows[0][1] if rows else []
    return head, [(line, row) for line, row in rows[1:] if any(row)]


def guessed(head: Sequence[str], kind: OldList) -> dict[str, int]:
    """Return which column is likely what, by the words in its name; what can't be told is missing.

    Examples
    --------
    >>> prices = OldList(targets={}, needed=(), names={"price": ("price", "preis"), "unit": ("unit", "je")})
    >>> guessed(["Stoff", "je", "Preis netto"], prices)
    {'price': 2, 'unit': 1}
    """
    found: dict[str, int] = {}
    words = [set(re.findall(r"\w+", name.casefold())) for name in head]
    for target, names in kind.names.items():
        place = next((i for i, own in enumerate(words) if i not in found.values() and own & set(names)), None)
        if place is not None:
            found[target] = place
    return found


def read_rows(
    rows: Sequence[Row],
    head: Sequence[str],
    columns: Mapping[str, int],
    file: str,
    kind: OldList,
    read: Callable[[Mapping[str, str], Wrong], dict[str, Any]],
) -> tuple[list[PastRow], list[Problem]]:
    """Return what each row comes to, and every fault.

    Parameters
    ----------
    rows : sequence of (line, cells)
    head : sequence of str
        Names of the columns, under which faults are told.
    columns : mapping of target to place
        Which column is what.
    file : str
        Name of the file, under which faults are told.
    kind : OldList
    read : callable
        From the filled cells of a row by target to what it comes to; puts what is wrong into the list it is given.
    """
    faults = [
        Problem(file, 1, "", say("say which column is '{what}'", what=say(kind.targets[name])))
        for name in kind.needed
        if name not in columns
    ]
    if faults:
        return [], faults
    found = []
    for line, cells in rows:
        told = {target: cells[at] for target, at in columns.items() if at < len(cells) and cells[at].strip()}
        wrong: Wrong = [(target, say("the cell is empty; fill it in")) for target in kind.needed if target not in told]
        facts = read(told, wrong)
        faults += [Problem(file, line, head[columns[target]], message) for target, message in wrong]
        found.append(PastRow(line=line, facts={} if wrong else facts))
    return found, faults


def read_cells(told: Mapping[str, str], wrong: Wrong, read: Callable[[str, str], Any]) -> dict[str, Any]:
    """Return the value of each cell by target; what `read` refuses with ValueError goes into the list of faults."""
    return dict(_read_each(told, wrong, read))


def _read_each(told: Mapping[str, str], wrong: Wrong, read: Callable[[str, str], Any]) -> Iterator[tuple[str, Any]]:
    for target, text in told.items():
        try:
            yield target, read(target, text)
        except ValueError as fault:
            wrong.append((target, str(fault)))


def read_past_day(text: str) -> date:
    """Return a day as lists write it, where it can mean only one.

    Examples
    --------
    >>> read_past_day("2019-04-01"), read_past_day("1.4.2019")
    (datetime.date(2019, 4, 1), datetime.date(2019, 4, 1))
    """
    german = _GERMAN_DAY.fullmatch(text)
    try:
        if german:
            day, month, year = map(int, german.groups())
            return date(year, month, day)
        if _ISO_DAY.fullmatch(text):
            return date.fromisoformat(text)
    except ValueError:
        raise ValueError(say("{text}: there is no such day; check it", text=quoted(text))) from None
    raise ValueError(
        say("{text} is not a day that can mean only one; write it like 2026-05-04 or 4.5.2026", text=quoted(text))
    )


def read_sum(text: str) -> float:
    """Return a sum as lists write it, where it can mean only one.

    Examples
    --------
    >>> read_sum("1.250,50 €"), read_sum("1,250.50"), read_sum("4200"), read_sum("99,5")
    (1250.5, 1250.5, 4200.0, 99.5)
    """
    plain = re.sub(r"[^\d.,\-]", "", text)
    signs = [sign for sign in plain if sign in ".,"]
    if len(set(signs)) == 2:
        decimal = signs[-1]
        plain = plain.replace("," if decimal == "." else ".", "").replace(decimal, ".")
    elif signs and (len(signs) > 1 or re.search(r"[.,]\d{3}$", plain)):
        raise ValueError(say("{text} can mean two sums; write it without a sign between thousands", text=quoted(text)))
    else:
        plain = plain.replace(",", ".")
    if not _SUM.fullmatch(plain):
        raise ValueError(say("{text} is not a sum; write a number such as 4200", text=quoted(text)))
    return float(plain)
