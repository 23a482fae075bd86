"""Bearing and crown against printed values. Each names its source; the tolerance is half of its last printed digit."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from valuation.facts.units import INCH_MM, POUND_KG, STANDARD_GRAVITY
from valuation.measure.bearing import angle_from_gauge, bearing_from_heights, board_load, down_force
from valuation.measure.board import MEANINGS, read_board
from valuation.measure.crown import (
    RibbedBoard,
    bending_of_ribbed_panel,
    crown_of,
    crown_over_year,
    curvature_of,
)
from valuation.measure.wood import Climate

LBF = POUND_KG * STANDARD_GRAVITY


def test_bends_and_force_are_those_of_a_worked_example():
    # Common practice, worked by an engineer: 160 lbf, 2 deg in all, 50 mm in front, 25 mm behind; bends 0.66 (cut off,
    # not rounded) and 1.33 deg, rise 0.58 mm, force 5.58 lbf.
    bearing = bearing_from_heights(0.5817, front_mm=50, rear_mm=25)
    assert bearing.front_deg == pytest.approx(0.66, abs=0.01)
    assert bearing.rear_deg == pytest.approx(1.33, abs=0.005)
    assert bearing.net_deg == pytest.approx(2, abs=0.005)
    assert down_force(160, bearing.net_deg) == pytest.approx(5.58, abs=0.005)
    front, rear = np.radians([bearing.front_deg, bearing.rear_deg])
    assert 160 * (np.sin(front) + np.sin(rear)) == pytest.approx(5.58, abs=0.005)


@pytest.mark.parametrize(
    ("degrees", "share"), [(0.5, 0.008727), (1, 0.017453), (1.5, 0.026179), (2, 0.034905), (3, 0.052354)]
)
def test_force_over_tension_is_twice_the_sine_of_half_the_bend(degrees, share):
    assert down_force(1, degrees) == pytest.approx(share, abs=5e-7)  # closed form, by hand


def test_a_whole_piano_at_one_degree_presses_with_628_pounds():
    load = board_load({"all": [1.0]}, tension_n={"all": 160 * LBF}, strings={"all": 225})
    assert load.down_force_n / LBF == pytest.approx(628, abs=0.5)  # 36,000 lbf, by hand


def test_the_gauge_reads_as_worked():
    # Common practice: a gauge of 1 in half span on a bridge of 0.59 in shows 0.00615 in at 1 deg. The last digit of the
    # reading is 0.0008 of it.
    angle = angle_from_gauge(0.00615 * INCH_MM, half_span_mm=INCH_MM, bridge_width_mm=0.59 * INCH_MM)
    assert angle == pytest.approx(1, rel=0.5 / 615)


def test_sections_add_to_the_whole_board():
    load = board_load(
        {"bass": [0.2, 0.4], "treble": [1.0, -0.2, 0.4]},
        tension_n={"bass": 800, "treble": 700},
        strings={"bass": 50, "treble": 170},
    )
    bass, treble = load.sections
    assert (treble.least_deg, treble.greatest_deg) == (-0.2, 1.0)
    assert treble.mean_deg == pytest.approx(0.4)
    assert treble.per_string_n == pytest.approx(float(down_force(700, 0.4)), rel=1e-4)
    assert load.down_force_n == pytest.approx(50 * bass.per_string_n + 170 * treble.per_string_n)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: bearing_from_heights(1, front_mm=1, rear_mm=50), "length in front of the bridge"),
        (lambda: bearing_from_heights(1, front_mm=50, rear_mm=1), "length behind the bridge"),
        (lambda: bearing_from_heights(60, front_mm=50, rear_mm=50), "rise of the string"),
        (lambda: bearing_from_heights(30, front_mm=50, rear_mm=50), "bend of the string"),
        (lambda: angle_from_gauge(0.1, half_span_mm=10, bridge_width_mm=25), "its half span is too short"),
        (lambda: angle_from_gauge(4, half_span_mm=25, bridge_width_mm=15), "bend of the string"),
        (lambda: down_force(-5, 1), "tension must be between"),
        (lambda: board_load({"bass": []}, tension_n={"bass": 1}, strings={"bass": 1}), "section 'bass' needs"),
        (lambda: board_load({"bass": [1]}, tension_n={}, strings={"bass": 1}), "section 'bass' needs"),
        (lambda: read_board(90, 1, crown_within_mm=1, angle_within_deg=0.1), "crown must be between"),
        (lambda: crown_of(0.002, 1200), "half a rib over its radius"),
        (lambda: curvature_of(99, 1200), "crown must be between"),
        (lambda: bending_of_ribbed_panel(0.01, panel_mm=90, rib_mm=20, stiffness_ratio=1), "thickness of the panel"),
    ],
)
def test_what_is_not_possible_is_refused_with_a_sentence(call, message):
    with pytest.raises(ValueError, match=message):
        call()


@pytest.mark.parametrize(
    ("crown", "shape"), [(2, "risen"), (0.51, "risen"), (0.5, "flat"), (-0.5, "flat"), (-0.51, "reversed")]
)
@pytest.mark.parametrize(("angle", "bearing"), [(0.8, "pressing"), (0.1, "none"), (-0.1, "none"), (-0.11, "lifting")])
def test_a_board_is_read_within_what_can_be_told(crown, shape, angle, bearing):
    reading = read_board(crown, angle, crown_within_mm=0.5, angle_within_deg=0.1)
    assert (reading.shape, reading.bearing) == (shape, bearing)
    assert reading.meaning == MEANINGS[shape, bearing]


def test_every_shape_and_bearing_has_a_meaning():
    pairs = itertools.product(("risen", "flat", "reversed"), ("pressing", "none", "lifting"))
    assert MEANINGS.keys() == set(pairs)
    assert read_board(2, 0.5, crown_within_mm=0.5, angle_within_deg=0.1).meaning == "carries"
    assert read_board(0, 0, crown_within_mm=0.5, angle_within_deg=0.1).meaning == "given way"


def test_crown_follows_from_the_radius():
    # By hand: R - sqrt(R^2 - L^2/4), a radius of 60 ft and a rib of 1.2 m; 9.845 mm.
    assert crown_of(1 / (60 * 12 * INCH_MM), 1200) == pytest.approx(9.845, abs=5e-4)


@pytest.mark.parametrize(("stiffness_ratio", "factor"), [(1, 1.5), (2, 24 / 16.5)])
def test_two_layers_bend_as_in_the_paper(stiffness_ratio, factor):
    # Timoshenko, J. Opt. Soc. Am. 11 (1925) 233: 1.5 strain / height for equal layers, 24/16.5 for n = 2.
    bending = bending_of_ribbed_panel(0.004, panel_mm=12, rib_mm=12, stiffness_ratio=stiffness_ratio)
    assert bending * 24 / 0.004 == pytest.approx(factor, rel=1e-12)


def test_a_flat_board_is_flat_at_the_humidity_of_now():
    board = RibbedBoard(
        crown_mm=0, rib_length_mm=1000, rib_height_mm=22, panel_mm=9, coefficient=0.00148, stiffness_ratio=0.5
    )
    now = Climate(humidity=45, temperature_c=21)
    year = crown_over_year(board, now=now, dry=now, wet=now)
    assert (year.dry_at_least_mm, year.wet_at_most_mm) == (0, 0)
    assert year.flat_at_humidity == pytest.approx(45)


def test_a_board_that_no_wood_could_flatten_says_so():
    board = RibbedBoard(
        crown_mm=39, rib_length_mm=1000, rib_height_mm=22, panel_mm=9, coefficient=0.00148, stiffness_ratio=0.5
    )
    now = Climate(humidity=30, temperature_c=21)
    year = crown_over_year(board, now=now, dry=now, wet=now)
    assert year.flat_at_humidity is None
