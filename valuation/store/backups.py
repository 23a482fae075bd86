"""Making copies of the store, and letting old ones go. A copy counts only after it was checked from end to end.

`copies` says what a copy is and which stay. A database that is damaged, or can't be read, is never copied over
anything: the sound copies of before stay until sound ones take their place.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from pathlib import Path
from tempfile import mkdtemp

from sqlalchemy.engine import URL

from valuation.errors import Problem, StoreError
from valuation.store import copies, photos
from valuation.store.copies import BACKUPS, DUMP_FILE, MANIFEST, PHOTO_LIST, PHOTOS, SQLITE_FILE, Copy
from valuation.store.sqlite_copy import Held, copy_sqlite, prove_sqlite

DAILY, ASKED = "daily", "asked"

TABLES = "tables"
"""Folder of the shop's own tables within that of its data; it goes into every copy."""

_UNFINISHED = ".unfinished"
_A_DAY = 24 * 3600.0

Database = Callable[[Path], tuple[Path, Held]]
"""Writes a copy of the database into a folder; returns its file, and what it was proven to hold."""


def sqlite_file(database: Path) -> Database:
    """Return how a SQLite file is copied and the copy proven."""

    def write(place: Path) -> tuple[Path, Held]:
        copy_sqlite(database, place / SQLITE_FILE)
        return place / SQLITE_FILE, prove_sqlite(place / SQLITE_FILE, database.name)

    return write


def postgres_database(address: URL) -> Database:
    """Return how a PostgreSQL database is copied and the copy proven."""

    def write(place: Path) -> tuple[Path, Held]:
        # here, not above: a SQLite store needs none of it
        from valuation.store.postgres_copy import dump, prove_dump

        dump(address, place / DUMP_FILE)
        return place / DUMP_FILE, prove_dump(place / DUMP_FILE, DUMP_FILE)

    return write


def back_up(write: Database, folder: Path, day: date | None, why: str) -> Copy:
    """Make a copy of the store, which is there whole and sound or not at all, and let those go that are too old.

    Parameters
    ----------
    write : Database
        Copies the database; see `sqlite_file`.
    folder : Path
        The folder of the store.
    day : date or None
        Today; None for a copy made before the tables are changed.
    why : str
        See `Copy`.

    Returns
    -------
    Copy
        The copy; where another process was quicker with that of the day, the one that it made.

    Raises
    ------
    StoreError
        If the database is damaged; no copy was made, and none let go.
    """
    place = folder / BACKUPS
    place.mkdir(exist_ok=True)
    with _unfinished(place) as fresh:
        file, held = write(fresh)
        lost = _keep_photos(folder, held.photos, thorough=why != DAILY)
        kept = [name for name in held.photos if name not in lost]
        photos.write_whole(fresh / PHOTO_LIST, "".join(f"{name}\n" for name in kept).encode())
        _keep_tables(folder, fresh)
        files = {
            path.relative_to(fresh).as_posix(): copies.checksum(path)
            for path in sorted(fresh.rglob("*"))
            if path.is_file()
        }
        made = Copy(
            number=0, day=day, why=why, database=file.name, revision=held.revision, rows=held.rows,
            photos=len(kept), lost_photos=tuple(sorted(lost)), files=files, place=fresh,
        )  # fmt: skip
        if why == DAILY and (there := copy_of_day(folder, day)):
            return there
        copy = _number(made, folder, fresh)
    let_go(folder)
    return copy


def copy_of_day(folder: Path, day: date | None) -> Copy | None:
    """Return the newest copy with a day if it is of this one; a copy is due where it is of any other."""
    dated = [copy for copy in copies.copies(folder) if copy.day is not None]
    return dated[-1] if dated and dated[-1].day == day else None


