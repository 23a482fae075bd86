"""Whatever stands in a file of sales, the reader tells of it and nothing else happens."""

from __future__ import annotations

from datetime import date

from hypothesis import given, settings
from hypothesis import strategies as st
from test_bad_sales import GOOD, HEADER, OTHER

from valuation.errors import UserError
from valuation.sales import read_sales

TODAY = date(2026, 5, 1)
CELLS = st.lists(st.one_of(st.text(max_size=12), st.sampled_from(GOOD.split(","))), min_size=14, max_size=18)


def try_to_read(tables, folder, data: bytes):
    path = folder / "sales.csv"
    path.write_bytes(data)
    try:
        return read_sales(path, tables, today=TODAY)
    except UserError as error:
        told = error.problems
    assert told
    assert all(problem.message for problem in told)
    return None


@settings(max_examples=150, deadline=None)
@given(data=st.binary(max_size=200))
def test_any_bytes(small_tables, tmp_path_factory, data):
    assert try_to_read(small_tables, tmp_path_factory.getbasetemp(), data) is None


@settings(max_examples=200, deadline=None)
@given(rows=st.lists(CELLS.map(",".join), max_size=4))
def test_any_rows_under_a_right_header(small_tables, tmp_path_factory, rows):
    text = "\n".join([HEADER, OTHER, *rows])
    read = try_to_read(small_tables, tmp_path_factory.getbasetemp(), text.encode())
    if read is not None:
        assert {sale.id for sale in read.sales} == set(read.lines)
        assert len(read.sales) == len(read.lines)


@settings(max_examples=200, deadline=None)
@given(place=st.integers(0, len(HEADER) + len(GOOD)), new=st.text(max_size=3))
def test_any_slip_of_the_pen(small_tables, tmp_path_factory, place, new):
    text = f"{HEADER}\n{GOOD}\n"
    read = try_to_read(small_tables, tmp_path_factory.getbasetemp(), (text[:place] + new + text[place + 1 :]).encode())
    assert read is None or len(read.sales) + bool(read.problems) >= 1
