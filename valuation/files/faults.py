"""How a fault is worded and where it stands."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches
from typing import Protocol

from valuation.errors import MOST_SHOWN, Problem, quoted


class Book(Protocol):
    """Tables of which each row knows its line."""

    @property
    def lines(self) -> dict[tuple[str, int], int]:
        """Where each row stands: (table, row index) -> line."""


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """Return a sentence that offers the nearest known names, or lists them where they are few."""
    known = list(dict.fromkeys(known))
    near = get_close_matches(word[:MOST_SHOWN], known, n=3)
    if near:
        return f"; did you mean {' or '.join(map(quoted, near))}?"
    return f"; write {one_of(known)}" if 0 < len(known) <= 8 else ""


def one_of(words: Iterable[str]) -> str:
    """Return the words as a choice: 'a', 'b' or 'c'."""
    *most, last = map(quoted, words)
    return f"{', '.join(most)} or {last}" if most else last


def file_of(table: str) -> str:
    """Return the name of the file that holds a table."""
    return "settings.toml" if table == "settings" else f"{table}.csv"


def fault_at(book: Book, table: str, index: int | None, where: str, message: str) -> Problem:
    """Return the problem of one row, at its line; index None means the whole file."""
    line = 0 if index is None else book.lines[table, index]
    return Problem(file_of(table), line, where, message)
