"""Where a problem stands: file and line of a row or a setting; and which pianos a row is for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import fields
from typing import Any

from valuation.engine.rows.tables import Settings, Tables
from valuation.engine.rows.words import KINDS
from valuation.errors import Problem
from valuation.files.faults import file_of


def problem_at(book: Tables, table: str, index: int | None, where: str, message: str) -> Problem:
    """Return the problem of one row, at its line; index None means the whole file."""
    if index is None:
        return Problem(file_of(table), 0, where, message)
    return Problem(file_of(table), book.lines[table, index], where, message)


def problem_in_setting(book: Tables, name: str, key: str, message: str) -> Problem:
    """Return the problem of one setting: `key` is 'value' or another of its parts."""
    index = [field.name for field in fields(Settings)].index(name)
    return problem_at(book, "settings", index, f"{name}.{key}", message)


def kinds_of(kinds: str) -> tuple[str, ...]:
    """Return the kinds of piano that a row's `kinds` column stands for."""
    return KINDS if kinds == "both" else (kinds,)


def lacking(rows: Iterable[Any], kinds: str) -> tuple[str, ...]:
    """Return the kinds of piano among `kinds` for which none of the rows is."""
    there = {kind for row in rows for kind in kinds_of(row.kinds)}
    return tuple(kind for kind in kinds_of(kinds) if kind not in there)


def plural(kinds: Iterable[str]) -> str:
    """Return the kinds in words: 'uprights and grands'."""
    return " and ".join(f"{kind}s" for kind in kinds)


def with_id(rows: Iterable[Any], name: str) -> list[Any]:
    """Return the rows of that id: one, or one for each kind of piano."""
    return [row for row in rows if row.id == name]


def rows_of(book: Tables) -> Iterator[tuple[str, int, Any]]:
    """Yield (table, index, row) for every row of every table, without the settings."""
    for field in fields(book):
        rows = getattr(book, field.name)
        if isinstance(rows, tuple):
            for index, row in enumerate(rows):
                yield field.name, index, row
