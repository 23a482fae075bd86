"""The errors a person can mend. Anything else that escapes is a defect of the tool.

::

    UserError            shown without a traceback: one or more problems, each with its fix
     ├─ TableError       the shop's tables
     ├─ VisitError       a visit file
     └─ StoreError       the store of visits and photos: disk, database, or a file of export
"""

from __future__ import annotations

from dataclasses import dataclass

MOST_SHOWN = 40
"""Longer texts are cut short in messages [characters]."""


def quoted(text: object) -> str:
    r"""Return `text` in quotation marks, on one line, cut short where it is long, and in letters that can be shown.

    Examples
    --------
    >>> quoted("two\nlines"), quoted(True), quoted("half \ud800")
    ("'two lines'", "'true'", "'half ?'")
    """
    words = str(text).lower() if isinstance(text, bool) else str(text)
    line = " ".join(words.encode("utf-8", "replace").decode("utf-8").split())
    return f"'{line[:MOST_SHOWN]}…'" if len(line) > MOST_SHOWN else f"'{line}'"


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One fault in a file, where it stands, and how to mend it.

    Attributes
    ----------
    file : str
        Name of the file, without its folder.
    line : int
        Line as an editor shows it, from 1; 0 where the whole file is meant.
    where : str
        Column of a table, or key of a visit file; empty where the whole line is meant.
    message : str
        What is wrong and what to write instead.
    """

    file: str
    line: int
    where: str
    message: str

    def __str__(self) -> str:
        """Return ``file:line: where: message``, leaving out what is not known."""
        place = f"{self.file}:{self.line}" if self.line else self.file
        return f"{place}: {self.where}: {self.message}" if self.where else f"{place}: {self.message}"


class UserError(Exception):
    """Something the person can mend; carries every problem found, not only the first."""

    def __init__(self, problems: list[Problem] | tuple[Problem, ...]) -> None:
        self.problems = tuple(sorted(problems))
        super().__init__(self.problems)

    def __str__(self) -> str:
        """Return the problems, one a line."""
        return "\n".join(str(problem) for problem in self.problems)


class TableError(UserError):
    """The tables can't be used as they stand."""


class VisitError(UserError):
    """The visit file can't be used as it stands."""


class StoreError(UserError):
    """The store, or what is to go into it, can't be used as it stands; nothing was half saved."""
