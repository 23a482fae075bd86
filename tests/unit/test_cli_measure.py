"""The commands below `measure`: what they print, the line for a visit file, and how they end."""

from __future__ import annotations

import json
import re
import shutil
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest
import soundfile
from click.testing import CliRunner, Result
from reference.made_notes import RATE, recorded, string, young_inharmonicity
from unit.test_import import HEAVY, loaded_by

from valuation.cli import main
from valuation.engine.appraise import appraise
from valuation.facts.keys import key_number
from valuation.facts.units import IN_LB_NM
from valuation.facts.visit import Finding
from valuation.files.visit_file import parse_visit
from valuation.measure.sound import Refused
from valuation.measure.sound.tuning import stretch_cents
from valuation.readings.read_scale import read_scale
from valuation.readings.show import to_text
from valuation.readings.strings import Asked, read_strings
from valuation.report.labels import severity_words
from valuation.rules import load_tables

TABLES = load_tables()
SCALE = "key,length_mm,wire,outside_mm,strings\nC6,181,0.925 mm,,3\nA4,390,17,,3\n1,48 in,1.5 mm,4.8,1\n"
CLIMATE = ("climate", "--winter", 25, "--summer", 70, "--temperature", 21)


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, ["measure", *map(str, arguments)], catch_exceptions=False)


def good(*arguments: object) -> str:
    """Run a command that is in order; give what it prints, on one line where a sentence was wrapped."""
    result = run(*arguments)
    assert (result.exit_code, result.stderr) == (0, "")
    return re.sub(r"\n {2,}", " ", result.stdout)


def refused(*arguments: object) -> list[str]:
    result = run(*arguments)
    assert (result.exit_code, result.stdout) == (2, "")
    assert "Traceback" not in result.stderr
    return result.stderr.splitlines()


def visit_of(printed: str):
    """Put what stands below [findings] into a visit file and read it."""
    lines = printed.partition("[findings]\n")[2]
    text = f'title = "x"\ndate = 2026-05-01\n[piano]\nkind = "upright"\n[findings]\n{lines}'
    return parse_visit(text, "x.toml", TABLES, today=date(2026, 12, 31))


def found(printed: str) -> dict[str, Finding]:
    return {finding.check: finding for finding in visit_of(printed).findings}


@pytest.fixture
def scale(tmp_path: Path) -> Path:
    path = tmp_path / "scale.csv"
    path.write_text(SCALE, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def recordings(tmp_path_factory) -> Path:
    """Five notes 40 cents flat with unisons 6 cents apart, one string of A4 half as stiff again, and silence."""
    folder = tmp_path_factory.mktemp("notes")
    rng = np.random.default_rng(1)
    for name in ("A3", "C4", "A4", "C5", "A5"):
        key = key_number(name)
        b = young_inharmonicity(key) * (1.5 if name == "A4" else 1)
        tone = string(key, -40, b, 6, 2.5) + string(key, -34, b, 6, 2.5, level_db=-6)
        soundfile.write(folder / f"{name}.wav", recorded(tone, rng), RATE, subtype="PCM_16")
    soundfile.write(folder / "quiet.wav", np.zeros(RATE), RATE, subtype="PCM_16")
    return folder


def test_strings_tell_the_greatest_strain_and_the_line_for_it(scale):
    printed = good("strings", scale, "--gauges", "european")
    # Fletcher and Rossing: T = 4 L^2 f^2 m; 2161 / d^0.157; by hand 757 N of 1470 N
    assert "The most strained of the strings measured is C6, at 51 % of" in printed
    assert found(printed)["string_strain"].readings[0].value == pytest.approx(51.5, abs=0.05)
    assert printed.endswith("string_strain = 51.5  # %; reads nothing wrong\n")


def test_a_length_may_be_in_inches_and_a_wire_size_a_gauge(scale):
    rows = json.loads(good("strings", scale, "--gauges", "european", "--json"))["listings"][0]["rows"]
    assert [row[:3] for row in rows] == [
        ["A0 (1)", "1219", "1.500"],
        ["A4 (49)", "390", "0.975"],
        ["C6 (64)", "181", "0.925"],
    ]


def test_the_limit_of_a_pitch_raise_comes_from_the_tables_or_from_the_argument(scale):
    ask = ("strings", scale, "--gauges", "european", "--flat", 100, "--strength-kept", 60)
    assert "pass 72 % of what the wire can still bear: C6" in good(*ask)
    assert "none of the strings measured would pass 95 %" in good(*ask, "--highest-share", 95)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("C6,181", "H6,181", "scale.csv:2: key: 'H6' is not a key; write A4, D#5 or Bb2"),
        ("181", "abc", "scale.csv:2: length_mm: 'abc' is not a number; write it as 12.5, 1/8 in or 110 in-lb"),
        ("181", "18100", "strings: speaking length must be between 30 and 2500 mm, not 18100"),
        (",,3\nA4", "\nA4", "scale.csv:2: the row has more or fewer cells than the first line has columns"),
        ("wire", "gauge", "scale.csv:1: the column 'wire' is missing"),
        ("C6", "A4", "scale.csv: a scale needs its keys in rising order, each once"),
    ],
)
def test_a_fault_in_the_scale_is_told_at_its_line(scale, old, new, told):
    scale.write_text(SCALE.replace(old, new, 1), encoding="utf-8")
    lines = refused("strings", scale, "--gauges", "european")
    assert told.replace("strings: speaking", "scale.csv: speaking") in lines


