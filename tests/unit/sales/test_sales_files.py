"""Workbooks and exports: a formula is text on the way in, and no export carries a live one."""

from __future__ import annotations

import csv
import zipfile
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

import openpyxl
import pytest

from valuation.errors import UserError
from valuation.facts.columns import columns_of
from valuation.sales import Sale, read_sales, write_sales
from valuation.sales import sheets as sheets_module

TODAY = date(2026, 5, 1)
SALE = Sale(
    id="s1",
    sold_on=date(2025, 3, 4),
    price=1450.25,
    currency="EUR",
    kind="upright",
    size_mm=1320.0,
    year_built=1908,
    tier="plain",
    state="worn",
    restored="part",
    restored_by="own shop",
    sale_kind="private",
    price_kind="achieved",
    finish="walnut",
    source="own ledger",
    note="",
)
COLUMNS = list(columns_of(Sale))
DANGEROUS = ["=1+1", "+49 30", "-oak-", "@home", "'=1", "''+1", "' =2", "= 3", '=HYPERLINK("x","y")']


def write_book(path: Path, cells: dict[str, object]) -> Path:
    book = openpyxl.Workbook()
    book.active.append(COLUMNS)
    plain = {name: getattr(SALE, name) for name in COLUMNS}
    book.active.append([(plain | cells)[name] for name in COLUMNS])
    book.save(path)
    return path


def test_a_workbook_is_read_as_the_csv_file_is(small_tables, tmp_path):
    half_past_nine = datetime(2025, 3, 4, 9, 30)  # noqa: DTZ001 - a workbook knows no time zones
    path = write_book(tmp_path / "sales.xlsx", {"sold_on": half_past_nine, "price": 1450.25})
    read = read_sales(path, small_tables, today=TODAY)
    assert read.sales == (SALE,)
    assert read.lines == {"s1": 2}


def test_a_workbook_keeps_the_rows_numbers_over_blank_rows(small_tables, tmp_path):
    book = openpyxl.Workbook()
    book.active.append(COLUMNS)
    for line, price in ((3, 100), (6, "x")):
        for place, name in enumerate(COLUMNS, start=1):
            value = {"id": f"s{line}", "price": price}.get(name, getattr(SALE, name))
            book.active.cell(line, place, value)
    book.save(tmp_path / "sales.xlsx")
    read = read_sales(tmp_path / "sales.xlsx", small_tables, today=TODAY)
    assert read.lines == {"s3": 3}
    assert [(p.line, p.where) for p in read.problems] == [(6, "price")]


def test_a_formula_in_a_workbook_is_never_computed(small_tables, tmp_path):
    path = write_book(tmp_path / "sales.xlsx", {"price": "=2*725", "note": "=1+1"})
    read = read_sales(path, small_tables, today=TODAY)
    assert read.sales == ()
    assert [(p.where, p.message[:18]) for p in read.problems] == [("price", "this is a formula,")]


def test_a_formula_in_a_column_of_text_is_text(small_tables, tmp_path):
    path = write_book(tmp_path / "sales.xlsx", {"note": "=1+1"})
    assert read_sales(path, small_tables, today=TODAY).sales[0].note == "=1+1"


def test_a_result_that_the_workbook_claims_for_a_formula_is_not_taken(small_tables, tmp_path):
    path = write_book(tmp_path / "sales.xlsx", {"price": "=2*725"})
    claimed = tmp_path / "claimed.xlsx"
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(claimed, "w") as new:
        for part in old.namelist():
            data = old.read(part)
            if part.endswith("sheet1.xml"):
                assert b"<v></v>" in data or b"<v />" in data or b"<v/>" in data
                data = data.replace(b"<v></v>", b"<v>1450</v>").replace(b"<v />", b"<v>1450</v>")
                data = data.replace(b"<v/>", b"<v>1450</v>")
            new.writestr(part, data)
    read = read_sales(claimed, small_tables, today=TODAY)
    assert read.sales == ()
    assert "this is a formula" in read.problems[0].message


@pytest.mark.parametrize("ending", ["csv", "xlsx"])
def test_what_is_written_reads_back_the_same(small_tables, tmp_path, ending):
    sales = [replace(SALE, id=f"s{n}", note=text, finish=text, price=100.1 + n) for n, text in enumerate(DANGEROUS)]
    sales.append(replace(SALE, id="bare", size_mm=None, year_built=None, finish="", note='a "quoted", word'))
    path = tmp_path / f"sales.{ending}"
    write_sales(sales, path)
    read = read_sales(path, small_tables, today=TODAY)
    assert read.problems == ()
    assert read.sales == tuple(sales)


