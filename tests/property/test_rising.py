"""What must hold of every learned table, whatever was counted."""

from __future__ import annotations

import csv
import io

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from valuation.engine.rows import SEVERITIES, ReadingRow
from valuation.files.read_csv import read_table
from valuation.learn.rising import MARGIN, nearest_rising, percent_written, rise, written
from valuation.rules.rising import not_rising
from valuation.rules.row_checks import check_row

tables = arrays(float, st.tuples(st.sampled_from([2, 3, 4]), st.just(4)), elements=st.floats(0.05, 500))


@settings(deadline=None, max_examples=60)
@given(tables)
def test_it_is_a_table_and_it_rises(counts):
    found = nearest_rising(counts)
    assert np.allclose(found.sum(axis=1), 1)
    assert rise(found).min() >= MARGIN - 1e-9


@settings(deadline=None, max_examples=60)
@given(tables)
def test_what_rises_already_is_left_as_it_is(counts):
    once = nearest_rising(counts)
    assert np.allclose(nearest_rising(once * 100), once, atol=1e-4)


@settings(deadline=None, max_examples=60)
@given(tables, st.floats(1.5, 50))
def test_more_of_the_same_counts_give_the_same_table(counts, times):
    assert np.allclose(nearest_rising(counts), nearest_rising(counts * times), atol=1e-3)


@settings(deadline=None, max_examples=60)
@given(arrays(float, (4, 4), elements=st.floats(0.05, 500)))
def test_as_it_is_written_it_passes_every_check_of_the_tables(counts):
    cells = written(nearest_rising(counts))
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(["id", "given", *SEVERITIES, "source", "note"])
    writer.writerows(["learned", given, *row, "invented", ""] for given, row in zip(SEVERITIES, cells, strict=True))
    rows, problems = read_table(text.getvalue(), "readings.csv", ReadingRow)
    assert not problems
    assert [fault for _, row in rows for fault in check_row(row)] == []
    assert list(not_rising([[getattr(row, name) for name in SEVERITIES] for _, row in rows])) == []


@settings(deadline=None, max_examples=60)
@given(arrays(float, (5, 4), elements=st.floats(1e-5, 500)))
def test_shares_of_a_hundred_add_up_leave_nothing_out_and_stay_near(counts):
    table = counts / counts.sum(axis=1, keepdims=True)
    shares = np.array([[float(cell) for cell in row] for row in percent_written(table)])
    assert np.abs(shares.sum(axis=1) - 100).max() < 1e-9
    assert shares.min() > 0
    assert np.abs(shares - 100 * table).max() <= 0.02
