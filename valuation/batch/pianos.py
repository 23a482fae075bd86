"""The pianos of a batch: visit files, folders of them, and spreadsheets saved as CSV."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import BinaryIO

from valuation.batch.flat_visit import check_columns
from valuation.disk import open_to_read
from valuation.engine.rows import Tables
from valuation.errors import Problem, UserError

MOST_BYTES, MOST_IN_A_LINE = 500_000_000, 1_000_000
"""A larger spreadsheet, or a longer line in one, is a mistake [bytes]."""

VISIT_COLUMN = "visit"
"""Column of a CSV that names a visit file for each row; other columns are then the reader's own and left alone."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One piano to be appraised: a visit file, or a row whose cells are a visit.

    Attributes
    ----------
    file : str
        The visit file as it was given, or the CSV.
    line : int
        Line of the CSV on which the row begins; 0 for a visit file.
    path : Path or None
        The visit file.
    cells : dict of str to str
        Cells by column, where there is no visit file; else empty.
    problems : tuple of Problem
        What is wrong with the row itself.
    """

    file: str
    line: int = 0
    path: Path | None = None
    cells: dict[str, str] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()

    @property
    def shown(self) -> str:
        """How the results name it."""
        return f"{self.file}:{self.line}" if self.line else self.file


class Spreadsheet:
    """The rows of a CSV, read anew at each walk through them and never held all at once.

    Parameters
    ----------
    path : Path
        The file: UTF-8, columns separated by commas.
    tables : Tables
        The shop's tables, which say what columns there can be.

    Raises
    ------
    UserError
        If it can't be read to its end, or a column is not known; faults within a row are told with that row.
    """

    def __init__(self, path: Path, tables: Tables) -> None:
        self.path, self.file = path, as_shown(path)
        rows = self._rows()
        line, header = next(rows, (0, []))
        if not header:
            raise UserError([Problem(self.file, 0, "", "the file is empty")])
        self.columns = [name.strip() for name in header]
        faults = [] if VISIT_COLUMN in self.columns else check_columns(self.columns, tables)
        if faults:
            raise UserError([Problem(self.file, line, where, message) for where, message in faults])
        self._count = sum(1 for _ in rows)
        if not self._count:
            raise UserError([Problem(self.file, 0, "", "there is no row below the names of the columns")])

    def __len__(self) -> int:
        return self._count

    def __iter__(self) -> Iterator[Entry]:
        rows = self._rows()
        next(rows)
        for line, cells in rows:
            yield self._entry(line, cells)

    def _entry(self, line: int, cells: list[str]) -> Entry:
        if len(cells) != len(self.columns):
            return self._at_fault(
                line, "", f"the row has {len(cells)} cells, but there are {len(self.columns)} columns"
            )
        row = {column: cell.strip() for column, cell in zip(self.columns, cells, strict=True)}
        if VISIT_COLUMN not in row:
            return Entry(self.file, line, cells=row)
        if not row[VISIT_COLUMN]:
            return self._at_fault(line, VISIT_COLUMN, "the cell is empty; name the visit file")
        return Entry(row[VISIT_COLUMN], path=self.path.parent / row[VISIT_COLUMN])

    def _at_fault(self, line: int, where: str, message: str) -> Entry:
        return Entry(self.file, line, problems=(Problem(self.file, line, where, message),))

    def _rows(self) -> Iterator[tuple[int, list[str]]]:
        """Yield each row that is not blank, with the line on which it begins."""
        try:
            with open_to_read(self.path, MOST_BYTES) as file:
                reader = csv.reader(self._lines(file), strict=True)
                begins = 1
                for cells in reader:
                    if any(map(str.strip, cells)):  # spreadsheets leave rows of empty cells at the end
                        yield begins, cells
                    begins = reader.line_num + 1
        except csv.Error as error:
            raise UserError([Problem(self.file, reader.line_num, "", f"this is not CSV: {error}")]) from None
        except OSError as error:
            raise UserError([Problem(self.file, 0, "", f"the file can't be read ({error.strerror})")]) from None

    def _lines(self, file: BinaryIO) -> Iterator[str]:
        number = 0
        while line := file.readline(MOST_IN_A_LINE + 1):
            number += 1
            if len(line) > MOST_IN_A_LINE:
                raise UserError([Problem(self.file, number, "", f"the line has more than {MOST_IN_A_LINE:,} bytes")])
            try:
                text = line.decode("utf-8")
            except UnicodeDecodeError as error:
                message = f"byte {line[error.start]:02X} (hexadecimal) is not UTF-8; save the file as CSV in UTF-8"
                raise UserError([Problem(self.file, number, "", message)]) from None
            yield text.removeprefix("\ufeff") if number == 1 else text  # spreadsheets put the mark there


def find_pianos(sources: Sequence[Path], tables: Tables) -> list[Sequence[Entry] | Spreadsheet]:
    """Return the pianos of each source, ready to be counted and walked through.

    Parameters
    ----------
    sources : sequence of Path
        Folders (their ``*.toml``, by name), visit files, and CSV files.
    tables : Tables
        The shop's tables.

    Returns
    -------
    list of sequence of Entry
        One for each source, in their order.

    Raises
    ------
    UserError
        If any source as a whole can't be used; all of them are told.
    """
    found: list[Sequence[Entry] | Spreadsheet] = []
    problems: list[Problem] = []
    for source in sources:
        try:
            found.append(_pianos_of(source, tables))
        except UserError as error:
            problems += error.problems
    if problems:
        raise UserError(problems)
    return found


def _pianos_of(source: Path, tables: Tables) -> Sequence[Entry] | Spreadsheet:
    if source.is_dir():
        visits = sorted(source.glob("*.toml"))
        if not visits:
            raise UserError([Problem(as_shown(source), 0, "", "there is no visit file (*.toml) in this folder")])
        return [Entry(as_shown(path), path=path) for path in visits]
    if not source.exists():
        raise UserError([Problem(as_shown(source), 0, "", "there is no such file or folder; check its name")])
    if source.suffix.lower() == ".csv":
        return Spreadsheet(source, tables)
    if source.suffix.lower() == ".toml":
        return [Entry(as_shown(source), path=source)]
    raise UserError([Problem(as_shown(source), 0, "", "give a folder, a visit file (.toml) or a .csv")])


def as_shown(path: Path) -> str:
    """Return a path as text that any file can hold, also where its name is not UTF-8."""
    return path.as_posix().encode("utf-8", errors="backslashreplace").decode("utf-8")
