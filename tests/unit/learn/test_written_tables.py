"""Learned tables as they are to stand in a file."""

from __future__ import annotations

import numpy as np
import pytest

from valuation.learn.rising import nearest_rising, written


def test_a_table_is_written_in_short_decimals():
    table = np.array([[0.6, 0.25, 0.1, 0.05], [1 / 3, 1 / 3, 2 / 9, 1 / 9]])
    assert written(table) == (("0.6", "0.25", "0.1", "0.05"), ("0.3334", "0.3333", "0.2222", "0.1111"))


def test_more_decimals_are_taken_where_fewer_would_break_it():
    table = nearest_rising(np.array([[5000.0, 1, 0.1, 0.01], [4990.0, 1, 0.1, 0.01]]))
    cells = written(table)
    assert max(len(cell) for row in cells for cell in row) > len("0.1234")
    assert "0" not in [cell for row in cells for cell in row]


def test_a_table_that_does_not_rise_is_never_written():
    with pytest.raises(ValueError, match="does not rise in ratio"):
        written(np.array([[0.2, 0.8], [0.7, 0.3]]))
