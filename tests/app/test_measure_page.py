"""The page of measurements, as Streamlit's own test runner sees it."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pytest
import soundfile
from demo_shop import draft, go, opened, start
from reference.made_notes import RATE, recorded, string, young_inharmonicity
from streamlit.testing.v1 import AppTest

from valuation.facts.keys import key_number
from valuation.facts.units import IN_LB_NM
from valuation.facts.visit import Finding, Reading
from valuation.readings.result import Series
from valuation.screens.measured import chart, in_words


@pytest.fixture
def page() -> AppTest:
    """The page of measurements for the piano that was hardly looked at."""
    return go(opened(start(), 5), "measure")


def turn_to(page: AppTest, subject: str) -> AppTest:
    page.pills(key=draft(page).key("measured")).set_value(subject).run()
    assert not page.exception
    return page


def typed(page: AppTest, **fields: str) -> AppTest:
    """Type into fields, by the name they have in the page's own keys."""
    for name, text in fields.items():
        page.text_input(key=draft(page).key(f"measure_{name}")).set_value(text)
    page.run()
    assert not page.exception
    return page


def told(page: AppTest) -> str:
    pieces = [element.value for kind in (page.markdown, page.text, page.html) for element in kind]
    return "\n".join(pieces).replace("\\", "")


def take_over(page: AppTest) -> AppTest:
    page.button(key=draft(page).key("take_over")).click().run()
    assert not page.exception
    return page


def numbers(page: AppTest, check: str) -> list[float]:
    return [reading.value for reading in draft(page).finding(check).readings]


def test_pins_become_a_finding_only_when_it_is_taken_over(page):
    before = draft(page).finding("pin_torque")
    page.pills(key=draft(page).key("measure_pin_unit_metric")).set_value("in-lb").run()
    typed(page, pins_bass="60 55", pins_treble="80 28")
    assert "1 of 4 tried were loose (under 29.9 in-lb)" in told(page)
    assert draft(page).finding("pin_torque") == before
    take_over(page)
    assert numbers(page, "pin_torque") == pytest.approx([n * IN_LB_NM for n in (60, 55, 80, 28)])
    assert [r.section for r in draft(page).finding("pin_torque").readings] == ["bass", "bass", "treble", "treble"]
    assert "Taken over" in told(page)


def test_a_scale_that_is_typed_gives_the_strain(page):
    turn_to(page, "Strings")
    # worked example: 181 mm of 0.925 mm wire at C6 pulls 170.2 lbf, half of what it must bear
    page.text_area(key=draft(page).key("measure_scale")).set_value(
        "key,length_mm,wire,outside_mm,strings\nC6,181,0.925 mm,,3\nA4,390,0.975 mm,,3"
    ).run()
    assert "most strained of the strings measured is C6, at 50 %" in told(page)
    take_over(page)
    assert numbers(page, "string_strain") == pytest.approx([50.4], abs=0.05)


def test_bearing_and_crown_are_taken_over_together(page):
    turn_to(page, "Bearing and crown")
    typed(page, bearing_angle_bass="1.1 0.9", bearing_angle_treble="0.3 0.1", crown="2")
    assert "With its crown the board is risen" in told(page)
    take_over(page)
    assert numbers(page, "string_bearing") == [0.2]
    assert numbers(page, "board_crown") == [2]


def test_the_swing_of_humidity_is_taken_over(page):
    turn_to(page, "Air and wood")
    typed(page, dry="25", wet="70", held_low="40", held_high="50")
    assert "20 % of all movement would be left" in told(page)
    take_over(page)
    assert numbers(page, "humidity_swing") == [45]


def test_the_crown_is_followed_over_the_year(page):
    turn_to(page, "Air and wood")
    typed(page, dry="25", wet="70", now="50", year_crown="2", rib_length="1/2 ft")
    assert "can't be reckoned without: rib height, thickness" in told(page)
    typed(page, rib_length="1000", rib_height="20", thickness="9 mm", across="1200")
    assert "could take the crown away, from" in told(page)
    assert "on 1200 from dry to wet" in told(page)
    typed(page, year_crown="30")
    assert "Even a board held by its ribs alone would keep some crown" in told(page)


def note(name: str, cents: float, key: str) -> tuple[str, bytes, str]:
    number = key_number(key)
    tone = string(number, cents, young_inharmonicity(number), 6, 2.5)
    file = io.BytesIO()
    soundfile.write(file, recorded(tone, np.random.default_rng(1)), RATE, format="WAV", subtype="PCM_16")
    return name, file.getvalue(), "audio/wav"


def test_recordings_give_pitch_and_never_the_check_by_ear_and_watch(page):
    turn_to(page, "Sound")
    before = draft(page).finding("sustain_a5")
    silent = io.BytesIO()
    soundfile.write(silent, np.zeros(RATE), RATE, format="WAV")
    uploads = [note("A4.wav", -30, "A4"), note("C5.wav", -30, "C5"), ("quiet.wav", silent.getvalue(), "audio/wav")]
    page.file_uploader(key=draft(page).key("sound_files")).set_value(uploads).run()
    assert not page.exception
    assert "A4 is 30 cents below standard pitch" in told(page)
    assert "quiet.wav: There is no sound in the recording." in told(page)
    take_over(page)
    assert numbers(page, "pitch_level") == pytest.approx([-30, -30], abs=2)
    assert draft(page).finding("sustain_a5") == before


def test_what_can_not_be_read_is_told_and_nothing_is_taken(page):
    turn_to(page, "Air and wood")
    typed(page, dry="70", wet="25")
    assert "Not read" in told(page)
    assert not [button for button in page.button if button.key == draft(page).key("take_over")]


def test_what_was_typed_is_there_again_after_leaving_the_page(page):
    typed(page, pins_bass="60 55")
    go(go(page, "condition"), "measure")
    assert page.text_input(key=draft(page).key("measure_pins_bass")).value == "60 55"


def test_a_note_on_the_finding_before_stays(page):
    draft(page).record("humidity_swing", Finding(check="humidity_swing", readings=(Reading(value=30.0),), note="asked"))
    turn_to(page, "Air and wood")
    typed(page, dry="25", wet="70")
    assert "This replaces what was entered" in told(page)
    take_over(page)
    found = draft(page).finding("humidity_swing")
    assert found == replace(found, note="asked", readings=(Reading(value=45.0),))


def test_a_chart_says_in_words_what_it_shows():
    series = Series(title="Pitch", across="Key", up="Cents", x=(1, 49), y=(-3.0, 2.0), marked=(True, False),
                    limits=(("A4 = 440 Hz", 0.0),))  # fmt: skip
    figure = chart(series)
    assert list(figure.data[0].marker.symbol) == ["diamond", "circle"]
    assert in_words(series) == "Pitch. Key; Cents. 1: -3.0; 49: 2.0. Line, A4 = 440 Hz: 0."
