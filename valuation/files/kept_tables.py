"""A folder of tables into one file, and back: so that what was worked out with them can be worked out again."""

from __future__ import annotations

import io
import zlib
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from zipfile import ZIP_DEFLATED, BadZipFile, ZipFile, ZipInfo

from valuation.core.rows import Tables
from valuation.errors import Problem, TableError
from valuation.files.faults import file_of
from valuation.files.load import MOST_BYTES, PACKAGED, ROW_CLASSES, load_tables

FILES = tuple(file_of(table) for table in (*ROW_CLASSES, "settings"))
"""Names of the files that make up the shop's tables."""

_NO_DAY = (1980, 1, 1, 0, 0, 0)
_BROKEN = (BadZipFile, EOFError, KeyError, NotImplementedError, RuntimeError, ValueError, OSError, zlib.error)
"""What the reader of zips raises on files that are damaged or made up."""


def pack_tables(folder: Path | None, tables: Tables) -> bytes:
    """Return the files of the shop's tables as one zip, the same bytes for the same files.

    Parameters
    ----------
    folder : Path or None
        Where they stand; None for the packaged ones.
    tables : Tables
        As they were loaded from there.

    Raises
    ------
    TableError
        If the files are others by now than those that were loaded.
    """
    folder = PACKAGED if folder is None else folder
    packed = io.BytesIO()
    with ZipFile(packed, "w") as file:
        for name in FILES:
            info = ZipInfo(name, _NO_DAY)
            info.external_attr = 0o644 << 16
            file.writestr(info, _content(folder / name), compress_type=ZIP_DEFLATED)
    if _load(packed.getvalue()).hash != tables.hash:
        raise TableError([_changed(folder)])
    return packed.getvalue()


def _content(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError:
        raise TableError([_changed(path)]) from None


def _changed(path: Path) -> Problem:
    return Problem(path.name, 0, "", "the tables were changed while they were in use; do it once more")


def unpack_tables(packed: bytes, name: str) -> Tables:
    """Return the tables that `pack_tables` packed, under the hash by which they are kept.

    Raises
    ------
    TableError
        If they can't be read: damaged, or in a form of another version of this program.
    """
    try:
        return replace(_load(packed), hash=name)
    except TableError as error:
        told = f"the tables kept as {name[:8]} can't be read by this version of the program: {error.problems[0]}"
        raise TableError([Problem("tables", 0, "", told)]) from None


def _load(packed: bytes) -> Tables:
    with TemporaryDirectory() as place:
        try:
            with ZipFile(io.BytesIO(packed)) as file:
                for info in file.infolist():
                    if info.filename in FILES and info.file_size <= MOST_BYTES:
                        (Path(place) / info.filename).write_bytes(file.read(info))
        except _BROKEN as fault:
            raise TableError([Problem("tables", 0, "", f"they can't be unpacked ({fault})")]) from None
        return load_tables(Path(place))
