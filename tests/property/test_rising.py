"""What must hold of every learned table, whatever was counted."""

from __future__ import annotations

import csv
import io

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from valuation.engine.rows import GRADES, STATES, StrengthRow
from valuation.files.check_odds import _not_rising
from valuation.files.read_csv import read_table
from valuation.files.row_checks import check_row
from valuation.learn.rising import MARGIN, nearest_rising, rise, written

tables = arrays(float, st.tuples(st.sampled_from([2, 3, 4]), st.just(4)), elements=st.floats(0.05, 500))
leasts = st.sampled_from([0.0, 0.005, 0.02])


@settings(deadline=None, max_examples=60)
@given(tables, leasts)
def test_it_is_a_table_it_rises_and_keeps_the_least_share(counts, least):
    found = nearest_rising(counts, least=least)
    assert np.allclose(found.sum(axis=1), 1)
    assert rise(found).min() >= MARGIN - 1e-9
    assert found.min() >= least - 1e-6


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
    writer.writerow(["id", "given", *GRADES, "source", "note"])
    writer.writerows(["learned", state, *row, "invented", ""] for state, row in zip(STATES, cells, strict=True))
    rows, problems = read_table(text.getvalue(), "strengths.csv", StrengthRow)
    assert not problems
    assert [fault for _, row in rows for fault in check_row(row)] == []
    assert list(_not_rising([(i, row) for i, (_, row) in enumerate(rows)], GRADES, "given")) == []


@settings(deadline=None, max_examples=60)
@given(arrays(float, (3, 4), elements=st.floats(0.05, 500)))
def test_written_shares_add_up_keep_the_least_and_stay_near(counts):
    table = nearest_rising(counts, least=0.005)
    shares = np.array([[float(cell) for cell in row] for row in written(table, least=0.005)])
    assert np.abs(shares.sum(axis=1) - 1).max() < 1e-12
    assert shares.min() >= 0.005
    assert np.abs(shares - table).max() <= 2e-4
