"""The shop's own folder of tables and its dated versions: nothing that was in force is ever lost.

The folder holds the files in force; ``versions/`` in it holds one folder for each state that was replaced, named by the
time at which that was and the hash of the tables in it. Files that are to be put in force stand there too, as ``.new``
until all are written and found sound, then as ``.ready``: from there `finish` moves them, also after a break-off.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from threading import Lock

from valuation.engine.rows import Tables
from valuation.errors import Problem, TableError, UserError
from valuation.rules.kept_tables import FILES, files_of
from valuation.rules.load import PACKAGED, load_tables

OWN = "tables"
"""Folder of the shop's own tables, within that of its data."""

VERSIONS = "versions"

_STAMP = "%Y-%m-%dT%H%M%SZ"
_HASH_LETTERS = 8
_READY = ".ready"
_ONE_AT_A_TIME = Lock()
"""Every page that reads the tables may find something to finish."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Version:
    """One state of the tables that was replaced.

    Attributes
    ----------
    name : str
        Of its folder.
    until : datetime
        When it was replaced.
    """

    name: str
    until: datetime


def make_own_copy(folder: Path) -> None:
    """Copy the packaged tables into a folder of the shop's own, whole or not at all.

    Raises
    ------
    UserError
        If the folder is there already, or can't be written.
    """
    if folder.exists():
        raise UserError([Problem(folder.name, 0, "", "the shop has its own tables already")])
    unfinished = folder.with_name(f"{folder.name}.unfinished")
    try:
        shutil.rmtree(unfinished, ignore_errors=True)
        unfinished.mkdir(parents=True)
        for name in FILES:
            _write(unfinished / name, (PACKAGED / name).read_bytes())
        unfinished.rename(folder)
    except OSError as error:
        raise _not_written(folder, error) from None


def versions(folder: Path) -> tuple[Version, ...]:
    """Return the states that were replaced, the oldest first; a folder of another name is left alone."""
    found = []
    for path in sorted((folder / VERSIONS).glob("*_*")):
        try:
            until = datetime.strptime(path.name.partition("_")[0], _STAMP).replace(tzinfo=UTC)
        except ValueError:
            continue
        if path.is_dir() and not path.suffix:
            found.append(Version(name=path.name, until=until))
    return tuple(found)


def load_version(folder: Path, version: Version) -> Tables:
    """Return the tables of a version; raises `TableError` where today's program can't read them."""
    return load_tables(folder / VERSIONS / version.name)


def files_of_version(folder: Path, version: Version) -> dict[str, str]:
    """Return the files of a version, by name."""
    place = folder / VERSIONS / version.name
    return files_of(place, load_tables(place))


def put_in_force(folder: Path, files: Mapping[str, str], *, instead_of: Tables, now: datetime) -> Version:
    """Put other files in force, and keep those that were as a version.

    Parameters
    ----------
    folder : Path
        The shop's own tables.
    files : mapping of str to str
        All files by name; they are loaded first.
    instead_of : Tables
        Those in force as whoever decided saw them.
    now : datetime
        With its zone.

    Returns
    -------
    Version
        What was in force until now.

    Raises
    ------
    TableError
        If the new files don't make sound tables, or other tables are in force by now; nothing is changed then.
    UserError
        If the folder can't be written. What was in force is then in ``versions/``, whole.
    """
    finish(folder)
    before = files_of(folder, instead_of)
    kept = Version(name=f"{now.astimezone(UTC):{_STAMP}}_{instead_of.hash[:_HASH_LETTERS]}", until=now.astimezone(UTC))
    place = folder / VERSIONS / kept.name
    fresh = folder / VERSIONS / f"{kept.name}.new"
    try:
        place.mkdir(parents=True, exist_ok=True)
        for name, text in before.items():
            _write(place / name, text.encode("utf-8"))
        shutil.rmtree(fresh, ignore_errors=True)
        fresh.mkdir()
        for name in FILES:
            _write(fresh / name, files[name].encode("utf-8"))
        load_tables(fresh)  # refuses what would not load, before anything that is in force is touched
        fresh.rename(fresh.with_suffix(_READY))
        finish(folder)
    except OSError as error:
        raise _not_written(folder, error) from None
    except TableError:
        shutil.rmtree(place, ignore_errors=True)
        raise
    finally:
        shutil.rmtree(fresh, ignore_errors=True)
    return kept


def finish(folder: Path) -> None:
    """Put in force what was ready for it when the program broke off, so that old and new files never stand mixed.

    Raises
    ------
    UserError
        If the folder can't be written.
    """
    with _ONE_AT_A_TIME:
        try:
            for ready in sorted((folder / VERSIONS).glob(f"*{_READY}")):
                for name in FILES:
                    if (ready / name).exists():  # those that are not there were moved before
                        (ready / name).replace(folder / name)
                ready.rmdir()
        except OSError as error:
            raise _not_written(folder, error) from None


def _write(path: Path, content: bytes) -> None:
    with path.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _not_written(folder: Path, error: OSError) -> UserError:
    told = f"the tables can't be written ({error.strerror or error}); what was in force is kept in '{VERSIONS}'"
    return UserError([Problem(folder.name, 0, "", told)])
