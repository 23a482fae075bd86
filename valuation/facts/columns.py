"""How a column of a table is described: once, beside the field that holds it.

The readers, the error messages, the documentation and the tests all take what they need to
know of a column from here, so a column can't mean two things in two places.
"""

from __future__ import annotations

from dataclasses import MISSING, Field, dataclass, field, fields
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """What a cell may hold, beyond the type of its field.

    Attributes
    ----------
    says : str
        One line for the person who edits the table.
    unit : str
        Unit of a number, empty where it has none.
    low, high : float or None
        Least and greatest number allowed, both inclusive.
    above : float or None
        A number must be greater than this, exclusive.
    choices : tuple of str
        The words allowed; empty means any.
    refers_to : str
        Name of the table whose ids are allowed.
    """

    says: str
    unit: str = ""
    low: float | None = None
    high: float | None = None
    above: float | None = None
    choices: tuple[str, ...] = ()
    refers_to: str = ""


def column(says: str, *, default: Any = MISSING, **limits: Any) -> Any:
    """Return a dataclass field that carries its `Column`; a default makes the cell optional."""
    return field(default=default, metadata={"column": Column(says=says, **limits)})


def columns_of(row_class: type) -> dict[str, tuple[Field, Column]]:
    """Return the columns of a row class by name, in the order of the table."""
    return {f.name: (f, f.metadata["column"]) for f in fields(row_class) if "column" in f.metadata}
