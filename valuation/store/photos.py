"""Files of photos, each named by the SHA-256 of what is in it, below the folder ``photos`` of a store.

A photo's file is on the disk before anything speaks of it. That one is lost is told and stops nothing.
"""

from __future__ import annotations

import hashlib
import re
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy import Connection, select

from valuation.disk import put_in_place
from valuation.record.photo_fields import photo_hash
from valuation.store import entries
from valuation.store.schema import entry, photo, visit
from valuation.waiting import Heard, nobody

_HASH = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True, kw_only=True)
class LostPhoto:
    """A photo that a visit speaks of and that can't be shown.

    Attributes
    ----------
    hash : str
        Its name.
    damaged : bool
        The file is there but not what it was; else it is missing.
    visits : tuple of (id, title)
        Where it belongs.
    """

    hash: str
    damaged: bool
    visits: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoReport:
    """How many photos there should be, and which of them are lost."""

    checked: int
    lost: tuple[LostPhoto, ...]


def is_hash(name: str) -> bool:
    """Tell whether this can be the name of a photo."""
    return _HASH.fullmatch(name) is not None


def path_of(folder: Path, name: str, *, thumbnail: bool = False) -> Path:
    """Return where a photo's file, or its thumbnail's, belongs."""
    if not is_hash(name):
        raise ValueError(f"{name[:80]!r} is no name of a photo")
    return folder / "photos" / ("thumbnails" if thumbnail else "") / name[:2] / f"{name}.jpg"


def keep(folder: Path, jpeg: bytes) -> str:
    """Write a photo's file unless it is there and whole, and return its name."""
    name = hashlib.sha256(jpeg).hexdigest()
    if not is_whole(folder, name):
        write_whole(path_of(folder, name), jpeg)
    return name


def is_whole(folder: Path, name: str) -> bool:
    """Tell whether a photo's file is there and holds what it held when it was named."""
    try:
        with path_of(folder, name).open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest() == name
    except OSError:
        return False


def write_whole(path: Path, content: bytes) -> None:
    """Write a file, whole or not at all, making its folder where there is none."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with put_in_place(path) as unfinished, unfinished.open("xb") as file:
        file.write(content)


def remember(connection: Connection, name: str, size: int, width: int, height: int, at: datetime) -> bool:
    """Add a photo to the list of photos; return whether it is new there."""
    row = {"hash": name, "size": size, "width": width, "height": height, "added_at": entries.moment(at)}
    return entries.insert_new(connection, photo, [row], "hash") == 1


def spoken_of(connection: Connection) -> dict[str, tuple[tuple[str, str], ...]]:
    """Return every photo that some entry speaks of, with the (id, title) of its visits; also of those taken away."""
    wanted = select(entry.c.field, visit.c.id, visit.c.title).join(visit).where(entry.c.field.startswith("photo."))
    found: dict[str, set[tuple[str, str]]] = defaultdict(set)
    for field, name, title in connection.execute(wanted):
        if is_hash(photo_hash(field)):
            found[photo_hash(field)].add((name, title))
    return {name: tuple(sorted(visits)) for name, visits in sorted(found.items())}


def look_through(folder: Path, wanted: Mapping[str, tuple[tuple[str, str], ...]], heard: Heard = nobody) -> PhotoReport:
    """Read the file of every photo wanted, and report those that are missing or damaged.

    Parameters
    ----------
    wanted : mapping
        Photos, and the visits that speak of each.
    """
    lost = []
    for checked, (name, visits) in enumerate(wanted.items()):
        heard(checked / len(wanted))
        if not is_whole(folder, name):
            lost.append(LostPhoto(hash=name, damaged=path_of(folder, name).exists(), visits=visits))
    return PhotoReport(checked=len(wanted), lost=tuple(lost))
