"""Readings of pins from rows and cells into one finding, and back."""

from __future__ import annotations

from datetime import date

import pytest

from valuation.facts.units import IN_LB_NM
from valuation.facts.visit import Finding, Piano, Reading, Visit
from valuation.screens.pins.entry import (
    Asked,
    cell,
    changed_cells,
    in_order,
    in_sections,
    row_text,
    section_ends,
    spans,
    take_cells,
    take_row,
)
from valuation.service import load_shop

ENDS = (28, 52)


@pytest.fixture(scope="module")
def asked() -> Asked:
    tables = load_shop()
    visit = Visit(title="x", on=date(2026, 5, 4), piano=Piano(kind="upright"))
    return Asked(tables.of_kind("checks", "upright")["pin_torque"], visit, tables, "imperial")


def finding(*readings: Reading, note: str = "") -> Finding:
    return Finding(check="pin_torque", readings=readings, note=note)


def in_lb(number: float, section: str = "", key: int = 0, string: int = 0) -> Reading:
    return Reading(value=number * IN_LB_NM, section=section, key=key, string=string)


def test_a_row_takes_numbers_places_and_units_together(asked):
    found, faults = take_row(None, "bass", "3.1: 7 A1.2:6.5 N.m 58 60", asked)
    assert faults == ()
    assert found == finding(  # a unit stands for the numbers before it
        Reading(value=7.0, section="bass", key=3, string=1),
        Reading(value=6.5, section="bass", key=13, string=2),
        in_lb(58, "bass"),
        in_lb(60, "bass"),
    )


def test_an_empty_row_takes_its_readings_away_and_no_others(asked):
    both = finding(in_lb(60, "bass"), in_lb(70, "treble"))
    assert take_row(both, "bass", "  ", asked)[0] == finding(in_lb(70, "treble"))
    assert take_row(finding(in_lb(60, "bass")), "bass", "", asked) == (None, ())


def test_what_was_not_touched_stays_to_the_last_digit(asked):
    before = finding(Reading(value=6.21437, section="bass"), Reading(value=7.0 / 3, section="bass", key=5, string=1))
    text = row_text(before, "bass", asked)
    after, faults = take_row(before, "bass", f"{text} 60", asked)
    assert faults == ()
    assert after.readings == in_order([*before.readings, in_lb(60, "bass")])


def test_a_row_at_fault_leaves_the_finding_as_it_was(asked):
    before = finding(in_lb(60, "bass"), in_lb(50, "tenor", 40, 2))
    for text, fault in (
        ("60 5x", "'x' is not a unit for this"),
        ("60 4000", "'4000' is out of range; write 0 to 354 in-lb"),
        ("60 89.1:50", "'89' is not on the keyboard"),
        ("40.2:60", "key 40.2 has more than one reading; keep one"),
        ("60,5", "put a space between readings, and a point before decimals"),
    ):
        after, faults = take_row(before, "bass", text, asked)
        assert after is before
        assert any(fault in told for told in faults), (text, faults)


def test_the_note_stays_and_a_reading_takes_the_place_of_not_seen(asked):
    assert take_row(finding(in_lb(60), note="damp day"), "bass", "50", asked)[0].note == "damp day"
    hidden = Finding(check="pin_torque", cannot_see=True, note="locked")
    assert take_row(hidden, "bass", "50", asked)[0] == finding(in_lb(50, "bass"), note="locked")


def test_cells_are_put_in_changed_and_taken_away(asked):
    found, faults = take_cells(None, {(40, 2): 55.0, (1, 1): 60.0, (53, 3): 70.0}, ENDS, asked)
    assert faults == {}
    assert found == finding(in_lb(60, "bass", 1, 1), in_lb(55, "tenor", 40, 2), in_lb(70, "treble", 53, 3))
    found, _ = take_cells(found, {(40, 2): 25.0, (1, 1): None}, ENDS, asked)
    assert found == finding(in_lb(25, "tenor", 40, 2), in_lb(70, "treble", 53, 3))
    assert take_cells(found, {(40, 2): None, (53, 3): None}, ENDS, asked) == (None, {})


def test_a_cell_at_fault_is_told_and_the_others_are_taken(asked):
    found, faults = take_cells(None, {(40, 1): 4000.0, (40, 2): 55.0, (40, 3): -1.0}, ENDS, asked)
    assert found == finding(in_lb(55, "tenor", 40, 2))
    assert sorted(faults) == [(40, 1), (40, 3)]
    assert faults[40, 1] == "at '40.1': '4000' is out of range; write 0 to 354 in-lb"


def test_a_cell_retyped_as_it_is_shown_changes_nothing(asked):
    exact = finding(Reading(value=6.21437, section="bass", key=3, string=1))
    shown = cell(exact, (3, 1), asked)
    assert shown == 55.0
    assert take_cells(exact, {(3, 1): shown}, ENDS, asked) == (exact, {})


def test_readings_without_a_string_are_not_touched_by_the_cells_of_their_key(asked):
    before = finding(in_lb(50, "tenor", 40), in_lb(60, "tenor"))
    found, _ = take_cells(before, {(40, 1): 55.0}, ENDS, asked)
    assert found == finding(in_lb(50, "tenor", 40), in_lb(55, "tenor", 40, 1), in_lb(60, "tenor"))


def test_only_what_was_edited_since_the_last_look_is_written():
    edited = {0: {"string_1": 60.0, "string_2": None}, 3: {"string_1": 55.0}}
    assert changed_cells(edited, {}, range(29, 53)) == {(29, 1): 60.0, (29, 2): None, (32, 1): 55.0}
    assert changed_cells(edited, {0: {"string_1": 60.0, "string_2": None}}, range(29, 53)) == {(32, 1): 55.0}
    assert changed_cells(edited, {**edited, 3: {"string_1": 5.0}}, range(29, 53)) == {(32, 1): 55.0}
    assert changed_cells(edited, edited, range(29, 53)) == {}


def test_sections_end_as_told_else_as_fits_the_readings_else_as_usual():
    assert section_ends([]) == (28, 52)
    assert section_ends([], (20, None)) == (20, 52)
    assert section_ends([in_lb(60, "bass", 31, 1), in_lb(60, "treble", 50, 1)]) == (31, 49)
    assert section_ends([in_lb(60, "tenor", 26, 1)]) == (25, 52)
    assert section_ends([in_lb(60, "bass", 40, 1), in_lb(60, "tenor", 30, 1)]) == (28, 52)  # they contradict
    assert section_ends([], (60, 50)) == (60, 61)
    assert section_ends([], (88, 88)) == (86, 87)
    assert [len(keys) for keys in spans((86, 87)).values()] == [86, 1, 1]


def test_where_a_section_ends_otherwise_readings_change_section_and_keep_their_place():
    before = finding(in_lb(60, "tenor", 30, 1), in_lb(50, "tenor"), in_lb(55, "", 70, 2), note="n")
    after = in_sections(before, (32, 52))
    assert after == finding(in_lb(60, "bass", 30, 1), in_lb(50, "tenor"), in_lb(55, "treble", 70, 2), note="n")
