"""Pins against printed values. Each names its source; the tolerance is half of its last printed digit."""

from __future__ import annotations

import itertools
import math
from collections import Counter

import numpy as np
import pytest
from scipy import stats

from valuation.facts.sampling import sampled
from valuation.facts.visit import Reading
from valuation.measure.pin_deal import deal_pins, pins_of
from valuation.measure.pin_sections import loose_by_section, torque_by_section
from valuation.measure.pins import (
    chance_to_settle,
    loose_in_all,
    more_pins_to_settle,
)
from valuation.readings.grade import find_taken
from valuation.readings.pins import read_pins
from valuation.rules import load_tables

TABLES = load_tables()


@pytest.mark.parametrize(
    ("bad", "low", "high", "at_most"),
    [
        (0, 0, 30, 24),
        (1, 1, 45, 39),
        (2, 3, 58, 51),
        (3, 7, 70, 63),
        (4, 12, 81, 74),
        (5, 18, 92, 85),
        (6, 24, 102, 95),
    ],
)
def test_24_of_224_pins_leave_so_many_loose(bad, low, high, at_most):
    found = loose_in_all(bad, 24, 224)
    assert (found.low, found.high, found.at_most) == (low, high, at_most)


@pytest.mark.parametrize(("tried", "in_all"), [(5, 12), (12, 12), (7, 30)])
def test_finite_limits_agree_with_a_plain_search(tried, in_all):
    # A second, slow and plain implementation on SciPy's hypergeometric law: every count of loose pins is tried.
    tail = 0.025
    for bad in range(tried + 1):
        possible = range(bad, in_all - tried + bad + 1)
        high = max(loose for loose in possible if stats.hypergeom.cdf(bad, in_all, loose, tried) >= tail - 1e-12)
        low = min(loose for loose in possible if stats.hypergeom.sf(bad - 1, in_all, loose, tried) >= tail - 1e-12)
        found = loose_in_all(bad, tried, in_all)
        assert (found.low, found.high) == (low, high)


def test_more_pins_settle_a_limit_and_no_fewer_do():
    more = more_pins_to_settle(0, 24, 224, limit_share=0.05)
    assert loose_in_all(0, 24 + more, 224).high < 0.05 * 224
    assert loose_in_all(0, 24 + more - 1, 224).high >= 0.05 * 224
    assert more_pins_to_settle(12, 24, 224, limit_share=0.05) == 0  # already far over
    assert more_pins_to_settle(3, 24, 24, limit_share=0.125) == 0  # all were tried


def test_fishers_tea_test():
    # Fisher, "The Design of Experiments", 1935, chapter 2: 3 of 4 against 1 of 4; two-sided 34 of 70. Two sections are
    # one comparison, yet Holm's rule counts two of them.
    left, right = loose_by_section({"bass": 3, "treble": 1}, {"bass": 4, "treble": 4})
    assert left.chance == right.chance == pytest.approx(2 * 34 / 70)
    assert (left.here, left.elsewhere) == (0.75, 0.25)


@pytest.mark.parametrize("bad", [(5, 0, 1), (2, 2, 2), (8, 0, 0), (0, 0, 0), (8, 7, 9), (1, 4, 6)])
def test_loose_sections_agree_with_another_implementation(bad):
    # SciPy's Fisher test of each section against the rest, and Holm's rule written out.
    names, tried = ("bass", "tenor", "treble"), (8, 8, 9)
    single = []
    for i in range(3):
        rest_bad, rest = sum(bad) - bad[i], sum(tried) - tried[i]
        table = [[bad[i], tried[i] - bad[i]], [rest_bad, rest - rest_bad]]
        single.append(stats.fisher_exact(table).pvalue)
    order = np.argsort(single)
    holm = np.maximum.accumulate(np.minimum(1, np.sort(single) * [3, 2, 1]))
    found = loose_by_section(dict(zip(names, bad, strict=True)), dict(zip(names, tried, strict=True)))
    assert [found[i].chance for i in order] == pytest.approx(list(holm), rel=1e-9)