def test_a_bare_wire_number_is_not_guessed_at(scale):
    (line,) = refused("strings", scale)
    assert line.startswith("scale.csv:3: wire: '17' may be an American or a European gauge")


def test_pins_give_exact_ranges_and_what_all_checks_of_torque_read():
    printed = good("pins", *[60] * 23, 20, "--unit", "in-lb", "--in-all", 224)
    # Buonaccorsi 1987, exact hypergeometric limits: 1 bad of 24 tried of 224 is 1 to 45 in all
    assert "1 of 24 tried were loose (under 29.9 in-lb); of all 224 between 1 and 45 may be." in printed
    readings = found(printed)["pin_torque"].readings
    assert [r.value for r in readings] == pytest.approx([60 * IN_LB_NM] * 23 + [20 * IN_LB_NM])
    assert re.search(r"# reads \w+, pin_torque_high reads nothing wrong$", printed)


def test_pins_tried_only_because_they_felt_soft_read_nothing():
    printed = good("pins", "--soft", "20,22", "--unit", "in-lb")
    assert "No pin was tried as it came" in printed
    assert printed.endswith("# says nothing of the others\n")
    assert [r.soft for r in found(printed)["pin_torque"].readings] == [True, True]


def test_a_section_of_looser_pins_is_told_and_the_finding_keeps_the_sections():
    printed = good(
        "pins", "--bass", "20 22,18 19 21 20", "--treble", "60 62 58 61 63 60", "--unit", "in-lb", "--settle", 40
    )
    assert "The pins of the bass are looser than the others by more than chance" in printed
    assert "Loose pins gather in the bass by more than chance" in printed
    assert "to settle whether 40 % are loose" in printed
    assert [r.section for r in found(printed)["pin_torque"].readings] == ["bass"] * 6 + ["treble"] * 6


def test_the_lowest_section_counts_for_the_bearing_and_the_crown_is_read_with_it():
    printed = good("bearing", "--bass", "1.1 0.9", "--treble", "0.0,0.1", "--crown", "-2")
    assert "The lowest section is treble: at 0.05 degrees the string can't be told from none." in printed
    assert "the board is reversed, its bearing none" in printed
    assert {check: f.readings[0].value for check, f in found(printed).items()} == {
        "string_bearing": 0.05,
        "board_crown": -2,
    }


def test_gauge_and_thread_give_the_same_angle_as_degrees():
    gauge = good("bearing", "--treble", 0.00615 * 25.4, "--half-span", "1 in", "--bridge-width", "0.59 in")
    thread = good("bearing", "--treble", 0.5817, "--front", 50, "--rear", 25)
    assert found(gauge)["string_bearing"].readings[0].value == 1.0
    assert found(thread)["string_bearing"].readings[0].value == 2.0


