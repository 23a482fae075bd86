"""One workbook with a sheet for each thing: evaluations, lines, hours, materials, money, returns, teardown, papers.

The columns of a sheet are those of the view of that name in the database. Days and money are days and numbers; no cell
is a formula; the head stays in place.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date
from functools import lru_cache
from io import BytesIO, TextIOWrapper
from itertools import chain, islice
from math import isfinite
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from xml.sax.saxutils import escape
from zipfile import ZIP_DEFLATED, ZipFile

from valuation.files.plain_cells import is_formula

_THING: dict[str, type] = {"visit": str, "invented": bool, "title": str}

LEDGER_SHEETS: dict[str, dict[str, type]] = {
    "agreed_lines": _THING
    | {"operation": str, "part": str, "agreed_on": date, "hours": float, "labour": float}
    | {"materials": float, "outside": float, "amount": float},
    "if_found_lines": _THING
    | {"operation": str, "part": str, "chance": float, "price": float, "answer": str, "answered_on": date},
    "changes": _THING | {"what": str, "day": date, "price": float, "hours": float},
    "hours_worked": _THING | {"operation": str, "day": date, "person": str, "hours": float, "note": str},
    "materials_used": _THING
    | {"operation": str, "material": str, "quantity": float, "cost": float, "day": date, "person": str},
    "money_moved": _THING | {"what": str, "day": date, "amount": float, "note": str},
    "returned": _THING
    | {"day": date, "days_since_delivery": int, "cause": str, "part": str, "hours": float}
    | {"cost": float, "person": str, "note": str},
    "teardown": _THING | {"fault": str, "part": str, "severity": str},
    "papers": _THING
    | {"number": int, "what": str, "option": str, "language": str, "made_at": str, "made_by": str}
    | {"priced_on": date},
}
"""Sheet -> its columns, each with the type of what stands in it; the same as in the view of that name."""

_MONEY = {"amount", "price", "cost", "labour", "materials", "outside", "fee", "value_after", "premium"}
_MONEY_FORMAT, _HOURS_FORMAT, _DAY_FORMAT = "#,##0.00", "0.00", "yyyy-mm-dd"
_QUOTED = "text that looks like a formula"
_STYLES = (_MONEY_FORMAT, _HOURS_FORMAT, _DAY_FORMAT, _QUOTED)
_SHEETS = "xl/worksheets/"
_QUICK = 1
"""How hard it is packed: harder takes five times as long for a tenth less."""

_MOST_ROWS = 1_048_575
"""A sheet holds no more below its head."""

_LATIN = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")


def typed(value: Any, kind: type) -> Any:
    """Return a cell as its column has it; SQLite has neither truth values nor days."""
    if value is None or (kind is not str and value == ""):
        return None
    if kind is date:
        try:
            return date.fromisoformat(value)
        except ValueError:
            return None  # what was entered as the day of a visit is none
    return kind(value)


def workbook(sheets: Iterable[tuple[str, dict[str, type], Iterator[tuple]]]) -> bytes:
    """Return a workbook.

    Parameters
    ----------
    sheets : iterable of (name, columns, rows)
        Rows come as they are read: none but the one being written is held. What doesn't fit into one sheet goes on in
        another of that name and a number.

    Notes
    -----
    openpyxl makes all of it but the rows: these are put between, as ECMA-376 (Office Open XML, part 1, 18.3.1.4 and
    18.18.11) has them. Of 50,000 jobs, 300,000 rows of ten sheets, that takes 7 s of the processor at flat memory,
    3 s of them to read. openpyxl's own rows take 39 s, where 30 are the bar; XlsxWriter's take 21 s, and it writes
    figures with 16 digits only, so that sums of a sheet are no longer those of the page to the last.
    """
    made: list[tuple[str, dict[str, type]]] = []
    with TemporaryDirectory() as folder:
        path = Path(folder) / "book.xlsx"
        with ZipFile(path, "w", ZIP_DEFLATED, compresslevel=_QUICK) as packed:
            for name, columns, rows in sheets:
                ahead, part = next(rows, None), 0
                while ahead is not None or not part:
                    part += 1
                    made.append((name if part == 1 else f"{name}_{part}", columns))
                    here = chain([] if ahead is None else [ahead], islice(rows, _MOST_ROWS - 1))
                    _write_sheet(packed, len(made), columns, here)
                    ahead = next(rows, None)
            with ZipFile(BytesIO(_empty(made))) as empty:
                for info in empty.infolist():
                    if not info.filename.startswith(_SHEETS):
                        packed.writestr(info, empty.read(info))
        return path.read_bytes()


def _write_sheet(packed: ZipFile, number: int, columns: dict[str, type], rows: Iterable[tuple]) -> None:
    """Write one sheet, its rows between the head and the end that the library gives it."""
    with ZipFile(BytesIO(_empty([("sheet", columns)]))) as empty:
        before, end, after = empty.read(f"{_SHEETS}sheet1.xml").decode().rpartition("</sheetData>")
    cells = [_writer(place, column, kind) for place, (column, kind) in enumerate(columns.items())]
    with packed.open(f"{_SHEETS}sheet{number}.xml", "w", force_zip64=True) as raw:
        sheet = TextIOWrapper(raw, encoding="utf-8", write_through=False)
        sheet.write(before)
        for line, row in enumerate(rows, start=2):
            told = (write(value, line) for write, value in zip(cells, row, strict=True) if value is not None)
            sheet.write(f'<row r="{line}">{"".join(told)}</row>')
        sheet.write(end + after)
        sheet.flush()
        sheet.detach()


def _empty(sheets: Sequence[tuple[str, dict[str, type]]]) -> bytes:
    """Return a workbook of sheets with their heads and no rows; every one knows all of `_STYLES`."""
    # here, not above: only a workbook needs it
    from openpyxl import Workbook
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.utils import get_column_letter

    book = Workbook(write_only=True)
    for name, columns in sheets:
        sheet = book.create_sheet(name)
        sheet.freeze_panes = "A2"
        for place, column in enumerate(columns, start=1):
            sheet.column_dimensions[get_column_letter(place)].width = max(12, len(column) + 2)
        sheet.append(list(columns))
        for form in _STYLES:
            cell = WriteOnlyCell(sheet)
            if form == _QUOTED:
                cell.quotePrefix = True
            else:
                cell.number_format = form
            cell.style_id  # noqa: B018 - asking for its number enters the style into the book: 1, 2, ... in this order
    out = BytesIO()
    book.save(out)
    return out.getvalue()


def _writer(place: int, column: str, kind: type) -> Callable[[Any, int], str]:
    """Return what writes a cell of a column as XML."""
    from openpyxl.utils import get_column_letter

    start, form = f'<c r="{get_column_letter(place + 1)}', _format(column, kind)
    style = f'" s="{_STYLES.index(form) + 1}"' if form else '"'
    quoted = f'" s="{_STYLES.index(_QUOTED) + 1}"'

    def text(value: str, line: int) -> str:
        plain = _LATIN.sub(" ", value).encode("utf-8", "replace").decode()  # letters that a workbook can't hold
        own = quoted if is_formula(plain) else style  # else some programs take it for one when it is edited
        return f'{start}{line}{own} t="inlineStr"><is><t xml:space="preserve">{escape(plain)}</t></is></c>'

    def truth(value: bool, line: int) -> str:
        return f'{start}{line}{style} t="b"><v>{value:d}</v></c>'

    def day(value: date, line: int) -> str:
        return f"{start}{line}{style}><v>{_day_number(value)}</v></c>"

    def figure(value: float, line: int) -> str:
        return f"{start}{line}{style}><v>{value!r}</v></c>" if isfinite(value) else ""

    writers: dict[type, Callable[[Any, int], str]] = {str: text, bool: truth, date: day}
    return writers.get(kind, figure)


@lru_cache(maxsize=20_000)
def _day_number(day: date) -> float:
    from openpyxl.utils.datetime import to_excel

    return to_excel(day)


def _format(column: str, kind: type) -> str:
    if kind is date:
        return _DAY_FORMAT
    if kind is float:
        money = column in _MONEY or column.startswith("price_")
        return _MONEY_FORMAT if money else _HOURS_FORMAT if column.startswith("hours") else ""
    return ""
