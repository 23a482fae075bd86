"""What must hold for anything measured: worse is never better, all the way through the cut points to the odds."""

from __future__ import annotations

from datetime import date
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from valuation.engine.condition import assess
from valuation.facts.visit import Finding, Piano, Visit
from valuation.files.visit_file import parse_visit
from valuation.measure.scale import Scale
from valuation.readings.bearing import Gauge, read_bearing
from valuation.readings.climate import Wood, Year, read_climate
from valuation.readings.grade import ANYWHERE, find
from valuation.readings.pins import read_pins
from valuation.readings.read_scale import ScaleRead
from valuation.readings.strings import Asked, read_strings
from valuation.rules import load_tables

TABLES = load_tables()
MEASURED = {
    "string_strain": "strings_strained",
    "unison_spread": "unisons_out",
    "odd_strings": "strings_wrong",
    "string_bearing": "board_bearing_lost",
    "board_crown": "board_crown_lost",
    "pitch_level": "pitch_low",
    "humidity_swing": "",
}
"""Check -> fault it tells of; empty for how the piano has lived."""
HIGHEST = {"pitch_level": 0.0}
"""Check -> where its scale ends for this fault: above the fork the same readings tell of another, a pitch too sharp."""
some = settings(max_examples=40, deadline=None)


def condition(*findings: Finding):
    visit = Visit(title="x", on=date(2026, 5, 1), piano=Piano(kind="upright", year=1920), findings=findings)
    return assess(TABLES, visit, visit.on)


def goodness(*findings: Finding, fault: str) -> float:
    """Return how little of a fault there is likely to be, or how unlikely a harsh life is."""
    found = condition(*findings)
    if not fault:
        return 1 - found.causes[6:].sum()
    return -float(found.severities[found.network.index[fault]] @ np.arange(4))


def how_bad(row, number: float) -> float:
    return -number if row.better == "high" else number


def findings_of(check: str, number: float) -> tuple[Finding, ...]:
    row = TABLES.of_kind("checks", "upright")[check]
    measured = {ANYWHERE: [number]} if row.answer == "readings" else number
    return tuple(found.finding for found in find(TABLES, "upright", check, measured))


@pytest.mark.parametrize("check", MEASURED)
@some
@given(data=st.data())
def test_a_worse_number_never_speaks_for_less_of_the_fault(check, data):
    row = TABLES.of_kind("checks", "upright")[check]
    numbers = [data.draw(st.floats(row.lowest, HIGHEST.get(check, row.highest))) for _ in range(2)]
    better, worse = sorted(numbers, key=lambda number: how_bad(row, number))
    fault = MEASURED[check]
    worst, best = (goodness(*findings_of(check, number), fault=fault) for number in (worse, better))
    assert worst <= best + 1e-9


@pytest.mark.parametrize("check", MEASURED)
def test_each_cut_point_moves_the_odds(check):
    row = TABLES.of_kind("checks", "upright")[check]
    sign = -1 if row.better == "high" else 1
    cuts = [row.cut_slight, row.cut_marked, row.cut_severe]
    reach = [cuts[0] - sign * 50 * row.repeats_within, *[(a + b) / 2 for a, b in pairwise(cuts)]]
    reach.append(cuts[2] + sign * 50 * row.repeats_within)
    numbers = [float(np.clip(number, row.lowest, row.highest)) for number in reach]
    steps = [goodness(*findings_of(check, number), fault=MEASURED[check]) for number in numbers]
    assert all(after < before for before, after in pairwise(steps)), steps


@some
@given(longer=st.floats(1.0, 1.4), length=st.floats(60, 75))
def test_longer_strings_at_the_same_pitch_are_never_better(longer, length):
    def strain(length_mm):
        scale = Scale(key=[76], length_mm=[length_mm], core_mm=[0.85], outside_mm=[0], strings=[3])
        found = read_strings(ScaleRead(scale=scale, flat_cents=None), Asked(), TABLES, "upright").found
        return goodness(*(one.finding for one in found), fault="strings_strained")

    assert strain(length * longer) <= strain(length) + 1e-9


@some
@given(st.lists(st.floats(1, 12), min_size=1, max_size=24), st.floats(0.3, 1))
def test_looser_pins_are_never_better(torque, share):
    def block(readings):
        found = read_pins({ANYWHERE: readings}, "N.m", TABLES, "upright").found
        return goodness(*(one.finding for one in found), fault="holes_worn")

    assert block([value * share for value in torque]) <= block(torque) + 1e-9


@some
@given(st.floats(-2, 3), st.floats(0, 2), st.floats(-5, 8), st.floats(0, 5))
def test_less_bearing_and_less_crown_are_never_better(bend, less, crown, lower):
    def board(bend_deg, crown_mm):
        found = read_bearing({"treble": [bend_deg]}, Gauge(), TABLES, "upright", crown_mm=crown_mm).found
        return goodness(*(one.finding for one in found), fault="board_crown_lost")

    assert board(bend - less, crown - lower) <= board(bend, crown) + 1e-9


@some
@given(st.floats(5, 45), st.floats(0, 30), st.floats(0, 15))
def test_a_wider_swing_of_humidity_never_speaks_for_a_milder_life(dry, swing, more):
    def life(wet):
        found = read_climate(Year(dry=dry, wet=wet, temperature_c=20), Wood(), TABLES, "upright").found
        return goodness(*(one.finding for one in found), fault="")

    assert life(dry + swing + more) <= life(dry + swing) + 1e-9


@some
@given(st.lists(st.floats(1, 12), min_size=1, max_size=12))
def test_the_line_of_a_finding_reads_back_as_the_finding(torque):
    (found,) = find(TABLES, "upright", "pin_torque", {"bass": torque}, "N.m")
    text = f'title = "x"\ndate = 2026-05-01\n[piano]\nkind = "upright"\n[findings]\n{found.line}\n'
    assert parse_visit(text, "x", TABLES, today=date(2026, 5, 1)).findings == (found.finding,)
