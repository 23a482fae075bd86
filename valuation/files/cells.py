"""One cell of a table: its text into a value, or the reason why not."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import MISSING, Field
from datetime import date
from functools import partial
from math import isfinite
from types import NoneType
from typing import Any, get_args

from valuation.errors import quoted
from valuation.facts.columns import Column
from valuation.files.faults import did_you_mean

MOST_DIGITS = 30
_IDENTIFIER = re.compile(r"[a-z0-9_]+")
_NUMBER = re.compile(r"[+-]?(\d+(\.\d+)?|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
_WHOLE = re.compile(r"[+-]?\d+", re.ASCII)
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)


class CellError(ValueError):
    """The text is not what the column holds; the message says what to write instead."""


def read_cell(text: str, hint: Any, described: tuple[Field, Column]) -> Any:
    """Return the value of one cell.

    Parameters
    ----------
    text : str
        The cell, stripped.
    hint : type
        Type of the field, resolved.
    described : tuple of (Field, Column)
        As `columns_of` gives it.

    Raises
    ------
    CellError
        If the cell is empty and may not be, is of the wrong type, or is out of range.
    """
    field, column = described
    if text:
        plain = next(t for t in get_args(hint) if t is not NoneType) if NoneType in get_args(hint) else hint
        value = _reader_of(plain)(text)
    elif field.default is not MISSING:
        return field.default
    else:
        raise CellError(f"the cell may not be empty: {column.says}")
    if field.name == "id":
        require_identifier(text)
    require_within(value, column)
    return value


def require_identifier(text: str) -> None:
    """Raise `CellError` unless `text` is a name made of a-z, 0-9 and _."""
    if not _IDENTIFIER.fullmatch(text):
        raise CellError(f"{quoted(text)} is not a name for an id; use only a-z, 0-9 and _")


def require_within(value: Any, column: Column) -> None:
    """Raise `CellError` where a value is out of the column's range or not among its choices."""
    if column.choices and value not in column.choices:
        raise CellError(f"{quoted(value)} is not a choice{did_you_mean(str(value), column.choices)}")
    if isinstance(value, (int, float)):
        unit = f" {column.unit}" if column.unit else ""
        if column.above is not None and not value > column.above:
            raise CellError(f"{value:g} is too small; it must be above {column.above:g}{unit}")
        if column.low is not None and value < column.low:
            raise CellError(f"{value:g} is too small; the least is {column.low:g}{unit}")
        if column.high is not None and value > column.high:
            raise CellError(f"{value:g} is too large; the greatest is {column.high:g}{unit}")


def _read_words(text: str) -> str:
    return text


def _read_number(text: str) -> float:
    if "," in text:
        raise CellError(f"{quoted(text)} has a comma; write decimals with a point, and thousands without a mark")
    if len(text) > MOST_DIGITS or not _NUMBER.fullmatch(text) or not isfinite(float(text)):
        raise CellError(f"{quoted(text)} is not a number; write it like 4 or 4.5")
    return float(text)


def _read_whole(text: str) -> int:
    if len(text) > MOST_DIGITS or not _WHOLE.fullmatch(text):
        raise CellError(f"{quoted(text)} is not a whole number; write it like 4")
    return int(text)


def _read_yes_no(text: str) -> bool:
    if text not in ("yes", "no"):
        raise CellError(f"{quoted(text)} is neither yes nor no; write 'yes' or 'no'")
    return text == "yes"


def _read_day(text: str) -> date:
    try:
        if _DAY.fullmatch(text):
            return date.fromisoformat(text)
    except ValueError:
        pass  # such as 30 February: told below
    raise CellError(f"{quoted(text)} is not a day; write it like 2026-05-04")


def _read_list(text: str) -> tuple[str, ...]:
    items = tuple(item.strip() for item in text.split(";"))
    if "" in items:
        raise CellError(f"{quoted(text)} has an empty place; separate names by one ';' and leave none at the end")
    for item in items:
        if items.count(item) > 1:
            raise CellError(f"{quoted(item)} stands twice; write it once")
    return items


def _read_quantities(quantity_class: type, text: str) -> tuple[Any, ...]:
    quantities: list[Any] = []
    for item in _read_list(text):
        material, colon, amount = item.partition(":")
        if not colon:
            raise CellError(f"{quoted(item)} has no amount; write it like 'wire:2.5; felt:1'")
        quantity = quantity_class(material=material.strip(), amount=_read_number(amount.strip()))
        if quantity.amount <= 0:
            raise CellError(f"{quoted(item)} is no amount; it must be above 0")
        if quantity.material in (known.material for known in quantities):
            raise CellError(f"{quoted(quantity.material)} stands twice; write it once, with the sum")
        quantities.append(quantity)
    return tuple(quantities)


_READERS: dict[Any, Callable[[str], Any]] = {
    str: _read_words,
    float: _read_number,
    int: _read_whole,
    bool: _read_yes_no,
    date: _read_day,
    tuple[str, ...]: _read_list,
}


def _reader_of(hint: Any) -> Callable[[str], Any]:
    """Return what reads a cell of a type; a tuple of anything but words is one of quantities."""
    return _READERS[hint] if hint in _READERS else partial(_read_quantities, get_args(hint)[0])