def test_the_force_on_the_board_needs_pull_and_number_of_strings():
    assert "Force on the board: 125 kg" in good(
        "bearing", "--treble", 1, "--tension", 700, "--strings", "treble=100"
    )  # 100 x 2 x 700 N x sin 0.5 deg = 1222 N
    assert refused("bearing", "--treble", 1, "--tension", 700) == [
        "bearing: the force on the board needs both the mean pull of a string and the strings of each section"
    ]


def test_the_seasons_give_moisture_movement_and_the_swing():
    printed = good(*CLIMATE, "--across", 1400, "--hold", 40, 50)
    # Wood Handbook, equation 4-5 and chapter 13: 16.0 mm on 1400 of quartersawn Sitka spruce
    assert "Movement of 1400 mm of sitka spruce across the grain, at most: 16.0 mm" in printed
    assert "20 % of all movement would be left" in printed
    assert found(printed)["humidity_swing"].readings[0].value == 45


def test_a_crack_needs_the_air_it_was_measured_in():
    assert "may open to 1.0 mm" in good(*CLIMATE, "--now", 45, "--crack", 0.3, "--panel", 150)
    (line,) = refused(*CLIMATE, "--crack", 0.3)
    assert line == (
        "climate: the crack can't be reckoned without: panel, humidity of the last weeks, to which it belongs"
    )


def test_recordings_tell_pitch_unisons_and_odd_strings_and_never_sustain(recordings):
    names = [recordings / f"{name}.wav" for name in ("A3", "C4", "A4", "C5", "A5")]
    printed = good("sound", *names)
    findings = found(printed)
    assert set(findings) == {"pitch_level", "unison_spread", "odd_strings"}
    assert np.median([r.value for r in findings["pitch_level"].readings]) == pytest.approx(-38, abs=4)
    assert [r.value for r in findings["unison_spread"].readings] == pytest.approx([6] * 5, abs=0.3)
    assert findings["odd_strings"].readings[0].value == 1
    assert "The string of A4 is" in printed


def test_a_recording_that_says_nothing_is_told_beside_the_others(recordings):
    result = run("sound", recordings / "A4.wav", recordings / "quiet.wav")
    assert result.exit_code == 1
    assert result.stderr == "quiet.wav: There is no sound in the recording.\n"
    assert re.search(r"A4 is (3\d|4[0-2]) cents below", result.stdout)


def test_what_can_not_be_used_is_told_in_one_line_each(recordings, tmp_path):
    assert refused("sound", recordings / "quiet.wav") == ["quiet.wav: There is no sound in the recording."]
    assert refused("sound", recordings / "A4.wav", "--key", "C5")[0].startswith("A4.wav: C5 was named, but")
    assert refused("sound", recordings / "A4.wav", "--key", "H5") == ["--key: 'H5' is not a key; write A4, D#5 or Bb2"]
    assert refused("sound", tmp_path / "none.wav")[0].endswith("the file is missing; check its name and its folder")
    assert refused("strings", tmp_path / "none.csv")[0].endswith("the file is missing; check its name and its folder")
    assert refused("pins") == ["pins: give the torque of at least one pin"]
    assert refused("pins", 60, "--unit", "stone") == [
        "pins: 'stone' is not a unit for this; write N.m or in-lb or kgf.cm"
    ]
    assert refused("bearing", "--treble", 0.2, "--half-span", 20)[0].startswith("bearing: a gauge needs")
    assert refused("bearing", "--treble", 40)[0].startswith("measured: string_bearing")


