"""The files of the shop's tables as they stand, and back: so that what was worked out can be worked out again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

from valuation.engine.rows import Tables
from valuation.errors import Problem, TableError
from valuation.files.faults import file_of
from valuation.rules.load import PACKAGED, ROW_CLASSES, load_tables

FILES = tuple(file_of(table) for table in (*ROW_CLASSES, "settings"))
"""Names of the files that make up the shop's tables."""


def files_of(folder: Path | None, tables: Tables) -> dict[str, str]:
    """Return the files of the shop's tables, by name.

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
    try:
        files = {name: (folder / name).read_bytes().decode("utf-8") for name in FILES}
        if _loaded(files).hash == tables.hash:
            return files
    except (OSError, UnicodeDecodeError, TableError):
        pass  # whatever is wrong with them: they were right when they were loaded
    told = "the tables were changed while they were in use; do it once more"
    raise TableError([Problem(folder.name, 0, "", told)])


def tables_of(files: Mapping[str, str], name: str) -> Tables:
    """Return the tables that some files hold, under the hash by which they are kept.

    Raises
    ------
    TableError
        If they can't be read: damaged, or in the form of another version of this program.
    """
    try:
        return replace(_loaded(files), hash=name)
    except TableError as error:
        told = f"the tables kept as {name[:8]} can't be read by this version of the program: {error.problems[0]}"
        raise TableError([Problem("tables", 0, "", told)]) from None


def _loaded(files: Mapping[str, str]) -> Tables:
    with TemporaryDirectory() as place:
        for name in FILES:
            if name in files:
                (Path(place) / name).write_bytes(files[name].encode("utf-8", "surrogatepass"))
        return load_tables(Path(place))
