"""Figures in the tables against common practice of the trade, and against exact units.

Where common practice gives a range, the table's figure must lie in it. Unit conversions: NIST SP 811 (2008), B.8.
"""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

from valuation.engine.rows import KINDS, STATES, Tables
from valuation.facts.units import IN_LB_NM
from valuation.rules import load_tables

# Common practice for a regulated action [mm].
LET_OFF = {"upright": (2.5, 3.5), "grand": (1.5, 3.0)}
DIP = (9.5, 10.5)
AFTERTOUCH = (0.8, 1.6)
# Common practice [in-lb]: good from 80, concern under 50, lost under 30; wanted of new work, 100 to 120.
TORQUE_CUTS = (80, 50, 30)
NEW_PINS = (100, 120)
PINS = 225


@pytest.fixture(scope="module")
def tables() -> Tables:
    return load_tables()


def table_of(tables: Tables, strength: str) -> np.ndarray:
    rows = {row.given: row for row in tables.strengths if row.id == strength}
    return np.array([[rows[s].good, rows[s].fair, rows[s].poor, rows[s].failed] for s in STATES])


def seen_through_view(tables: Tables, check: str, kind: str = "grand") -> np.ndarray:
    """Chance of each grade, given the part's true state, shape (4, 4)."""
    row = tables.of_kind("checks", kind)[check]
    family = next(f for f in tables.families if f.id == row.family)
    view = table_of(tables, family.view)
    return view @ table_of(tables, row.strength)


def pull(tables: Tables, check: str) -> float:
    """Log-likelihood ratio of the worst grade, failed against sound."""
    chance = seen_through_view(tables, check)
    return math.log(chance[3, 3] / chance[0, 3])


@pytest.mark.parametrize("kind", KINDS)
def test_regulation_targets_lie_where_common_practice_has_them(tables, kind):
    checks = tables.of_kind("checks", kind)
    assert LET_OFF[kind][0] <= checks["let_off"].target <= LET_OFF[kind][1]
    assert DIP[0] <= checks["key_dip"].target <= DIP[1]
    assert AFTERTOUCH[0] <= checks["aftertouch"].target <= AFTERTOUCH[1]
    for check in ("let_off", "key_dip", "aftertouch"):
        assert (checks[check].unit, checks[check].better) == ("mm", "near")


@pytest.mark.parametrize("kind", KINDS)
def test_everything_in_the_usual_range_of_a_figure_reads_no_worse_than_fair(tables, kind):
    checks = tables.of_kind("checks", kind)
    for check, usual in (("let_off", LET_OFF[kind]), ("key_dip", (9.5, 11.0)), ("aftertouch", (1.0, 1.5))):
        row = checks[check]
        assert all(abs(end - row.target) <= row.cut_poor for end in usual)


def test_torque_cuts_are_the_trades_inch_pounds_to_the_last_digit(tables):
    for kind in KINDS:
        row = tables.of_kind("checks", kind)["pin_torque"]
        cuts = (row.cut_fair, row.cut_poor, row.cut_failed)
        assert cuts == pytest.approx([cut * IN_LB_NM for cut in TORQUE_CUTS], abs=5e-4)
        # NIST SP 811: one pound-force inch is 0.112 984 8 N.m.
        assert cuts == pytest.approx([cut * 0.1129848 for cut in TORQUE_CUTS], abs=5e-4)


def test_new_pins_are_wanted_well_above_the_cut_for_good(tables):
    assert min(NEW_PINS) * IN_LB_NM > tables.of_kind("checks", "grand")["pin_torque"].cut_fair
    rows = [row for row in tables.operations if row.id in ("new_block", "block_oversize_pins")]
    for note in [row.note for row in rows]:
        found = re.search(r"([\d.]+) to ([\d.]+) N\.m \((\d+) to (\d+) in-lb\)", note)
        assert [float(found[i]) for i in (3, 4)] == list(NEW_PINS)
        assert [float(found[i]) for i in (1, 2)] == pytest.approx([t * IN_LB_NM for t in NEW_PINS], abs=0.05)
    assert len(rows) == 3


