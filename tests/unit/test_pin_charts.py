"""The two drawings of the tuning pins, as what they place and as what they say to those who don't see them."""

from __future__ import annotations

import pytest

from valuation.facts.units import IN_LB_NM
from valuation.facts.visit import Reading
from valuation.measure.pin_runs import LooseRun
from valuation.readings.pins import loose_below
from valuation.screens.pins.charts import Bar, Mark, bars, field_map, histogram, kind_of, strips
from valuation.screens.pins.entry import spans
from valuation.service import load_shop

SPANS = spans((28, 52))


@pytest.fixture(scope="module")
def check():
    return load_shop().of_kind("checks", "upright")["pin_torque"]


@pytest.fixture(scope="module")
def limit():
    return loose_below(load_shop().of_kind("checks", "upright")["pin_torque"])


def in_lb(number: float, section: str = "", key: int = 0, string: int = 0) -> Reading:
    return Reading(value=number * IN_LB_NM, section=section, key=key, string=string)


def test_pins_are_loose_soft_or_firm_by_the_rows_of_the_tables(check, limit):
    kinds = [kind_of(in_lb(x).value, check, limit) for x in (29, 30, 49, 50.1, 120)]
    assert kinds == ["loose", "soft", "soft", "firm", "firm"]
    assert kind_of(in_lb(10).value, check, None) == "soft"


def test_every_pin_is_counted_once_and_a_pin_of_30_is_not_among_those_below(check, limit):
    counted = bars([in_lb(x) for x in (20, 29, 30, 39.9, 70, 110)], limit, "N.m", "imperial")
    assert counted[0] == Bar(low=20, high=30, loose=2, others=0)
    assert counted[1] == Bar(low=30, high=40, loose=0, others=2)
    assert [bar.loose + bar.others for bar in counted] == [2, 2, 0, 0, 0, 1, 0, 0, 0, 1]


def test_the_histogram_says_in_words_what_it_shows(check, limit):
    drawn = histogram(bars([in_lb(25), in_lb(64)], limit, "N.m", "imperial"), check, "imperial")
    words = drawn.partition('aria-label="')[2].partition('"')[0]
    assert words == (
        "Pins by torque, in in-lb. 25 to 30: 1; 60 to 65: 1. "
        "Below 70 it reads slight, below 50 marked, below 30 severe."
    )  # fmt: skip
    assert drawn.count('class="bar loose"') == 1
    assert drawn.count('class="bar"') == 1
    assert drawn.count('class="cut"') == 3


def test_pins_stand_at_their_key_and_those_without_a_place_follow_in_order(check, limit):
    readings = [in_lb(60, "bass", 3, 2), in_lb(20, "bass"), in_lb(40, "bass"), in_lb(60, "treble", 40, 1)]
    bass, tenor, treble = strips(readings, SPANS, check, limit)
    assert bass.marks == (
        Mark(x=3, y=2, kind="firm"),
        Mark(x=pytest.approx(7.75), y=0, kind="loose"),
        Mark(x=pytest.approx(21.25), y=0, kind="soft"),
    )
    assert tenor.marks == (Mark(x=40, y=1, kind="firm"),)  # the place goes before the section
    assert treble.marks == ()
    assert len(strips([in_lb(60)], SPANS, check, limit)) == 4


def test_the_map_tells_each_section_and_boxes_its_row_of_loose_pins(check, limit):
    readings = [in_lb(20, "tenor", key, 1) for key in (40, 41, 42)] + [in_lb(60, "bass", 1, 1), in_lb(60)]
    run = LooseRun(pins=((40, 1), (41, 1), (42, 1)), string=0, chance=0.1)
    drawn = field_map(strips(readings, SPANS, check, limit), [run])
    for words in (
        "Bass, keys 1 to 28: 1 tried, 0 loose",
        "Tenor, keys 29 to 52: 3 tried, 3 loose",
        "Treble, keys 53 to 88: 0 tried, 0 loose",
        "Section not told: 1 tried, 0 loose",
    ):
        assert f'<p class="strip">{words}</p>' in drawn
    assert drawn.count('class="run"') == 1
    assert drawn.count('class="pin loose"') == 3
    assert 'class="run" style="left: 45.87%; width: 12.61%; top: 0px; height: 78px"' in drawn


def test_a_row_along_one_string_is_boxed_on_that_string(check, limit):
    readings = [in_lb(20 if s == 3 else 60, "tenor", key, s) for key in (40, 41, 42) for s in (1, 2, 3)]
    run = LooseRun(pins=((40, 3), (41, 3), (42, 3)), string=3, chance=0.01)
    assert "top: 0px; height: 26px" in field_map(strips(readings, SPANS, check, limit), [run])
