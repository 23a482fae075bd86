"""Files that nobody speaks of: photos left over, what was never finished, databases that were set aside long ago."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy import Connection, select

from valuation.store import photos
from valuation.store.restore import REPLACED
from valuation.store.schema import paper

YOUNG = 24 * 3600.0
"""A younger file may be one of which an entry is just about to speak [s]."""

LONG_AGO = 30 * 24 * 3600.0
"""So long a database stays that a copy took the place of [s]."""


@dataclass(frozen=True, slots=True)
class Unspoken:
    """What can go: files, and folders of what was set aside."""

    files: tuple[Path, ...]
    folders: tuple[Path, ...]

    @property
    def count(self) -> int:
        """How many that are."""
        return len(self.files) + len(self.folders)


def unspoken(connection: Connection, folder: Path, now: datetime) -> Unspoken:
    """Return what nobody speaks of and what is older than it takes to speak of it."""
    spoken = set(photos.spoken_of(connection))
    spoken |= {name for row in connection.execute(select(paper.c.photos)).scalars() for name in row.split()}
    there = (path for path in (folder / "photos").rglob("*") if path.is_file())
    files = [path for path in there if path.stem not in spoken and _age(path, now) > YOUNG]
    aside = (folder / REPLACED).glob("*")
    return Unspoken(tuple(sorted(files)), tuple(sorted(path for path in aside if _age(path, now) > LONG_AGO)))


def remove(found: Unspoken) -> None:
    """Remove it."""
    for path in found.files:
        path.unlink(missing_ok=True)
    for path in found.folders:
        shutil.rmtree(path)


def _age(path: Path, now: datetime) -> float:
    return now.timestamp() - path.stat().st_mtime
