"""The page of tuning pins, as Streamlit's own test runner sees it."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from demo_shop import draft, go, start
from demo_shop import opened as piano
from streamlit.testing.v1 import AppTest

from valuation.errors import Problem
from valuation.facts.keys import key_name
from valuation.facts.units import IN_LB_NM
from valuation.facts.visit import Finding, Reading
from valuation.measure.pin_deal import deal_pins, pins_of, start_of
from valuation.screens import shop
from valuation.service.visits import StoreError, finding_value


def opened(number: int) -> AppTest:
    return go(piano(start(), number), "pins")


@pytest.fixture
def page() -> AppTest:
    """The page for the piano that was hardly looked at, the wrench in inch-pounds."""
    page = opened(5)
    page.pills(key=draft(page).key("pins_unit")).set_value("imperial").run()
    return page


def typed(page: AppTest, row: str, text: str, system: str = "imperial") -> AppTest:
    field_of(page, f"pins_row_{row}_{system}").set_value(text).run()
    assert not page.exception
    return page


def field_of(page: AppTest, name: str):
    """Return the field of that name, whichever of them it is by now."""
    (field,) = [f for f in page.text_input if re.fullmatch(rf"{name}(_\d+)?__{draft(page).id}", f.key)]
    return field


def row(page: AppTest, name: str, system: str = "imperial") -> str:
    return field_of(page, f"pins_row_{name}_{system}").value


def way(page: AppTest, chosen: str) -> AppTest:
    page.pills(key=draft(page).key("pins_way")).set_value(chosen).run()
    assert not page.exception
    return page


def section(page: AppTest, chosen: str) -> AppTest:
    page.pills(key=draft(page).key("pins_section")).set_value(chosen).run()
    assert not page.exception
    return page


def in_cells(page: AppTest, **cells: float | None) -> AppTest:
    """Edit cells of the grid, such as r0_1 for its first key and string; those edited before stay edited."""
    key = editor(page)
    edited = {r: dict(columns) for r, columns in page.session_state[key]["edited_rows"].items()}
    for name, number in cells.items():
        r, string = name.removeprefix("r").split("_")
        edited.setdefault(int(r), {})[f"string_{string}"] = number
    page.session_state[key] = {"edited_rows": edited, "added_rows": [], "deleted_rows": []}
    page.run()
    assert not page.exception
    return page


def editor(page: AppTest) -> str:
    (drawn,) = page.data_editor
    return drawn.key


def readings(page: AppTest) -> list[tuple]:
    found = draft(page).finding("pin_torque")
    return [(r.section, r.key, r.string, round(r.value / IN_LB_NM, 3)) for r in (found.readings if found else ())]


def elsewhere(page: AppTest, found: Finding) -> AppTest:
    """Somebody enters it on another device, having seen what stood there."""
    on = draft(page)
    on.store.put(on.visit_id, "finding.pin_torque", finding_value(found), who="B.", device="other", now=shop.now())
    return page.run()


def told(page: AppTest) -> str:
    pieces = [element.value for kind in (page.markdown, page.text, page.html) for element in kind]
    pieces += [box.label for box in page.expander]
    return "\n".join(pieces).replace("\\", "").replace("\u2060", "")


def test_nothing_entered_is_not_looked_at():
    page = opened(1)
    draft(page).record("pin_torque", None)
    page.run()
    assert "No pin is entered yet. That counts as not looked at, never as good." in told(page)


def test_rows_are_taken_as_they_are_typed_and_say_at_once_what_they_mean(page):
    typed(page, "bass", "60 55 58 62")
    typed(page, "treble", "70 A7.2:66 72 25")
    assert readings(page) == [
        *[("bass", 0, 0, n) for n in (60, 55, 58, 62)],
        ("treble", 85, 2, 66), ("treble", 0, 0, 70), ("treble", 0, 0, 72), ("treble", 0, 0, 25),
    ]  # fmt: skip
    assert "1 of 8 tried were loose (under 29.9 in-lb); of all 225 between" in told(page)
    assert "Try 67 more, if it matters whether 20 % are loose" in told(page)
    assert "Bass, keys 1 to 28: 4 tried, 0 loose" in told(page)
    assert "**Loose:** treble, place not told: 25 in-lb" in told(page)


def test_a_row_at_fault_is_told_stays_as_typed_and_holds_up_no_other(page):
    typed(page, "bass", "60 55")
    typed(page, "bass", "60 55 4000")
    assert "Not taken down" in told(page)
    assert "Bass: '4000' is out of range; write 0 to 354 in-lb" in told(page)
    typed(page, "tenor", "50")
    assert readings(page) == [("bass", 0, 0, 60), ("bass", 0, 0, 55), ("tenor", 0, 0, 50)]
    go(go(page, "condition"), "pins")
    assert row(page, "bass") == "60 55 4000"
    assert "'4000' is out of range" in told(page)
    typed(page, "bass", "60 55 40")
    assert "Not taken down" not in told(page)
    assert readings(page)[:3] == [("bass", 0, 0, 60), ("bass", 0, 0, 55), ("bass", 0, 0, 40)]


def test_every_fault_of_a_row_is_told(page):
    typed(page, "bass", "60 4000 89.1:50 5000")
    for fault in ("'4000' is out of range", "'89' is not on the keyboard", "'5000' is out of range"):
        assert fault in told(page)


def test_a_place_that_stands_in_another_row_is_taken_once_that_is_mended(page):
    typed(page, "tenor", "40.1:50")
    typed(page, "bass", "40.1:60")
    assert "key 40.1 has more than one reading; keep one" in told(page)
    typed(page, "tenor", "41.1:50")
    assert readings(page) == [("bass", 40, 1, 60), ("tenor", 41, 1, 50)]
    assert "Not taken down" not in told(page)


def test_cells_are_taken_with_their_key_string_and_section(page):
    way(page, "grid")
    in_cells(page, r0_1=75, r1_2=71)
    section(page, "tenor")
    in_cells(page, r0_3=22)
    assert readings(page) == [("bass", 1, 1, 75), ("bass", 2, 2, 71), ("tenor", 29, 3, 22)]
    assert "**Loose:** key 29 (C#3), string 3: 22 in-lb" in told(page)


def test_a_cell_at_fault_is_told_and_the_others_are_taken(page):
    way(page, "grid")
    in_cells(page, r0_1=75, r1_1=4000)
    assert readings(page) == [("bass", 1, 1, 75)]
    assert "at '2.1': '4000' is out of range; write 0 to 354 in-lb" in told(page)
    in_cells(page, r1_1=40)
    assert readings(page) == [("bass", 1, 1, 75), ("bass", 2, 1, 40)]
    assert "Not taken down" not in told(page)


def test_a_cell_that_is_emptied_takes_its_reading_away(page):
    way(page, "grid")
    in_cells(page, r0_1=75, r1_1=60)
    in_cells(page, r0_1=None)
    assert readings(page) == [("bass", 2, 1, 60)]
    in_cells(page, r1_1=None)
    assert draft(page).finding("pin_torque") is None


def test_from_rows_to_the_grid_and_back_no_reading_and_no_place_is_lost(page):
    typed(page, "bass", "60 3.2:55 5:58")
    before = draft(page).finding("pin_torque")
    way(page, "grid")
    assert draft(page).finding("pin_torque") == before
    assert "Not on the grid**, but counted: key 5 (C#1): 58 in-lb; bass, place not told: 60 in-lb" in told(page)
    in_cells(page, r0_1=75)
    way(page, "rows")
    assert row(page, "bass") == "1.1:75 3.2:55 5:58 60"
    typed(page, "bass", "1.1:75 3.2:50 5:58 60")
    way(page, "grid")
    in_cells(page, r0_1=75)  # the very edit of before, on a grid drawn anew
    assert readings(page) == [("bass", 1, 1, 75), ("bass", 3, 2, 50), ("bass", 5, 0, 58), ("bass", 0, 0, 60)]


def test_what_another_device_entered_since_is_shown_and_not_overwritten(page):
    way(page, "grid")
    in_cells(page, r0_1=75, r1_1=60)
    first = editor(page)
    found = draft(page).finding("pin_torque")
    other = (Reading(value=50 * IN_LB_NM, section="bass", key=1, string=1), found.readings[1])
    elsewhere(page, replace(found, readings=other))
    assert readings(page) == [("bass", 1, 1, 50), ("bass", 2, 1, 60)]
    assert editor(page) != first  # drawn anew, for its edits would hide what was entered elsewhere
    in_cells(page, r2_1=55)
    assert readings(page) == [("bass", 1, 1, 50), ("bass", 2, 1, 60), ("bass", 3, 1, 55)]
    way(page, "rows")
    elsewhere(page, replace(found, readings=other[:1]))
    assert row(page, "bass") == "1.1:50"


def test_other_units_show_the_same_readings_and_change_none(page):
    typed(page, "bass", "60 7.2:55")
    before = draft(page).finding("pin_torque")
    page.pills(key=draft(page).key("pins_unit")).set_value("metric").run()
    assert row(page, "bass", "metric") == "7.2:6.21 6.78"
    assert "Half of the pins tried turn at 6.5 N·m or more" in told(page)
    typed(page, "tenor", "5", "metric")
    assert draft(page).finding("pin_torque").readings[:2] == before.readings
    typed(page, "bass", "7.2:6.21 6.78 8", "metric")
    assert draft(page).finding("pin_torque").readings[:2] == before.readings


def test_five_in_a_row_are_told_and_the_person_answers_where_they_are(page):
    typed(page, "tenor", " ".join(f"{key}.1:{20 if 40 <= key < 45 else 60}" for key in range(30, 53)))
    assert "5 loose pins in a row, keys 40 to 44, and no firm one tried between them" in told(page)
    assert "The readings speak for **run**: 5 loose pins stand in a row, keys 40 to 44. You answer it." in told(page)
    before = draft(page).finding("pin_pattern")
    assert before is None or before.grade != "marked"
    page.pills(key=draft(page).key("pins_pin_pattern")).set_value("run").run()
    assert draft(page).finding("pin_pattern").grade == "marked"
    page.pills(key=draft(page).key("pins_pin_pattern")).set_value("not looked at").run()
    assert draft(page).finding("pin_pattern") is None


def test_where_the_bass_ends_is_told_by_key_or_name_and_moves_readings_along(page):
    typed(page, "tenor", "30.1:50 45.1:60")
    field_of(page, "pins_end_bass").set_value("X9").run()
    assert "'X9' is not a key; write A4, D#5 or Bb2" in told(page)
    assert readings(page) == [("tenor", 30, 1, 50), ("tenor", 45, 1, 60)]
    field_of(page, "pins_end_bass").set_value("E3").run()
    assert "Not taken down" not in told(page)
    assert readings(page) == [("bass", 30, 1, 50), ("tenor", 45, 1, 60)]
    assert "Bass, keys 1 to 32: 1 tried" in told(page)


def test_the_number_of_pins_is_that_of_the_tables_unless_told(page):
    typed(page, "bass", "60 55 58 20")
    assert "of all 225 between" in told(page)
    page.text_input(key=draft(page).key("pins_in_all")).set_value("210").run()
    assert "of all 210 between" in told(page)
    page.text_input(key=draft(page).key("pins_in_all")).set_value("many").run()
    assert "'many' is no number of pins; write it like 225" in told(page)
    page.text_input(key=draft(page).key("pins_in_all")).set_value("3").run()
    assert "Not reckoned" in told(page)
    assert len(readings(page)) == 4


def test_the_air_of_the_day_stands_beside_the_readings(page):
    for field in ("humidity", "temperature"):
        draft(page).keep(field, None)
    page.run()
    assert "Air at the piano that day: humidity not told, temperature not told." in told(page)
    page.text_input(key=draft(page).key("fact_humidity")).set_value("62").run()
    page.text_input(key=draft(page).key("fact_temperature")).set_value("20.5").run()
    assert "Air at the piano that day: humidity 62 %, temperature 20.5 °C." in told(page)


def test_what_can_not_be_seen_gives_way_to_a_reading(page):
    draft(page).record("pin_torque", Finding(check="pin_torque", cannot_see=True, note="locked"))
    page.run()
    assert "It is marked as **can't be seen**." in told(page)
    typed(page, "bass", "60")
    assert draft(page).finding("pin_torque").note == "locked"
    assert readings(page) == [("bass", 0, 0, 60)]


def test_a_digit_lost_is_asked_for_again(page):
    typed(page, "bass", "60 55 5 58 62")
    assert "**Read again, or mistyped?** Far from the others: bass, place not told: 5 in-lb." in told(page)


def test_what_the_store_does_not_take_stays_on_the_screen_and_is_stored_later(page, monkeypatch):
    typed(page, "bass", "60")
    put = type(draft(page).store).put

    def full(*_args, **_kwargs):
        raise StoreError([Problem("store", 0, "", "the disk is full")])

    monkeypatch.setattr(type(draft(page).store), "put", full)
    typed(page, "tenor", "50")
    typed(page, "treble", "70")
    assert "NOT SAVED YET" in told(page)
    assert (row(page, "tenor"), row(page, "treble")) == ("50", "70")
    assert readings(page) == [("bass", 0, 0, 60)]
    monkeypatch.setattr(type(draft(page).store), "put", put)
    page.run()
    assert readings(page) == [("bass", 0, 0, 60), ("tenor", 0, 0, 50), ("treble", 0, 0, 70)]


def test_cells_that_the_store_does_not_take_stay_on_the_grid_and_are_stored_later(page, monkeypatch):
    way(page, "grid")
    put = type(draft(page).store).put

    def full(*_args, **_kwargs):
        raise StoreError([Problem("store", 0, "", "the disk is full")])

    monkeypatch.setattr(type(draft(page).store), "put", full)
    in_cells(page, r0_1=60)
    first = editor(page)
    in_cells(page, r1_1=55)
    assert editor(page) == first  # not drawn anew, which would empty both
    monkeypatch.setattr(type(draft(page).store), "put", put)
    in_cells(page, r2_1=50)
    assert readings(page) == [("bass", 1, 1, 60), ("bass", 2, 1, 55), ("bass", 3, 1, 50)]
    page.run()
    assert "NOT SAVED YET" not in told(page)


def test_two_who_did_not_see_each_other_are_both_shown(page):
    typed(page, "bass", "60")
    on = draft(page)
    other = finding_value(Finding(check="pin_torque", readings=(Reading(value=5.0),)))
    on.store.put(on.visit_id, "finding.pin_torque", other, follows=(), who="B.", device="other", now=shop.now())
    page.run()
    assert "Two people entered different things here. Which holds?" in told(page)


def test_pins_are_dealt_and_one_that_felt_soft_is_booked_apart(page):
    assert "These were dealt over the whole field, by chance" in told(page)
    dealt = deal_pins(pins_of(28), 24, start_of(draft(page).visit_id))
    first = next(place for place in dealt if place[0] <= 28)
    assert f"{first[0]}.{first[1]} ({key_name(first[0])})" in told(page)
    other = next(place for place in pins_of(28) if place not in dealt)
    typed(page, "bass", f"{first[0]}.{first[1]}:60 {other[0]}.{other[1]}:20")
    assert f"{first[0]}.{first[1]} ({key_name(first[0])}) tried" in told(page)
    assert f"Not among them, and not marked as soft: {other[0]}.{other[1]}." in told(page)
    assert "1 of 2 tried were loose" in told(page)
    typed(page, "bass", f"{first[0]}.{first[1]}:60 {other[0]}.{other[1]}:~20")
    assert [reading.soft for reading in draft(page).finding("pin_torque").readings].count(True) == 1
    assert "0 of 1 tried were loose" in told(page)
    assert "1 more were tried because they felt soft, 1 of them loose" in told(page)
    assert "Not among them" not in told(page)
    assert "~20" in row(page, "bass")


def test_the_deal_of_a_visit_stays_and_grows(page):
    def dealt(page: AppTest) -> set[str]:
        return set(re.findall(r"\d+\.\d (?=\()", told(page)))

    few = dealt(page)
    page.pills(key=draft(page).key("pins_dealt")).set_value("48").run()
    assert len(few) == 24
    assert few < dealt(page)
    assert len(dealt(page)) == 48
