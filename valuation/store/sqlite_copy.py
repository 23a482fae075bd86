"""Copying a SQLite file while it is in use, and proving that a copy is sound."""

from __future__ import annotations

import hashlib
import os
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from valuation.errors import Problem, StoreError

NOT_SOUND = (
    "the database is damaged ({what}). Of this no copy is made, and the sound copies stay as they are. Stop the program"
    " and run 'python -m valuation restore'"
)


@dataclass(frozen=True, slots=True)
class Held:
    """What a database holds, counted: form of its tables, rows of each, and the photos that it speaks of."""

    revision: str
    rows: dict[str, int]
    photos: tuple[str, ...]


def copy_sqlite(database: Path, to: Path) -> None:
    """Write the database as it is at one moment to a file that is not there yet, with nothing beside it."""
    with closing(sqlite3.connect(database)) as source, closing(sqlite3.connect(to)) as target:
        source.backup(target)
        target.execute("PRAGMA journal_mode=DELETE").close()  # one file, nothing beside it
    with to.open("rb") as written:
        os.fsync(written.fileno())


def prove_sqlite(path: Path, place: str) -> Held:
    """Go through a copy from end to end, and return what it holds.

    Parameters
    ----------
    path : Path
        A file that nobody else uses.
    place : str
        What faults are told under.

    Raises
    ------
    StoreError
        If it isn't sound: its pages, its links between tables, the text of its entries, or a paper in it.
    """
    with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro&immutable=1", uri=True)) as connection:
        try:
            what = _wrong(connection)
            held = None if what else _held(connection)
        except sqlite3.DatabaseError as fault:
            what = str(fault)
    if what or held is None:
        raise StoreError([Problem(place, 0, "", NOT_SOUND.format(what=what))])
    return held


def _wrong(connection: sqlite3.Connection) -> str:
    """Return what is wrong with a database, empty if nothing."""
    told = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
    if told != "ok":
        return " ".join(told.split())
    if lost := connection.execute("PRAGMA foreign_key_check").fetchone():
        return f"a row of '{lost[0]}' belongs to one of '{lost[2]}' that is gone"
    tables = _tables(connection)
    if "entry" in tables and (bad := _one(connection, "SELECT count(*) FROM entry WHERE NOT json_valid(value)")):
        return f"{bad} entries can't be read"
    papers = connection.execute("SELECT number, pdf_hash, pdf FROM paper") if "paper" in tables else ()
    for number, pdf_hash, pdf in papers:
        if not isinstance(pdf, bytes) or hashlib.sha256(pdf).hexdigest() != pdf_hash:
            return f"paper {number} of a visit is not the file that was made"
    return ""


def _held(connection: sqlite3.Connection) -> Held:
    tables = _tables(connection)
    photos = {row[0] for row in connection.execute("SELECT hash FROM photo")} if "photo" in tables else set()
    return Held(
        revision=_one(connection, "SELECT version_num FROM alembic_version"),
        rows={name: _one(connection, f'SELECT count(*) FROM "{name}"') for name in tables},
        photos=tuple(sorted(photos)),
    )


def _tables(connection: sqlite3.Connection) -> list[str]:
    wanted = "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name"
    return [row[0] for row in connection.execute(wanted)]


def _one(connection: sqlite3.Connection, question: str):
    return connection.execute(question).fetchone()[0]