def test_no_cell_of_an_exported_csv_file_starts_a_formula(tmp_path):
    texts = [*DANGEROUS, "\t=1", "\r=1", "\n=1", "  =1"]
    write_sales([replace(SALE, note=text, source=text) for text in texts], tmp_path / "out.csv")
    with (tmp_path / "out.csv").open(encoding="utf-8", newline="") as file:
        cells = [cell for row in csv.reader(file) for cell in row]
    assert not [cell for cell in cells if cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n", " "))]


def test_a_note_of_several_lines_keeps_them_in_a_csv_file(small_tables, tmp_path):
    write_sales([replace(SALE, note="one\r\ntwo\rthree"), replace(SALE, id="s2")], tmp_path / "sales.csv")
    read = read_sales(tmp_path / "sales.csv", small_tables, today=TODAY)
    assert [sale.note for sale in read.sales] == ["one\ntwo\nthree", ""]
    assert read.lines == {"s1": 2, "s2": 5}


def test_no_cell_of_an_exported_workbook_is_a_formula(tmp_path):
    write_sales([replace(SALE, note=text) for text in DANGEROUS], tmp_path / "out.xlsx")
    sheet = openpyxl.load_workbook(tmp_path / "out.xlsx").active
    notes = [row[COLUMNS.index("note")] for row in sheet.iter_rows(min_row=2)]
    assert [note.value for note in notes] == DANGEROUS
    assert {note.data_type for note in notes} == {"s"}
    assert all(note.quotePrefix for note in notes)
    assert b"<f>" not in zipfile.ZipFile(tmp_path / "out.xlsx").read("xl/worksheets/sheet1.xml")


def test_sales_are_not_written_to_another_sort_of_file(tmp_path):
    with pytest.raises(ValueError, match=r"as .csv or .xlsx, not as '.ods'"):
        write_sales([SALE], tmp_path / "out.ods")


def test_the_byte_order_mark_of_a_spreadsheet_is_taken_off(small_tables, tmp_path):
    write_sales([SALE], tmp_path / "sales.csv")
    (tmp_path / "marked.csv").write_bytes(b"\xef\xbb\xbf" + (tmp_path / "sales.csv").read_bytes())
    assert read_sales(tmp_path / "marked.csv", small_tables, today=TODAY).sales == (SALE,)


@pytest.mark.parametrize(
    ("name", "data", "fragment"),
    [
        ("sales.ods", b"x", "the file is neither .csv nor .xlsx; save it as one of them"),
        ("sales.csv", b"", "the file is empty"),
        ("sales.csv", "é".encode("latin-1"), "is not UTF-8; save the file as UTF-8"),
        ("sales.csv", "id,price\n".encode("utf-16"), "the file is UTF-16; save it as UTF-8"),
        ("sales.csv", b"id,price\n1,\0", "a NUL stands in the text"),
        ("sales.csv", b'id,price\n"a"b,1\n', "from here on the rows can't be told apart"),
        ("sales.xlsx", b"id,price", "the workbook can't be read"),
        ("sales.xlsx", b"\xd0\xcf\x11\xe0rest", "of the old sort or locked by a password"),
        ("sales.csv", b"x" * 5_000_001, "larger than 5,000,000 bytes; is it the right one?"),
        ("sales.csv", b"a\n" * 20_002, "more than 20,000 lines; is it the right file?"),
    ],
)
def test_a_file_that_can_not_be_used_says_why(small_tables, tmp_path, name, data, fragment):
    (tmp_path / name).write_bytes(data)
    with pytest.raises(UserError) as caught:
        read_sales(tmp_path / name, small_tables, today=TODAY)
    assert fragment in str(caught.value)


def test_a_file_that_is_not_there_says_so(small_tables, tmp_path):
    with pytest.raises(UserError, match="the file is missing; check its name"):
        read_sales(tmp_path / "none.csv", small_tables, today=TODAY)


def test_an_empty_sheet_says_so(small_tables, tmp_path):
    openpyxl.Workbook().save(tmp_path / "empty.xlsx")
    with pytest.raises(UserError, match="the first sheet is empty"):
        read_sales(tmp_path / "empty.xlsx", small_tables, today=TODAY)


def test_a_sheet_without_end_is_refused(small_tables, tmp_path, monkeypatch):
    monkeypatch.setattr(sheets_module, "MOST_ROWS", 1)
    write_sales([SALE, replace(SALE, id="s2")], tmp_path / "sales.xlsx")
    with pytest.raises(UserError, match=r"there are more than 1 rows; is it the right sheet\?"):
        read_sales(tmp_path / "sales.xlsx", small_tables, today=TODAY)


def test_a_workbook_that_unpacks_without_end_is_refused(small_tables, tmp_path):
    with zipfile.ZipFile(tmp_path / "bomb.xlsx", "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/workbook.xml", b" " * 60_000_001)
    with pytest.raises(UserError, match="unpacks to more than 60,000,000 bytes"):
        read_sales(tmp_path / "bomb.xlsx", small_tables, today=TODAY)


def test_a_control_character_in_a_workbook_is_told(small_tables, tmp_path):
    path = write_book(tmp_path / "sales.xlsx", {"note": "bell"})
    ringing = tmp_path / "ringing.xlsx"
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(ringing, "w") as new:
        for part in old.namelist():
            new.writestr(part, old.read(part).replace(b"bell", b"be\x7fll"))
    with pytest.raises(UserError, match="the control character"):
        read_sales(ringing, small_tables, today=TODAY)
