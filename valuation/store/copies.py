"""What a copy of the store is, on the disk and in numbers; and which of many stay. Nothing is made or removed here.

::

    backups/000012/copy.json          what `Copy` holds, and the SHA-256 of the files beside it
    backups/000012/valuation.sqlite   the database (``database.dump`` where it is PostgreSQL)
    backups/000012/photos.txt         the photos that it holds, by their hashes
    backups/000012/tables/...         the shop's own tables with their versions, where it has any
    backups/photos/ab/HASH.jpg        photos of all copies, each once: a photo's file never changes

A folder of a number is there whole or not at all. The number says which copy is the newest: a clock may be wrong by a
year for a week, and then right again. The day is for people, and parts the copies into days, weeks and months.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import asdict, dataclass, field
from datetime import date
from pathlib import Path

from valuation.errors import Problem, StoreError

BACKUPS = "backups"
PHOTOS = "photos"
MANIFEST, PHOTO_LIST = "copy.json", "photos.txt"
SQLITE_FILE, DUMP_FILE = "valuation.sqlite", "database.dump"

DAYS_KEPT, WEEKS_KEPT, MONTHS_KEPT, BEFORE_CHANGES_KEPT = 7, 5, 6, 3
"""How many stay: the newest of each of so many days, weeks and months, and so many made before the tables changed."""

_NUMBER = re.compile(r"[0-9]{6,}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Copy:
    """One copy that was sound when it was made.

    Attributes
    ----------
    number : int
        Which in the order in which they were made, from 1.
    day : date or None
        On which it was made, as the clock said; None for one made before the tables were changed.
    why : str
        ``daily``, ``asked``, or ``before 0005`` for the change of the tables that came next.
    database : str
        Name of the database's file in it.
    revision : str
        Form of its tables.
    rows : dict of str to int
        Rows of each table.
    photos : int
        Photos that it holds.
    lost_photos : tuple of str
        Photos that were missing or damaged before it was made.
    files : dict of str to str
        SHA-256 of each file in its folder.
    place : Path
        Its folder.
    """

    number: int
    day: date | None
    why: str
    database: str
    revision: str
    rows: dict[str, int]
    photos: int
    lost_photos: tuple[str, ...]
    files: dict[str, str]
    place: Path = field(compare=False)

    @property
    def path(self) -> Path:
        """The file of the database."""
        return self.place / self.database


def to_text(copy: Copy) -> str:
    """Return the content of ``copy.json``."""
    told = asdict(copy) | {"day": copy.day.isoformat() if copy.day else None}
    del told["place"]
    return json.dumps(told, indent=1, sort_keys=True)


def read_copy(place: Path) -> Copy | None:
    """Return the copy in a folder; None where what it says of itself can't be read: then it counts for nothing."""
    try:
        told = json.loads((place / MANIFEST).read_text(encoding="utf-8"))
        day = date.fromisoformat(told["day"]) if told["day"] else None
        rows = {str(name): int(count) for name, count in told["rows"].items()}
        texts = {name: str(told[name]) for name in ("why", "database", "revision")}
        copy = Copy(
            number=int(told["number"]), day=day, rows=rows, photos=int(told["photos"]), **texts,
            lost_photos=tuple(told["lost_photos"]), files=dict(told["files"]), place=place,
        )  # fmt: skip
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None
    return copy if copy.number == int(place.name) and copy.database in copy.files else None


def numbers(folder: Path) -> list[int]:
    """Return the numbers of all copies of a store, sound or not, in order."""
    place = folder / BACKUPS
    return sorted(int(path.name) for path in _folders(place)) if place.is_dir() else []


def copies(folder: Path) -> list[Copy]:
    """Return the copies of a store that say what they hold, the oldest first; what they say is not checked."""
    place = folder / BACKUPS
    found = [read_copy(path) for path in (_folders(place) if place.is_dir() else ())]
    return sorted((copy for copy in found if copy is not None), key=lambda copy: copy.number)


def older_copies(folder: Path) -> list[Path]:
    """Return copies as earlier versions of this program made them: bare files of a database, by name."""
    return sorted((folder / BACKUPS).glob("*.sqlite"))


def any_copies(folder: Path) -> bool:
    """Tell whether there is any copy of a store."""
    return bool(numbers(folder) or older_copies(folder))


def folder_of(folder: Path, number: int) -> Path:
    """Return where the copy of a number belongs."""
    return folder / BACKUPS / f"{number:06}"


def photo_place(folder: Path, name: str) -> Path:
    """Return where the copy of a photo belongs."""
    return folder / BACKUPS / PHOTOS / name[:2] / f"{name}.jpg"


def photos_of(copy: Copy) -> list[str]:
    """Return the hashes of the photos that a copy holds."""
    return (copy.place / PHOTO_LIST).read_text(encoding="ascii").split()


def checksum(path: Path) -> str:
    """Return the SHA-256 of a file."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def changed_files(copy: Copy) -> list[str]:
    """Return the files of a copy that are missing, or are not what they were when it was made."""
    return [name for name, told in sorted(copy.files.items()) if not _is(copy.place / name, told)]


def _is(path: Path, told: str) -> bool:
    try:
        return checksum(path) == told
    except OSError:
        return False


def _folders(place: Path) -> Iterable[Path]:
    return (path for path in place.iterdir() if _NUMBER.fullmatch(path.name) and path.is_dir())


def staying(all_copies: Sequence[Copy]) -> set[int]:
    """Return the numbers of the copies that stay; pure.

    Parameters
    ----------
    all_copies : sequence of Copy
        Sound ones only: one that isn't must push no other out.

    Notes
    -----
    The newest copy by number stands for its day, its week and its month. So a clock that is wrong for a while takes a
    few places among weeks and months, and never the place of what was made before it.
    """
    newest_first = sorted(all_copies, key=lambda copy: -copy.number)
    dated = [copy for copy in newest_first if copy.day is not None]
    kept = _first_of_each(dated, lambda day: day, DAYS_KEPT)
    kept |= _first_of_each(dated, lambda day: tuple(day.isocalendar())[:2], WEEKS_KEPT)
    kept |= _first_of_each(dated, lambda day: (day.year, day.month), MONTHS_KEPT)
    before = [copy.number for copy in newest_first if copy.day is None]
    return kept | set(before[:BEFORE_CHANGES_KEPT])


def _first_of_each(dated: Iterable[Copy], span: Callable[[date], Hashable], most: int) -> set[int]:
    found: dict[Hashable, int] = {}
    for copy in dated:
        if len(found) < most:
            found.setdefault(span(copy.day or date.min), copy.number)
    return set(found.values())


def no_copy(number: int) -> StoreError:
    """Return the fault of asking for a copy that isn't there."""
    return StoreError([Problem(BACKUPS, 0, "", f"there is no copy {number}; 'verify' lists those that are there")])
