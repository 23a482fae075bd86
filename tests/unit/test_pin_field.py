"""What the places of loose pins say, in words, and which answer they speak for."""

from __future__ import annotations

from dataclasses import replace

import pytest

from valuation.facts.units import IN_LB_NM
from valuation.facts.visit import Reading
from valuation.readings.pin_field import LINE, NONE, PAIR, RUN, look_at_field, pin_words
from valuation.service import load_shop


@pytest.fixture(scope="module")
def tables():
    return load_shop()


def pin(in_lb: float, section: str = "", key: int = 0, string: int = 0) -> Reading:
    return Reading(value=in_lb * IN_LB_NM, section=section, key=key, string=string)


def field_of(keys_loose: dict[int, bool], string: int = 1) -> list[Reading]:
    return [pin(20 if loose else 70, "tenor", key, string) for key, loose in keys_loose.items()]


def test_five_loose_pins_in_a_row_are_told_with_their_chance(tables):
    readings = field_of({key: key in range(40, 45) for key in range(30, 54)})
    found = look_at_field(readings, tables, "upright", "imperial")
    # one of comb(24, 5) ways to place five: 20 of 42,504 hold a row of five
    assert found.says == (
        "5 loose pins in a row, keys 40 to 44, and no firm one tried between them. If the 5 loose ones lay anywhere "
        "among the 24 tried, so long a row would come up in fewer than 1 of 100.",
    )
    assert (found.pattern, found.because) == (RUN, "5 loose pins stand in a row, keys 40 to 44")
    longer = look_at_field(field_of({key: key in range(40, 46) for key in range(30, 54)}), tables, "upright")
    assert longer.pattern == LINE


def test_a_row_along_one_string_names_it(tables):
    readings = [
        pin(20 if string == 3 and key < 45 else 70, "tenor", key, string)
        for key in range(40, 52)
        for string in (1, 2, 3)
    ]
    found = look_at_field(readings, tables, "upright")
    assert found.says[0].startswith("5 loose pins in a row, keys 40 to 44, string 3 of each, and no firm one")


def test_a_row_within_one_key_names_that_key(tables):
    readings = [pin(20 if key == 40 else 70, "tenor", key, string) for key in range(30, 50) for string in (1, 2, 3)]
    assert look_at_field(readings, tables, "grand").says[0].startswith("3 loose pins in a row, key 40, and no firm one")


def test_two_loose_neighbours_are_told_only_where_chance_would_hardly_bring_them(tables):
    few = look_at_field(field_of({key: key in (3, 4) for key in range(1, 9)}), tables, "upright")
    assert few.says == ("Some loose pins stand next to each other, as chance would have it.",)
    assert (few.pattern, few.runs) == (NONE, ())
    many = look_at_field(field_of({key: key in (3, 4) for key in range(1, 60)}), tables, "upright")
    assert many.says[0].startswith("2 loose pins in a row, keys 3 to 4,")
    assert many.pattern == PAIR  # two pins are no run yet


def test_loose_pins_apart_are_said_to_be_apart(tables):
    found = look_at_field(field_of({key: key in (1, 5, 9) for key in range(1, 12)}), tables, "upright")
    assert found.says == ("No two loose pins of those tried stand next to each other.",)
    assert (found.pattern, found.because) == (NONE, "they lie as chance would have it")


def test_loose_pins_without_a_place_can_not_tell_a_row(tables):
    found = look_at_field([pin(20), pin(70), pin(80)], tables, "upright")
    assert found.says[0].startswith("1 loose pin has no place, so it can't be seen whether it stands in a row")
    assert found.pattern == ""
    assert (
        look_at_field([pin(20), pin(21), pin(80)], tables, "upright").says[0].startswith("2 loose pins have no place")
    )


def test_no_loose_pin_is_told_by_the_limit_of_the_tables(tables):
    found = look_at_field([pin(30), pin(70)], tables, "upright", "imperial")
    assert found.says == ("None of the 2 pins tried is loose.",)
    assert (found.pattern, found.because) == (NONE, "no pin tried is under 29.9 in-lb")
    assert look_at_field([pin(70)], tables, "upright").says == ("The one pin tried is not loose.",)


def test_where_the_tables_do_not_ask_for_the_torque_nothing_is_loose(tables):
    without = replace(tables, checks=tuple(row for row in tables.checks if row.id != "pin_torque"))
    found = look_at_field([pin(10), pin(70)], without, "upright")
    assert (found.loose, found.says, found.pattern) == ((), (), "")


def test_a_reading_that_lost_a_digit_is_to_be_read_again(tables):
    found = look_at_field([pin(x) for x in (60, 55, 5, 70, 62, 300)], tables, "upright")
    assert [round(reading.value / IN_LB_NM) for reading in found.read_again] == [5, 300]
    assert look_at_field([pin(x) for x in (60, 55, 5, 70)], tables, "upright").read_again == ()  # too few to judge by


def test_a_pin_is_named_by_as_much_as_is_told_of_it():
    assert pin_words(pin(60, "bass", 1, 1)) == "key 1 (A0), string 1"
    assert pin_words(pin(60, "bass", 1)) == "key 1 (A0)"
    assert pin_words(pin(60, "bass")) == "bass, place not told"
    assert pin_words(pin(60)) == "place not told"