@contextmanager
def _unfinished(place: Path) -> Iterator[Path]:
    """Give a folder for a copy that isn't whole yet; what another left behind more than a day ago goes."""
    fresh = Path(mkdtemp(suffix=_UNFINISHED, dir=place))
    try:
        made_at = fresh.stat().st_mtime  # by the clock of the disk, as those of the others
        for left in place.glob(f"*{_UNFINISHED}"):
            if made_at - left.stat().st_mtime > _A_DAY:
                shutil.rmtree(left, ignore_errors=True)
        yield fresh
    finally:
        shutil.rmtree(fresh, ignore_errors=True)


def _number(made: Copy, folder: Path, fresh: Path) -> Copy:
    """Give a copy the next number, and its folder that name."""
    while True:
        number = 1 + max(copies.numbers(folder), default=0)
        copy = replace(made, number=number, place=copies.folder_of(folder, number))
        photos.write_whole(fresh / MANIFEST, copies.to_text(copy).encode())
        try:
            fresh.rename(copy.place)
        except OSError:
            if not copy.place.exists():
                raise
            continue  # another process took the number
        return copy


def _keep_tables(folder: Path, fresh: Path) -> None:
    """Copy the shop's own tables, if it has any, with their versions."""
    if not (folder / TABLES).is_dir():
        return
    try:
        shutil.copytree(folder / TABLES, fresh / TABLES, ignore=shutil.ignore_patterns("*.new", f"*{_UNFINISHED}"))
    except shutil.Error:
        told = "the tables were changed while they were copied; no copy was made. Try again"
        raise StoreError([Problem(TABLES, 0, "", told)]) from None


def _keep_photos(folder: Path, names: Iterable[str], *, thorough: bool) -> set[str]:
    """Copy those photos that no copy holds yet; return those that are lost.

    Parameters
    ----------
    thorough : bool
        Read those that a copy holds from end to end, and mend them; else their sizes must do, since it is quicker.
    """
    lost = set()
    for name in names:
        kept, source = copies.photo_place(folder, name), photos.path_of(folder, name)
        if thorough:
            there = kept.exists() and copies.checksum(kept) == name
        else:
            there = kept.exists() and source.exists() and kept.stat().st_size == source.stat().st_size
        if there:
            continue
        if photos.is_whole(folder, name):
            photos.write_whole(kept, source.read_bytes())
        elif not kept.exists() or copies.checksum(kept) != name:
            lost.add(name)
    return lost


def let_go(folder: Path) -> None:
    """Remove the copies that are too old, and photos that no copy holds any more.

    A folder of a copy that can't say what it holds is left alone: it counts for nothing, and pushes nothing out. Bare
    files of earlier versions of this program go when there are as many days of copies as stay.
    """
    there = copies.copies(folder)
    stay = copies.staying(there)
    for copy in there:
        if copy.number not in stay:
            gone = copy.place.with_name(f"{copy.place.name}{_UNFINISHED}")
            copy.place.rename(gone)  # at once: half a copy is none
            shutil.rmtree(gone)
    if len({copy.day for copy in there if copy.number in stay and copy.day}) >= copies.DAYS_KEPT:
        for path in copies.older_copies(folder):
            path.unlink()
    _let_photos_go(folder)


def remove_older(folder: Path, made: Copy) -> int:
    """Remove all copies that are older than one, whatever state they are in; return how many."""
    older = [copies.folder_of(folder, number) for number in copies.numbers(folder) if number < made.number]
    for place in older:
        shutil.rmtree(place)
    bare = copies.older_copies(folder)
    for path in bare:
        path.unlink()
    _let_photos_go(folder)
    return len(older) + len(bare)


def _let_photos_go(folder: Path) -> None:
    place = folder / BACKUPS
    there = copies.copies(folder)
    if len(there) < len(copies.numbers(folder)) or any(place.glob(f"*{_UNFINISHED}")):
        return  # one that can't be read may hold any of them, and one that isn't finished will
    held = {name for copy in there for name in copies.photos_of(copy)}
    for path in (place / PHOTOS).rglob("*.jpg"):
        if path.stem not in held:
            path.unlink()
