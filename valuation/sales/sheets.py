"""A file of sales, CSV or XLSX, into one text of comma-separated lines: line n of the text is row n of the file.

A formula in a sheet comes out as its text and is never computed, nor is a result taken that the file claims for it.
Line breaks within a sheet's cell become blanks.
"""

from __future__ import annotations

import csv
import io
import re
import warnings
import zlib
from collections.abc import Iterable
from datetime import date, datetime
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import ParseError
from zipfile import BadZipFile, ZipFile

import openpyxl
from openpyxl.utils.exceptions import InvalidFileException

from valuation.disk import read_at_most
from valuation.errors import Problem, UserError
from valuation.files.plain_text import decode_text
from valuation.language import numeral, say

MOST_BYTES = 5_000_000
"""A larger file is not read [bytes]."""

MOST_UNPACKED = 60_000_000
"""A workbook that unpacks to more is not read [bytes]."""

MOST_ROWS = 20_000
"""Rows of a sheet beyond this are too many."""

MOST_SIGNS = 1_600_000
"""Marks within a workbook: the fullest sheet that is read has four for each of its cells."""

MOST_COLUMNS = 64
"""Columns of a sheet beyond this are not looked at: a sheet may claim to be thousands wide."""

_NOT_A_WORKBOOK = (
    *(BadZipFile, InvalidFileException, ParseError, zlib.error, EOFError, OSError),
    *(KeyError, ValueError, TypeError, IndexError, AttributeError, NotImplementedError, RuntimeError),
)
"""All that a damaged workbook makes the libraries raise, found by damaging thousands."""

_AT_ONCE, _SPARE = 1_000_000, 500
_ROW = re.compile(rb"<(?:\w+:)?row[ />]")

_BYTE_ORDER_MARK = b"\xef\xbb\xbf"
_OLD_WORKBOOK = b"\xd0\xcf\x11\xe0"


def read_sheet(path: Path) -> str:
    """Return the text of a file of sales; as `sheet_text`, and if the file can't be read `UserError` too."""
    _require_sort(path.name)
    return sheet_text(read_at_most(path, MOST_BYTES), path.name)


def sheet_text(data: bytes, name: str) -> str:
    """Return the text of what a file of sales holds.

    Parameters
    ----------
    data : bytes
        A CSV file in UTF-8, with or without byte-order mark, or an XLSX workbook, whose first sheet counts.
    name : str
        Name of the file: its ending says which of the two, and faults are told under it.

    Returns
    -------
    str
        Comma-separated lines.

    Raises
    ------
    UserError
        If it can't be read, is too large, or is of another sort.
    """
    _require_sort(name)
    if len(data) > MOST_BYTES:
        raise _too_large(name)
    if name.lower().endswith(".xlsx"):
        return _read_workbook(name, data)
    text = _decode(name, data.removeprefix(_BYTE_ORDER_MARK))  # spreadsheets write the mark
    _require_rows(name, text)
    return text


def _require_sort(name: str) -> None:
    if not name.lower().endswith((".csv", ".xlsx")):
        raise _fault(name, say("the file is neither .csv nor .xlsx; save it as one of them"))


def _too_large(name: str) -> UserError:
    return _fault(
        name, say("the file is larger than {most} bytes; is it the right one?", most=numeral(f"{MOST_BYTES:,}"))
    )


def _decode(name: str, data: bytes) -> str:
    text, problems = decode_text(data, name)
    if problems:
        raise UserError(problems)
    return text


