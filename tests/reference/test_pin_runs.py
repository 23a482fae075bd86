"""Rows of loose pins, and the chance of them, against plain twins that try every way to place the loose ones."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from valuation.measure import pin_runs
from valuation.measure.pin_runs import loose_runs


def longest_row(loose: set[tuple[int, int]], tried: list[tuple[int, int]]) -> int:
    """Return the longest row in the order of keys and strings, or along one string: written as a person would."""
    ways = [sorted(tried), *([pin for pin in sorted(tried) if pin[1] == string] for string in (1, 2, 3))]
    return max(
        len(list(group)) for way in ways if way for _, group in itertools.groupby(way, key=lambda pin: pin in loose)
        if _
    ) if loose else 0  # fmt: skip


FIELDS = [
    [(key, 1) for key in range(1, 9)],
    [(key, string) for key in (40, 41, 42) for string in (1, 2, 3)],
    [(1, 1), (5, 1), (9, 2), (20, 2), (30, 3), (31, 1), (32, 2), (60, 3), (61, 3), (88, 0)],
]


@pytest.mark.parametrize("tried", FIELDS)
@pytest.mark.parametrize("bad", [2, 3, 4])
def test_the_chance_is_the_share_of_all_ways_that_hold_so_long_a_row(tried, bad):
    ways = [longest_row(set(loose), tried) for loose in itertools.combinations(tried, bad)]
    for loose in itertools.islice(itertools.combinations(tried, bad), 0, None, 7):
        runs = loose_runs({pin: pin in loose for pin in tried}, rng=np.random.default_rng(0))
        seen = longest_row(set(loose), tried)
        assert (len(runs[0].pins) if runs else 1) == seen
        for run in runs:
            as_long = sum(way >= len(run.pins) for way in ways)
            assert run.chance == pytest.approx(as_long / len(ways), abs=1e-12)


def ways_without_a_row(tried: int, bad: int, length: int) -> int:
    """Return in how many ways `bad` loose pins lie among `tried` in one line with no row of `length`.

    The firm pins leave gaps before, between and behind them, each filled by fewer than `length` loose ones: counted by
    inclusion and exclusion, as for stars and bars with a limit (Feller, "An Introduction to Probability Theory and Its
    Applications", volume 1, Wiley, 1968, chapter II; from memory).
    """
    firm = tried - bad
    return sum(
        (-1) ** j * math.comb(firm + 1, j) * math.comb(tried - j * length, firm)
        for j in range(firm + 2)
        if tried - j * length >= firm
    )


@pytest.mark.parametrize(("tried", "bad", "length"), [(24, 4, 3), (24, 3, 2), (12, 6, 4), (30, 3, 3)])
def test_the_chance_in_one_line_is_that_of_the_closed_form(tried, bad, length):
    loose = [*range(1, length + 1), *range(length + 2, length + 2 + 2 * (bad - length), 2)]
    field = {(key, 0): key in loose for key in range(1, tried + 1)}
    run = loose_runs(field, rng=np.random.default_rng(0))[0]
    assert len(run.pins) == length
    assert run.chance == pytest.approx(1 - ways_without_a_row(tried, bad, length) / math.comb(tried, bad))


def test_dealing_out_agrees_with_the_closed_form():
    # 8 of 40 loose, 4 of them in a row: 77 million ways. |z| < 4 of 9999 deals, the seed fixed.
    loose = (5, 6, 7, 8, 15, 20, 25, 30)
    field = {(key, 0): key in loose for key in range(1, 41)}
    chance = loose_runs(field, rng=np.random.default_rng(0))[0].chance
    exact = 1 - ways_without_a_row(40, 8, 4) / math.comb(40, 8)
    assert chance == pytest.approx(exact, abs=4 * math.sqrt(exact * (1 - exact) / 9999))


def test_dealing_out_agrees_with_counting_where_pins_are_followed_in_several_ways(monkeypatch):
    tried = FIELDS[1]
    field = {pin: pin in ((40, 2), (41, 2), (42, 2), (42, 3)) for pin in tried}
    counted = loose_runs(field, rng=np.random.default_rng(0))
    monkeypatch.setattr(pin_runs, "MOST_COUNTED", 1)
    dealt = loose_runs(field, rng=np.random.default_rng(0))
    assert [run.pins for run in counted] == [run.pins for run in dealt]
    for exact, found in zip(counted, dealt, strict=True):
        assert found.chance == pytest.approx(exact.chance, abs=4 * math.sqrt(0.25 / 9999))


def test_a_row_along_one_string_is_found_between_firm_strings_of_the_same_keys():
    field = {(key, string): string == 2 for key in range(40, 46) for string in (1, 2, 3)}
    (run,) = loose_runs(field, rng=np.random.default_rng(0))
    assert (run.string, run.pins) == (2, tuple((key, 2) for key in range(40, 46)))
    assert run.chance < 0.01


def test_a_row_within_a_longer_one_is_not_told_twice():
    field = {(key, string): key in (2, 3) for key in range(1, 6) for string in (1, 2, 3)}
    (run,) = loose_runs(field, rng=np.random.default_rng(0))
    assert run.pins == ((2, 1), (2, 2), (2, 3), (3, 1), (3, 2), (3, 3))


def test_where_none_or_all_are_loose_there_is_nothing_to_wonder_at():
    field = {(key, 1): False for key in range(1, 9)}
    assert loose_runs(field, rng=np.random.default_rng(0)) == ()
    (run,) = loose_runs(dict.fromkeys(field, True), rng=np.random.default_rng(0))
    assert (len(run.pins), run.chance) == (8, 1.0)
    assert loose_runs({}, rng=np.random.default_rng(0)) == ()


def test_too_few_deals_are_refused():
    with pytest.raises(ValueError, match="at least 99 times"):
        loose_runs({(1, 1): True}, rng=np.random.default_rng(0), deals=98)