def test_loose_pins_are_counted_below_the_cut_for_failed_of_about_225(tables):
    checks = tables.of_kind("checks", "upright")
    loose = checks["loose_pins"]
    assert loose.readings_of == "pin_torque"
    # Just under 30 in-lb: a pin of 30 holds, whether told so or as the 3.4 N.m it is rounded to; one of 29 doesn't.
    assert 29 * IN_LB_NM < loose.limit < 30 * IN_LB_NM == pytest.approx(checks["pin_torque"].cut_failed, abs=5e-4)
    assert abs(loose.of_all - PINS) <= 10


def test_hold_and_pattern_say_more_of_the_block_than_torque_does(tables):
    torque, loose, hold, pattern = (
        pull(tables, check) for check in ("pin_torque", "loose_pins", "pin_hold", "pin_pattern")
    )
    assert torque < loose < min(hold, pattern)
    good = {check: seen_through_view(tables, check)[:, 0] for check in ("pin_torque", "pin_hold")}
    speaks_well = {check: math.log(chance[0] / chance[3]) for check, chance in good.items()}
    assert speaks_well["pin_torque"] < speaks_well["pin_hold"]


def test_cracks_of_the_board_say_less_of_it_than_its_sound(tables):
    # Common practice: cracks alone are mostly a matter of looks.
    assert pull(tables, "board_cracks") < pull(tables, "sustain_a5")
    assert pull(tables, "board_crown") < pull(tables, "sustain_a5")


@pytest.mark.parametrize(("check", "kind"), [("plate_crack", "upright"), ("back_gap", "upright")])
def test_a_seen_crack_is_believed_and_a_clean_look_is_no_proof(tables, check, kind):
    chance = seen_through_view(tables, check, kind)
    assert chance[0, 3] < 0.0003
    assert chance[3, 0] > 0.05
    assert math.log(chance[3, 3] / chance[0, 3]) > 2 * math.log(chance[0, 0] / chance[3, 0])


def test_every_strength_looks_better_than_it_is_more_often_than_worse(tables):
    for strength in {row.id for row in tables.strengths if row.given in STATES}:
        chance = table_of(tables, strength)
        better, worse = np.tril(chance, -1).sum(), np.triu(chance, 1).sum()
        assert better > worse, strength


def test_a_plate_that_has_failed_is_rare_and_a_tired_block_is_not(tables):
    old = [row for row in tables.priors if row.age == "from_90" and row.exposure == "seasonal"]
    odds = {row.part: row for row in old}
    assert odds["plate"].failed <= 0.02
    # From memory: 25 in 100 blocks of 80 to 140 years have parted plies, more in dry houses.
    assert 0.15 <= odds["pinblock"].failed <= 0.30


def test_an_older_part_is_never_likelier_to_be_better(tables):
    odds = {(r.part, r.exposure, r.age): [getattr(r, state) for state in STATES] for r in tables.priors}
    for part, exposure in {(r.part, r.exposure) for r in tables.priors}:
        by_age = np.array([odds[part, exposure, age.id] for age in tables.ages])
        minors = by_age[:-1, :-1] * by_age[1:, 1:] - by_age[:-1, 1:] * by_age[1:, :-1]
        assert (minors >= -1e-12).all(), (part, exposure)


def test_the_quick_look_settles_the_block_plate_back_and_history_in_half_an_hour(tables):
    for kind, structure in (("upright", "back_gap"), ("grand", "rim_joint")):
        quick = [row for row in tables.of_kind("checks", kind).values() if row.quick]
        named = {row.id for row in quick}
        assert named >= {"plate_crack", structure, "pin_torque", "pin_pattern", "bass_bridge_split", "pitch_spread"}
        assert named >= {"water_line", "droppings", "keys_up", "told_history"}
        assert len(quick) <= 12
        assert sum(row.minutes for row in quick) <= 35


def test_every_part_can_be_looked_at_in_more_than_one_way(tables):
    part_of = {family.id: family.part for family in tables.families}
    for kind in KINDS:
        looked = [part_of[row.family] for row in tables.of_kind("checks", kind).values()]
        for part in tables.parts:
            least = 1 if part.present != "always" else 2
            assert looked.count(part.id) >= least, (kind, part.id)
        assert len(looked) >= 60


def test_checks_stand_in_the_order_of_the_walk(tables):
    places = ("outside", "playing", "opened", "action_out", "below")
    walk = [places.index(row.place) for row in tables.checks]
    assert walk == sorted(walk)