def _read_workbook(name: str, data: bytes) -> str:
    if data.startswith(_OLD_WORKBOOK):
        raise _fault(
            name, say("the workbook is of the old sort or locked by a password; save it as .xlsx without password")
        )
    try:
        _require_bounds(name, data)
        with warnings.catch_warnings(action="ignore", category=UserWarning):  # of styles and links, which don't matter
            book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=False, keep_links=False)
            sheet = book.worksheets[0] if book.worksheets else None
            rows = list(sheet.iter_rows(max_row=MOST_ROWS + 2, max_col=MOST_COLUMNS, values_only=True)) if sheet else []
            book.close()
    except _NOT_A_WORKBOOK as error:
        raise _fault(
            name, say("the workbook can't be read ({error}); save it as .xlsx again, or as .csv", error=error)
        ) from None
    if len(rows) > MOST_ROWS + 1:
        raise _fault(
            name, say("there are more than {most} rows; is it the right sheet?", most=numeral(f"{MOST_ROWS:,}"))
        )
    lines = [[_text_of(cell) for cell in row] for row in rows]
    if not any(map(any, lines)):
        raise _fault(name, say("the first sheet is empty"))
    return _decode(name, _comma_separated(lines).encode("utf-8"))  # a workbook can hold control characters too


def _require_bounds(name: str, data: bytes) -> None:
    """Refuse a workbook that would fill the memory or take minutes, before anything of it is understood.

    Rows may be empty, bear the same number or stand beyond the last: the library goes through all of them.
    """
    signs, rows = 0, 0
    with ZipFile(io.BytesIO(data)) as packed:
        if sum(part.file_size for part in packed.infolist()) > MOST_UNPACKED:
            raise _fault(
                name,
                say("the workbook unpacks to more than {most} bytes; is it the right one?",
                    most=numeral(f"{MOST_UNPACKED:,}")),
            )  # fmt: skip
        for part in packed.infolist():
            if not part.filename.lower().endswith((".xml", ".rels")):
                continue  # never looked at
            with packed.open(part) as file:
                while chunk := file.read(_AT_ONCE):
                    signs += chunk.count(b"<")
                    rows += sum(1 for _ in _ROW.finditer(chunk))
                    if b"<!DOCTYPE" in chunk or b"<!ENTITY" in chunk or b"<\0" in chunk or b"\0<" in chunk:
                        raise _fault(name, say("the workbook holds what no spreadsheet writes; save it as .xlsx again"))
                    if signs > MOST_SIGNS or rows > MOST_ROWS + _SPARE:
                        raise _fault(
                            name,
                            say("the workbook has more than {most} rows or too many cells; is it the right one?",
                                most=numeral(f"{MOST_ROWS:,}")),
                        )  # fmt: skip


def _text_of(cell: Any) -> str:
    """Return what a person sees in a cell; of a formula, the formula."""
    match cell:
        case None:
            return ""
        case bool():
            return "yes" if cell else "no"
        case datetime():
            return cell.date().isoformat()
        case date():
            return cell.isoformat()
        case float() if cell.is_integer() and abs(cell) < 1e15:
            return str(int(cell))
    formula = getattr(cell, "text", cell)  # a formula over several cells is an object of its own
    return " ".join(str(formula).split())


def _comma_separated(lines: Iterable[list[str]]) -> str:
    """Return the rows as CSV, each filled or cut to the header's length where nothing is lost."""
    width, out = 0, io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    for cells in lines:
        while cells and not cells[-1]:
            cells.pop()
        width = width or len(cells)
        if cells:
            writer.writerow(cells + [""] * (width - len(cells)))
        else:
            out.write("\n")
    return out.getvalue()


def _require_rows(name: str, text: str) -> None:
    """Raise where the text can't be split into rows at all."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    begins = 1
    try:
        for _ in reader:
            begins = reader.line_num + 1
    except csv.Error as error:
        message = say("from here on the rows can't be told apart ({error}); check the quotation marks", error=error)
        raise UserError([Problem(name, begins, "", message)]) from None
    if reader.line_num > MOST_ROWS + 1:
        raise _fault(
            name, say("there are more than {most} lines; is it the right file?", most=numeral(f"{MOST_ROWS:,}"))
        )


def _fault(name: str, message: str) -> UserError:
    return UserError([Problem(name, 0, "", message)])