def test_torque_of_two_sections_agrees_with_every_dealing_counted():
    # By trying all 20 ways to part six readings: the seen one and its mirror are the most extreme, 2 of 20. The
    # shuffled chance must lie within four standard errors of it; the seed is fixed.
    torque = {"bass": [4.0, 5.0, 4.5], "treble": [9.0, 8.0, 9.5]}
    values = [*torque["bass"], *torque["treble"]]
    gaps = [abs(sum(part) - sum(values) / 2) for part in itertools.combinations(values, 3)]
    exact = np.mean(np.array(gaps) >= abs(sum(torque["bass"]) - sum(values) / 2) - 1e-9)
    assert exact == pytest.approx(0.1)
    bass, treble = torque_by_section(torque, rng=np.random.default_rng(11))
    assert bass.chance == treble.chance == pytest.approx(0.1, abs=4 * np.sqrt(0.1 * 0.9 / 9999))
    assert (bass.here, bass.elsewhere) == pytest.approx((4.5, 53 / 6))


def test_torque_agrees_with_another_implementation():
    # SciPy's permutation test of two samples, all dealings counted.
    torque = {"bass": [5.1, 6.3, 4.0, 7.7, 5.5], "treble": [6.9, 8.0, 7.1, 6.0, 9.2, 5.8]}

    def gap(one, other, axis):
        return np.abs(np.mean(one, axis=axis) - np.mean(other, axis=axis))

    exact = stats.permutation_test(
        tuple(torque.values()), gap, n_resamples=np.inf, alternative="greater", vectorized=True
    ).pvalue
    bass, _ = torque_by_section(torque, rng=np.random.default_rng(5))
    assert bass.chance == pytest.approx(exact, abs=4 * np.sqrt(exact * (1 - exact) / 9999))


def test_unequal_sections_agree_with_every_dealing_counted():
    # A second, slow and plain implementation: all 60 ways to deal six readings to sections of 1, 2 and 3, and of each
    # the greatest distance from the rest in units of what chance gives to a section of that size.
    torque = {"bass": [3.0], "tenor": [7.5, 8.0], "treble": [6.0, 9.0, 9.5]}
    values = [reading for readings in torque.values() for reading in readings]

    def distance(inside, outside):
        return abs(np.mean(inside) - np.mean(outside)) / math.sqrt(1 / len(inside) + 1 / len(outside))

    def distances(order):
        parts = [order[:1], order[1:3], order[3:]]
        return [distance(part, [v for other in parts if other is not part for v in other]) for part in parts]

    greatest = [max(distances(list(order))) for order in itertools.permutations(values)]
    found = torque_by_section(torque, rng=np.random.default_rng(2))
    for section, seen in zip(found, distances(values), strict=True):
        exact = np.mean(np.array(greatest) >= seen - 1e-9)
        assert section.chance == pytest.approx(exact, abs=4 * math.sqrt(exact * (1 - exact) / 9999) + 1e-4)


def test_a_shuffled_chance_is_never_nothing():
    apart = {"bass": list(np.linspace(1, 2, 12)), "treble": list(np.linspace(11, 12, 12))}
    assert [s.chance for s in torque_by_section(apart, rng=np.random.default_rng(1), shuffles=199)] == [1 / 200] * 2


