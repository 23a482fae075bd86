"""Copies of a SQLite database, made while it is in use. PostgreSQL's are the server's own matter (``pg_dump``)."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from datetime import date
from pathlib import Path

DAYS_KEPT = 7
"""Of the daily copies, so many of the newest stay; so do as many made before a change of the tables."""


def back_up(database: Path, folder: Path, name: str) -> Path:
    """Copy a database in use to ``backups/NAME.sqlite`` in a folder; the copy is there whole or not at all.

    Parameters
    ----------
    database : Path
        The SQLite file.
    folder : Path
        The folder of the store.
    name : str
        Name of the copy; one of the same name is replaced.

    Returns
    -------
    Path
        The copy.
    """
    place = folder / "backups"
    place.mkdir(exist_ok=True)
    copy, unfinished = place / f"{name}.sqlite", place / f"{name}.unfinished"
    unfinished.unlink(missing_ok=True)
    with closing(sqlite3.connect(database)) as source, closing(sqlite3.connect(unfinished)) as target:
        source.backup(target)
        target.execute("PRAGMA journal_mode=DELETE").close()  # one file, nothing beside it
    with unfinished.open("rb") as written:
        os.fsync(written.fileno())
    unfinished.replace(copy)
    return copy


def daily(database: Path, folder: Path, day: date) -> Path | None:
    """Make the copy of a day if there is none yet, and let those go that are too old; return what was made."""
    name = f"daily-{day.isoformat()}"
    if (folder / "backups" / f"{name}.sqlite").exists():
        return None
    copy = back_up(database, folder, name)
    keep_newest(folder, "daily-")
    return copy


def keep_newest(folder: Path, prefix: str) -> None:
    """Remove all but the newest copies of one sort."""
    copies = sorted((folder / "backups").glob(f"{prefix}*.sqlite"))
    for old in copies[:-DAYS_KEPT]:
        old.unlink()