def test_the_grade_printed_is_the_one_an_appraisal_gives(scale):
    printed = [
        good("pins", 60, 55, 20, "--unit", "in-lb"),
        good("bearing", "--treble", 0.1, "--crown", 1),
        good(*CLIMATE),
        good("strings", scale, "--gauges", "european"),
    ]
    for text in printed:
        visit = visit_of(text)
        appraised = appraise(visit, TABLES, on=visit.on, draws=1024)
        graded = {f.check: f.grade for part in appraised.parts for f in part.findings}
        assert graded.keys() >= {finding.check for finding in visit.findings}
        for check, grade in graded.items():
            words = severity_words(grade)
            assert re.search(rf"^{check} = .*# .*reads {words}\b|, {check} reads {words}\b", text, re.MULTILINE)


def test_a_shop_with_other_cut_points_gets_another_grade(tmp_path, scale):
    folder = tmp_path / "tables"
    shutil.copytree(Path(load_tables.__code__.co_filename).parents[1] / "tables", folder)
    checks = folder / "checks.csv"
    text = checks.read_text(encoding="utf-8")
    assert "low,65,72,80,3,5,150" in text
    checks.write_text(text.replace("low,65,72,80,3,5,150", "low,20,30,40,3,5,150"), encoding="utf-8", newline="")
    printed = good("strings", scale, "--gauges", "european", "--tables", folder)
    assert printed.endswith("string_strain = 51.5  # %; reads severe\n")


def test_where_the_tables_do_not_ask_for_it_there_is_no_line_for_a_visit_file(scale):
    without = replace(TABLES, checks=tuple(row for row in TABLES.checks if row.id != "string_strain"))
    read = read_scale(scale.read_bytes(), "scale.csv", "european")
    printed = to_text(read_strings(read, Asked(), without, "upright"))
    assert "Greatest share of breaking strength: 51" in printed
    assert "The tables have no check for this" in printed


def test_json_holds_all_that_is_printed():
    whole = json.loads(good("pins", 60, 55, 20, "--unit", "in-lb", "--json"))
    assert set(whole) == {"title", "figures", "says", "does_not_say", "listings", "findings", "refused"}
    grades = whole["findings"][0]["grades"]
    assert [grade["check"] for grade in grades] == ["pin_torque", "pin_torque_high"]
    assert sum(grades[0]["weights"]) == pytest.approx(1)


def test_sound_and_what_it_needs_is_loaded_only_where_sound_is_asked_for():
    loaded = loaded_by("from valuation.cli import main; main(['measure', 'pins', '60', '55'], standalone_mode=False)")
    assert "valuation" in loaded
    assert not loaded & (HEAVY | {"soundfile"})


def test_the_same_readings_give_the_same_bytes():
    ask = ("pins", "--bass", "20 30 40", "--treble", "35 60 50", "--unit", "in-lb")
    assert good(*ask) == good(*ask)


def test_a_piano_tuned_with_its_own_stretch_reads_even(tmp_path):
    names = ("A3", "A4", "A5", "A6")
    keys = np.array([key_number(name) for name in names])
    stretched = stretch_cents(keys, Refused("too few", "none"))  # Young's line, which these notes follow
    assert stretched[-1] > 8
    for name, key, cents in zip(names, keys, stretched, strict=True):
        tone = string(key, cents, young_inharmonicity(key), 6, 1.6)
        soundfile.write(tmp_path / f"{name}.wav", recorded(tone, np.random.default_rng(key)), RATE, subtype="PCM_16")
    printed = good("sound", *[tmp_path / f"{name}.wav" for name in names])
    assert [r.value for r in found(printed)["pitch_level"].readings] == pytest.approx([0] * 4, abs=1.5)


def test_one_string_that_is_out_does_not_pass_for_a_section_that_fell(tmp_path):
    for name in ("A3", "C4", "F4", "A4", "C5", "A5"):
        key = key_number(name)
        tone = string(key, -45 if name == "C5" else 0, young_inharmonicity(key), 6, 1.6)
        soundfile.write(tmp_path / f"{name}.wav", recorded(tone, np.random.default_rng(key)), RATE, subtype="PCM_16")
    printed = good("sound", *sorted(tmp_path.glob("*.wav")))
    assert "C5 lies 4" in printed
    assert len(found(printed)["pitch_level"].readings) == 5
    assert "pitch_spread reads nothing wrong" in printed