def test_chance_alone_rarely_looks_like_a_weak_section():
    # Of 400 made fields without any difference about 5 % may fall under 0.05 for some section: 4.4 standard errors
    # allow up to 9.8 %. Seed fixed.
    rng = np.random.default_rng(3)
    alarms = 0
    for _ in range(400):
        field = rng.lognormal(2, 0.4, 24)
        sections = {"bass": field[:6], "tenor": field[6:14], "treble": field[14:]}
        alarms += min(found.chance for found in torque_by_section(sections, rng=rng, shuffles=199)) <= 0.05
    assert 4 <= alarms <= 39


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: loose_in_all(0, 0, 24), "at least one tried"),
        (lambda: loose_in_all(5, 4, 24), "5 loose of 4 tried of 24 in all is not a count"),
        (lambda: loose_in_all(1.5, 4, 24), "whole numbers"),
        (lambda: loose_in_all(-1, 4, 24), "is not a count"),
        (lambda: loose_in_all(1, 4, 24, confidence=95), "confidence must be between 0.5 and 0.9999, not 95"),
        (lambda: loose_in_all(1, 30, 24), "1 loose of 30 tried of 24 in all is not a count"),
        (lambda: more_pins_to_settle(1, 30, 24, 0.1), "is not a count"),
        (lambda: more_pins_to_settle(1, 24, 224, 5), "limit of the share"),
        (lambda: loose_by_section({"bass": 1}, {"bass": 4}), "at least two sections"),
        (lambda: loose_by_section({"bass": 1, "alto": 0}, {"bass": 4, "treble": 4}), "at least two sections"),
        (lambda: torque_by_section({"bass": [1, 2]}, rng=np.random.default_rng(1)), "at least two sections"),
        (lambda: torque_by_section({"a": [1, 2], "b": []}, rng=np.random.default_rng(1)), "at least two sections"),
        (lambda: torque_by_section({"a": [1], "b": [2]}, rng=np.random.default_rng(1)), "more readings than sections"),
        (lambda: torque_by_section({"a": [1, 2], "b": [np.nan]}, rng=np.random.default_rng(1)), "must be numbers"),
        (lambda: torque_by_section({"a": [1, 2], "b": [3]}, rng=np.random.default_rng(1), shuffles=9), "99 times"),
    ],
)
def test_what_is_not_possible_is_refused_with_a_sentence(call, message):
    with pytest.raises(ValueError, match=message):
        call()


# --- dealt pins: does the range hold the truth, whichever way a block fails and whatever felt soft?

FIELD = pins_of(28)
PLACES = set(FIELD)


def fail(rng: np.random.Generator, count: int, how: str) -> set[tuple[int, int]]:
    """So many loose pins: anywhere, in lines along one string, or in patches over all strings of some keys."""
    if how == "scattered":
        return {FIELD[i] for i in rng.choice(len(FIELD), count, replace=False)}
    loose: list[tuple[int, int]] = []
    while len(loose) < count:
        key, string = FIELD[rng.integers(len(FIELD))]
        strings = (string,) if how == "lines" else (1, 2, 3)
        row = [(k, s) for k in range(key, key + int(rng.integers(4, 20))) for s in strings]
        loose += [place for place in row if place in PLACES and place not in loose]
    return set(loose[:count])


def told(readings: list[Reading]) -> tuple[int, int]:
    """The range that the page tells for all pins, from readings of which a loose one reads 1 and a firm one 9."""
    found = read_pins({}, "N.m", TABLES, "upright", taken=readings, in_all=len(FIELD))
    figure = next(f for f in found.figures if f.name.startswith("Loose in all"))
    return round(figure.low), round(figure.high)


def reading(place: tuple[int, int], loose: set[tuple[int, int]], *, soft: bool = False) -> Reading:
    return Reading(value=1.0 if place in loose else 9.0, key=place[0], string=place[1], soft=soft)


@pytest.mark.parametrize("how", ["scattered", "lines", "patches"])
@pytest.mark.parametrize("noticed", [0.0, 0.5])
@pytest.mark.parametrize("share", [0.01, 0.05, 0.15, 0.4])
def test_the_range_of_dealt_pins_holds_the_truth(how, noticed, share):
    rng = np.random.default_rng([int(100 * share), len(how)])
    count, held, markets = max(1, round(share * len(FIELD))), 0, 60
    for _ in range(markets):
        loose = fail(rng, count, how)
        dealt = deal_pins(FIELD, 24, rng.random())
        felt = [p for p in FIELD if p not in dealt and ((p in loose and rng.random() < noticed) or rng.random() < 0.02)]
        low, high = told([reading(p, loose) for p in dealt] + [reading(p, loose, soft=True) for p in felt])
        held += low <= count <= high
    assert held / markets >= 0.88  # at least 95 of 100, and 60 draws: one false alarm in some thousands


