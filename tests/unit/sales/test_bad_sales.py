"""One fault at a time in a file of sales that is otherwise whole: each is told with its place and what to do."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from valuation.errors import UserError
from valuation.sales import read_sales
from valuation.service.sales import open_sales

TODAY = date(2026, 5, 1)
HEADER = (
    "id,sold_on,price,currency,kind,size_mm,year_built,tier,state,restored,restored_by,"
    "sale_kind,price_kind,finish,source,note"
)
GOOD = "s1,2025-03-04,1450,EUR,upright,1320,1908,plain,worn,no,,private,achieved,walnut,own ledger,"
OTHER = "s2,2024-07-20,21500.50,EUR,grand,,,fine,sound,full,own shop,dealer,asked,,own ledger,a note"

# what, in the first sale: old text, new text, column, part of the message
ROWS = [
    ("no id", "s1,", ",", "id", "the cell may not be empty: short name of the sale"),
    ("id with capitals", "s1,", "S-1,", "id", "'S-1' is not a name for an id; use only a-z, 0-9 and _"),
    ("no day", "2025-03-04", "", "sold_on", "may not be empty: day of the sale"),
    ("day in another order", "2025-03-04", "04.03.2025", "sold_on", "is not a day; write it like 2026-05-04"),
    ("day that never was", "2025-03-04", "2025-02-30", "sold_on", "'2025-02-30' is not a day"),
    ("day still to come", "2025-03-04", "2026-05-02", "sold_on", "is still to come (today is 2026-05-01)"),
    ("no price", "1450", "", "price", "may not be empty: price as paid or asked"),
    ("words for a price", "1450", "a lot", "price", "'a lot' is not a number; write it like 4 or 4.5"),
    ("price with its sign", "1450", "1450 EUR", "price", "'1450 EUR' is not a number"),
    ("decimal comma", "1450", '"1450,00"', "price", "has a comma; write decimals with a point"),
    ("price of nothing", "1450", "0", "price", "0 is too small; it must be above 0 money"),
    ("price below nothing", "1450", "-200", "price", "-200 is too small"),
    ("price beyond belief", "1450", "99999999", "price", "is too large; the greatest is 1e+07 money"),
    ("formula for a price", "1450", "=2*725", "price", "this is a formula, and formulas are not computed"),
    ("other money", "EUR", "USD", "currency", "'USD' is not the shop's money; write the price in EUR"),
    ("no kind of piano", "upright", "spinet", "kind", "'spinet' is not a choice; write 'upright' or 'grand'"),
    ("size in inches", "1320", "52 in", "size_mm", "'52 in' is not a number"),
    ("size in centimetres", "1320", "132", "size_mm", "132 is too small; the least is 600 mm"),
    ("upright like a grand", "1320", "2100", "size_mm", "too much for the kind 'upright'; sizes.csv ends at 1600"),
    ("half a year", "1908", "1908.5", "year_built", "'1908.5' is not a whole number"),
    ("year before pianos", "1908", "1608", "year_built", "1608 is too small; the least is 1700"),
    ("built after it was sold", "1908", "2026", "year_built", "2026 is after the sale in 2025; correct one of the two"),
    ("tier that isn't there", "plain", "plane", "tier", "'plane' is not in tiers.csv; did you mean 'plain'?"),
    ("state that isn't one", "worn", "bad", "state", "'bad' is not a choice; write 'sound', 'serviceable'"),
    ("restored perhaps", ",no,", ",perhaps,", "restored", "'perhaps' is not a choice; write 'no', 'part' or 'full'"),
    ("restorer of nothing", ",no,,", ",no,own shop,", "restored_by", "it says by whom, but restored is 'no'"),
    ("kind of sale", "private", "swap", "sale_kind", "'swap' is not a choice; write 'auction', 'private' or 'dealer'"),
    ("kind of price", "achieved", "paid", "price_kind", "'paid' is not a choice; write 'asked' or 'achieved'"),
    ("no source", "own ledger", "", "source", "may not be empty: where the sale is known from"),
    ("note without end", "own ledger,", f"own ledger,{'x' * 1001}", "note", "1,001 letters; 1,000 are the most"),
    ("cell too few", "own ledger,", "own ledger", "", "has 15 cells, fewer than the 16 columns"),
    ("cell too many", "own ledger,", "own ledger,,", "", "has 17 cells, more than the 16 columns"),
    ("empty row", GOOD, "," * 15, "", "the row is empty; delete it"),
    ("id of another", "s1,", "s2,", "id", "'s2' stands on line 2 already; give each sale its own"),
]  # fmt: skip

HEADERS = [
    ("missing column", "price_kind,", "", "price_kind", "the column is missing; add it to the first line"),
    ("unknown column", "finish", "finnish", "finnish", "is not a column of this table; did you mean 'finish'?"),
    ("column twice", "finish", "note", "note", "the column stands twice; delete one"),
    ("semicolons", ",", ";", "", "the columns are separated by semicolons; save the file as comma-separated"),
]


def write(folder: Path, text: str) -> Path:
    path = folder / "sales.csv"
    path.write_text(text, encoding="utf-8", newline="")
    return path


def cases(listed: list) -> list:
    return [pytest.param(*case[1:], id=case[0]) for case in listed]


def test_a_file_without_fault_is_read_whole(small_tables, tmp_path):
    read = read_sales(write(tmp_path, f"{HEADER}\n{GOOD}\n{OTHER}\n"), small_tables, today=TODAY)
    assert [sale.id for sale in read.sales] == ["s1", "s2"]
    assert read.problems == read.duplicates == ()
    first, second = read.sales
    assert (first.price, first.size_mm, first.year_built, first.finish) == (1450.0, 1320.0, 1908, "walnut")
    assert (second.price, second.size_mm, second.year_built, second.restored_by) == (21500.5, None, None, "own shop")
    assert read.lines == {"s1": 2, "s2": 3}


@pytest.mark.parametrize(("old", "new", "where", "fragment"), cases(ROWS))
def test_a_bad_row_is_told_and_the_good_one_kept(small_tables, tmp_path, old, new, where, fragment):
    assert old in GOOD, "the test no longer changes anything"
    bad = GOOD.replace(old, new, 1)
    read = read_sales(write(tmp_path, f"{HEADER}\n{OTHER}\n{bad}\n"), small_tables, today=TODAY)
    assert [sale.id for sale in read.sales] == ["s2"]
    told = [(p.file, p.line, p.where) for p in read.problems if fragment in p.message]
    assert told == [("sales.csv", 3, where)], "\n".join(map(str, read.problems))


def test_at_least_twenty_kinds_of_bad_rows_are_tried():
    assert len(ROWS) >= 20


@pytest.mark.parametrize(("old", "new", "where", "fragment"), cases(HEADERS))
def test_a_wrong_line_of_column_names_refuses_the_file(small_tables, tmp_path, old, new, where, fragment):
    header = HEADER.replace(old, new) if old == "," else HEADER.replace(old, new, 1)
    with pytest.raises(UserError) as caught:
        read_sales(write(tmp_path, f"{header}\n{GOOD}\n"), small_tables, today=TODAY)
    assert [p for p in caught.value.problems if (p.line, p.where) == (1, where) and fragment in p.message]


def test_all_faults_of_a_row_are_told_at_once(small_tables, tmp_path):
    bad = GOOD.replace("1450", "x").replace("plain", "y").replace("worn", "z")
    read = read_sales(write(tmp_path, f"{HEADER}\n{bad}\n"), small_tables, today=TODAY)
    assert {p.where for p in read.problems} >= {"price", "state"}


def test_the_strict_reader_refuses_what_the_other_lets_a_person_decide(small_tables, tmp_path):
    path = write(tmp_path, f"{HEADER}\n{GOOD}\n{OTHER.replace('EUR', 'USD')}\n")
    with pytest.raises(UserError, match=r"sales.csv:3: currency: 'USD' is not the shop's money"):
        open_sales(path, small_tables, TODAY)
    assert len(open_sales(path, small_tables, TODAY, keep_good=True)[0].sales) == 1


def test_the_same_piano_told_twice_is_found_and_kept(small_tables, tmp_path):
    again = GOOD.replace("s1,2025-03-04,1450", "s3,2025-03-29,1500").replace("1320", "1310").replace("walnut", "")
    read = read_sales(write(tmp_path, f"{HEADER}\n{again}\n{GOOD}\n{OTHER}\n"), small_tables, today=TODAY)
    assert len(read.sales) == 3
    (pair,) = read.duplicates
    assert (pair.first, pair.second, pair.line) == ("s1", "s3", 2)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("2025-03-04", "2025-08-04"),
        ("1450", "1800"),
        ("1320", "1380"),
        ("1908", "1912"),
        ("plain", "fine"),
        ("walnut", "oak"),
        ("worn", "sound"),
    ],
)
def test_a_piano_that_differs_in_one_thing_is_another_one(small_tables, tmp_path, old, new):
    other = GOOD.replace("s1", "s3").replace(old, new, 1)
    read = read_sales(write(tmp_path, f"{HEADER}\n{GOOD}\n{other}\n"), small_tables, today=TODAY)
    assert len(read.sales) == 2
    assert read.duplicates == ()
