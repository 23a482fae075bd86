"""The workbook, read by another library: every cell with its type, no letter lost, long sheets going on in others."""

from __future__ import annotations

import io
import math
from datetime import date, datetime

import pytest
from openpyxl import load_workbook

from valuation.service import workbook as made
from valuation.service.workbook import workbook

COLUMNS: dict[str, type] = {
    "visit": str, "invented": bool, "day": date, "price": float, "hours_done": float, "count": int
}  # fmt: skip
ROWS = [
    ("A & B <c> “ü” 😀", True, date(2026, 1, 2), -1234.5, 2.25, 3),
    (" two\nlines ", False, date(1850, 1, 2), None, math.nan, None),
    ("=1+1", None, None, 0.1 + 0.2, 1e-7, 10**12),
    ("torn \x01 and \ud800", None, date(1900, 2, 28), 1e300, None, 0),
]


def sheets(rows=ROWS):
    return load_workbook(io.BytesIO(workbook([("things", COLUMNS, iter(rows))])))


def test_every_cell_comes_back_as_what_it_is():
    [sheet] = sheets()
    head, *rows = sheet.iter_rows()
    assert [cell.value for cell in head] == list(COLUMNS)
    assert sheet.freeze_panes == "A2"
    first, second, third, last = ([cell.value for cell in row] for row in rows)
    assert first == ["A & B <c> “ü” 😀", True, datetime(2026, 1, 2), -1234.5, 2.25, 3]  # noqa: DTZ001 - as sheets have it
    assert second == [" two\nlines ", False, datetime(1850, 1, 2), None, None, None]  # noqa: DTZ001
    assert third == ["=1+1", None, None, 0.1 + 0.2, 1e-7, 10**12]
    assert last[0] == "torn   and ?"
    assert last[3] == 1e300
    assert [cell.number_format for cell in rows[0]] == [
        "General", "General", "yyyy-mm-dd", "#,##0.00", "0.00", "General"
    ]  # fmt: skip


def test_what_looks_like_a_formula_is_text_and_stays_so_when_it_is_edited():
    [sheet] = sheets()
    cell = sheet["A4"]
    assert (cell.value, cell.data_type, cell.quotePrefix) == ("=1+1", "s", True)
    assert not sheet["A2"].quotePrefix


@pytest.mark.parametrize(("count", "held"), [(0, [0]), (3, [3]), (4, [3, 1]), (6, [3, 3]), (7, [3, 3, 1])])
def test_what_does_not_fit_into_a_sheet_goes_on_in_another(monkeypatch, count, held):
    monkeypatch.setattr(made, "_MOST_ROWS", 3)
    book = sheets([(f"row {n}", None, None, None, None, n) for n in range(count)])
    assert book.sheetnames == ["things", "things_2", "things_3"][: len(held)]
    rows = [[row[5] for row in sheet.iter_rows(min_row=2, values_only=True)] for sheet in book]
    assert [len(own) for own in rows] == held
    assert [n for own in rows for n in own] == list(range(count))