def test_pins_tried_because_they_felt_soft_do_not_make_a_good_block_look_failed():
    rng = np.random.default_rng(5)
    grades = {True: [], False: []}
    for _ in range(60):
        loose = fail(rng, round(0.05 * len(FIELD)), "scattered")
        dealt = deal_pins(FIELD, 24, rng.random())
        felt = [p for p in sorted(loose) if p not in dealt]
        for apart, found in grades.items():
            pins = [reading(p, loose) for p in dealt] + [reading(p, loose, soft=apart) for p in felt]
            found.append(find_taken(TABLES, "upright", "pin_torque", pins)[0].grades[0].grade)
    assert grades[True].count("none") > 0.95 * 60
    assert grades[False].count("none") < 0.2 * 60  # booked among the sample the block reads worse


def test_soft_pins_leave_what_the_dealt_ones_say_as_it_is_and_say_nothing_alone():
    dealt = [reading(place, set()) for place in deal_pins(FIELD, 24, 0.3)]
    soft = [Reading(value=0.5, section="treble", soft=True)] * 9
    with_soft, alone = (find_taken(TABLES, "upright", "pin_torque", pins)[0] for pins in (dealt + soft, dealt))
    assert with_soft.grades == alone.grades
    assert find_taken(TABLES, "upright", "pin_torque", soft)[0].grades == ()


@pytest.mark.parametrize("keys", [[range(40, 64)], [range(20, 28), range(40, 48), range(60, 68)]])
def test_neighbours_in_a_block_that_fails_in_lines_count_for_fewer(keys):
    rng = np.random.default_rng(7)
    tried = [(key, 1) for span in keys for key in span]
    held = 0
    for _ in range(100):
        loose = fail(rng, round(0.25 * len(FIELD)), "lines")
        low, high = told([reading(place, loose) for place in tried])
        held += low <= len(loose) <= high
    assert held >= 93
    counted = sampled([reading(place, set()) for place in tried], [False] * 24, len(FIELD)).counts_as
    assert counted < 2 * len(keys)


@pytest.mark.parametrize("count", [12, 24, 48, 100, 226])
def test_dealt_pins_count_in_full_and_a_longer_deal_begins_with_the_shorter(count):
    for start in np.random.default_rng(count).random(20):
        dealt = deal_pins(FIELD, count, start)
        assert len(set(dealt)) == count
        assert dealt[: count // 2] == deal_pins(FIELD, count // 2, start)
        assert sampled([reading(p, set()) for p in dealt], [False] * count, len(FIELD)).counts_as == count


def test_every_pin_is_dealt_as_often_as_any_other():
    starts = np.arange(0.0005, 1, 0.001)
    counts = Counter(place for start in starts for place in deal_pins(FIELD, 24, start))
    assert len(counts) == len(FIELD)
    assert np.ptp(list(counts.values())) <= 0.1 * np.mean(list(counts.values()))


@pytest.mark.parametrize(
    ("count", "start", "told"), [(300, 0.1, "300 pins can't be tried of 226"), (3, 1.0, "a start")]
)
def test_what_cannot_be_dealt_is_refused(count, start, told):
    with pytest.raises(ValueError, match=told):
        deal_pins(FIELD, count, start)


@pytest.mark.parametrize(("bad", "tried", "more", "limit"), [(0, 24, 34, 0.05), (3, 24, 40, 0.2), (1, 12, 30, 0.2)])
def test_the_chance_to_settle_is_that_of_drawing_on(bad, tried, more, limit):
    rng, in_all, settled, draws = np.random.default_rng(3), 224, 0, 4000
    loose = np.arange(bad, in_all - tried + bad + 1)
    likely = stats.hypergeom(in_all, loose, tried).pmf(bad)
    for whole in rng.choice(loose, draws, p=likely / likely.sum()):
        found = rng.hypergeometric(whole - bad, in_all - tried - whole + bad, more)
        after = loose_in_all(bad + found, tried + more, in_all)
        settled += not after.low < limit * in_all <= after.high
    chance = chance_to_settle(bad, tried, in_all, more, limit)
    assert abs(settled / draws - chance) < 4 * math.sqrt(chance * (1 - chance) / draws) + 1e-9


def test_all_the_pins_settle_it_for_sure_and_more_than_all_are_refused():
    assert chance_to_settle(3, 24, 224, 200, 0.2) == pytest.approx(1)
    with pytest.raises(ValueError, match="201 more pins can't be tried of 200"):
        chance_to_settle(3, 24, 224, 201, 0.2)
