"""Shares of small groups lean on that of all, the more the fewer cases they have."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.learn.pooled import pooled
from valuation.learn.shares import share_of


def test_nothing_is_told_where_there_is_no_case():
    assert pooled([share_of(0, 0)]) == ()


def test_a_group_of_few_leans_on_all_and_one_of_many_stands_for_itself():
    few, many = pooled([share_of(2, 2), share_of(30, 100)])
    assert 0.3 < few.share < 0.7
    assert many.share == pytest.approx(0.3, abs=0.03)


def test_a_group_without_a_case_lies_where_all_of_them_do():
    empty, *_ = pooled([share_of(0, 0), share_of(20, 50), share_of(21, 50)])
    assert empty.share == pytest.approx(41 / 100, abs=0.01)


def test_six_cases_in_all_tell_little():
    for told in pooled([share_of(1, 4), share_of(1, 2)]):
        assert told.high - told.low > 0.3


def test_groups_that_differ_more_than_by_chance_stand_for_themselves():
    low, high = pooled([share_of(5, 50), share_of(45, 50)])
    assert low.share < 0.15
    assert high.share > 0.85


@given(st.lists(st.tuples(st.integers(0, 30), st.integers(0, 30)), min_size=1, max_size=8))
def test_every_share_lies_in_its_band_between_none_and_all(counts):
    for told in pooled([share_of(yes, yes + no) for yes, no in counts]):
        assert 0 <= told.low <= told.share <= told.high <= 1
