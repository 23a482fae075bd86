"""Marks of what was forgotten: rows of the table `forgotten`, and the file beside the database that says the same."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from pathlib import Path

from sqlalchemy import Connection, select

from valuation.errors import Problem, StoreError
from valuation.store import entries, photos
from valuation.store.faults import in_plain_words
from valuation.store.schema import forgotten

ERASED, THROWN_AWAY, CORRECTED = "erased", "thrown_away", "corrected"

FILE = "forgotten.jsonl"


@dataclass(frozen=True, slots=True, kw_only=True)
class Forgotten:
    """That something may not come back.

    Attributes
    ----------
    mark : str
        See `mark_of`.
    how : str
        `ERASED`, `THROWN_AWAY` or `CORRECTED`.
    day : str
        When.
    until : str
        Day until which tax law kept what was agreed on; empty where nothing was.
    law : str
        Which law that is.
    """

    mark: str
    how: str
    day: str
    until: str = ""
    law: str = ""


def remember(connection: Connection, stones: Iterable[Forgotten]) -> int:
    """Add marks; return how many are new here."""
    rows = [asdict(stone) for stone in stones]
    return entries.insert_new(connection, forgotten, rows, "mark") if rows else 0


def stones(connection: Connection) -> list[Forgotten]:
    """Return all marks, in order."""
    return [Forgotten(**row._asdict()) for row in connection.execute(select(forgotten).order_by(forgotten.c.mark))]


def read_file(folder: Path) -> list[Forgotten]:
    """Return the marks of the file beside the database.

    Raises
    ------
    StoreError
        If a line of it can't be read: without its marks, people who were forgotten could come back unseen.
    """
    path, found = folder / FILE, []
    with in_plain_words(FILE):
        lines = path.read_bytes().splitlines() if path.exists() else []
    for number, line in enumerate(lines, 1):
        try:
            found.append(Forgotten(**{name: str(value) for name, value in json.loads(line).items()}))
        except (ValueError, TypeError, AttributeError):
            told = "this line can't be read; take the file from a copy of its folder, or delete the line"
            raise StoreError([Problem(FILE, number, "", told)]) from None
    return found


def write_file(folder: Path, found: Iterable[Forgotten]) -> None:
    """Write the file beside the database anew."""
    lines = [json.dumps(asdict(stone), sort_keys=True) for stone in found]
    with in_plain_words(FILE):
        photos.write_whole(folder / FILE, "".join(f"{line}\n" for line in lines).encode())
