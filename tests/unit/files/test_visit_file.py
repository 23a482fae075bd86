"""A visit file becomes a checked visit, or every fault in it is told."""

from __future__ import annotations

from datetime import date

import pytest
import small_rules
from table_changes import assert_told, named

from valuation.engine.rows import KINDS, Tables
from valuation.errors import VisitError
from valuation.facts.units import IN_LB_NM
from valuation.facts.visit import Client, Finding, Piano, Range, Reading, Visit
from valuation.files.visit_file import parse_visit, read_visit
from valuation.files.visit_writer import write_visit
from valuation.rules import load_tables

TODAY = date(2026, 6, 1)

WHOLE = '''\
title = "Grand in the parlour"
date = 2026-05-04
technician = "A. Technician"
place = "third floor"
story = """
Played daily until 1990.
title = "not a key"
"""
humidity = 38
temperature = 20.5

[piano]
kind = "grand"
size = "5 ft"
maker = "as written on it"
serial = "12345"
finish = "black"
year = 1912
year_is_about = true
tier = "fine"
features = ["straight_strung"]

[piano.renewed]
strings = 1975

[client]
name = "A. Client"
purpose = "to sell"
wishes = "none"
wants_to_play = false
to_have = 2500
to_hear = 4000
budget = 9000
playing_year = 600
horizon_years = 20

[finished_value]
low = 8000
likely = 11000
high = 15000

[findings]
room = "heated"
string_rust = "flakes"
groove_depth = "1/8 in"
hammer_swings = { value = 4, note = "slow in the treble" }
pin_torque = { treble = [80, "9 N.m"], bass = [60], unit = "in-lb", note = "dry" }
'''


@pytest.fixture(scope="module")
def tables() -> Tables:
    """The small tables with a check of grands alone, and one that is worked out from the readings of another."""
    return small_rules.tables(checks=small_rules.with_checks(
        "hammer_swings,grand,heads_loose,no,no,action,3,clear,number,count,high,6,4,2,0.5,0,20,,,,,,,,none",
        "loose_pins,both,pins_loose,no,no,strings,1,clear,readings,%,low,2,8,25,,0,100,share_below,,,,,,,none",
        readings_of={"loose_pins": "pin_torque"}, limit={"loose_pins": "3.4"}, of_all={"loose_pins": "225"},
    ))  # fmt: skip


@pytest.fixture
def read(tables):
    return lambda text: parse_visit(text, "visit.toml", tables, today=TODAY)


@pytest.fixture
def faults(read):
    def told(text: str) -> list:
        with pytest.raises(VisitError) as caught:
            read(text)
        return list(caught.value.problems)

    return told


def with_findings(line: str) -> str:
    """The least visit, with one line of findings, which stands in line 6."""
    return f'title = "x"\ndate = 2026-05-04\n[piano]\nkind = "grand"\n[findings]\n{line}\n'


def test_everything_in_a_visit_file_arrives(read):
    visit = read(WHOLE)
    assert visit == Visit(
        title="Grand in the parlour",
        on=date(2026, 5, 4),
        technician="A. Technician",
        place="third floor",
        story='Played daily until 1990.\ntitle = "not a key"\n',
        humidity=38.0,
        temperature=20.5,
        piano=Piano(
            kind="grand",
            size_mm=pytest.approx(1524),
            maker="as written on it",
            serial="12345",
            finish="black",
            year=1912,
            year_is_about=True,
            tier="fine",
            features=("straight_strung",),
            renewed=(("strings", 1975),),
        ),
        client=Client(
            name="A. Client",
            purpose="to sell",
            wishes="none",
            wants_to_play=False,
            to_have=2500.0,
            to_hear=4000.0,
            budget=9000.0,
            playing_year=600.0,
            horizon_years=20.0,
        ),
        finished_value=Range(low=8000.0, likely=11000.0, high=15000.0),
        findings=(
            Finding(check="room", grade="slight"),
            Finding(check="string_rust", grade="severe"),
            Finding(check="groove_depth", readings=(Reading(value=3.175),)),
            Finding(check="hammer_swings", readings=(Reading(value=4.0),), note="slow in the treble"),
            Finding(
                check="pin_torque",
                readings=(
                    Reading(value=80 * IN_LB_NM, section="treble"),
                    Reading(value=9.0, section="treble"),
                    Reading(value=60 * IN_LB_NM, section="bass"),
                ),
                note="dry",
            ),
        ),
    )


def test_only_title_date_and_kind_are_needed(read):
    least = read('title = "x"\ndate = 2026-05-04\npiano.kind = "upright"\n')
    assert least == Visit(title="x", on=date(2026, 5, 4), piano=Piano(kind="upright"))


@pytest.mark.parametrize(
    ("line", "finding"),
    [
        ('string_rust = "dull"', Finding(check="string_rust", grade="slight")),
        ('string_rust = " Dull "', Finding(check="string_rust", grade="slight")),
        ('string_rust = "slight"', Finding(check="string_rust", grade="slight")),
        ('string_rust = "can\'t be seen"', Finding(check="string_rust", cannot_see=True)),
        ('string_rust = "can’t be seen"', Finding(check="string_rust", cannot_see=True)),
        ('groove_depth = "cannot be seen"', Finding(check="groove_depth", cannot_see=True)),
        ('string_rust = { value = "dull", note = "bass" }', Finding(check="string_rust", grade="slight", note="bass")),
        ('string_rust = "fair"', Finding(check="string_rust", grade="slight")),
        ('string_rust = "failed"', Finding(check="string_rust", grade="severe")),
        ("groove_depth = 2", Finding(check="groove_depth", readings=(Reading(value=2.0),))),
        (
            'groove_depth = { value = "0.2", unit = "cm" }',
            Finding(check="groove_depth", readings=(Reading(value=2.0),)),
        ),
        (
            'string_rust = { value = "can\'t be seen", note = "x" }',
            Finding(check="string_rust", cannot_see=True, note="x"),
        ),
        (
            'groove_depth = { value = 0.2, unit = "cm" }',
            Finding(check="groove_depth", readings=(Reading(value=2.0),)),
        ),
        ("pin_torque = [8, 9]", Finding(check="pin_torque", readings=(Reading(value=8.0), Reading(value=9.0)))),
        ("pin_torque = 8", Finding(check="pin_torque", readings=(Reading(value=8.0),))),
        ("pin_torque = { readings = [8] }", Finding(check="pin_torque", readings=(Reading(value=8.0),))),
        ("pin_torque = { value = [8] }", Finding(check="pin_torque", readings=(Reading(value=8.0),))),
        ("pin_torque.bass = [8]", Finding(check="pin_torque", readings=(Reading(value=8.0, section="bass"),))),
    ],
)
def test_a_finding_can_be_written_in_several_ways(read, line, finding):
    assert read(with_findings(line)).findings == (finding,)


@pytest.mark.parametrize(
    ("written", "reading"),
    [
        ('["49.2: 8"]', Reading(value=8.0, key=49, string=2)),
        ('["49: 8"]', Reading(value=8.0, key=49)),
        ('["A4.2: 8 N.m"]', Reading(value=8.0, key=49, string=2)),
        ('[" Bb0 . 1 :60 in-lb"]', Reading(value=60 * IN_LB_NM, key=2, string=1)),
        ('{ bass = ["1.1: 60"], unit = "in-lb" }', Reading(value=60 * IN_LB_NM, section="bass", key=1, string=1)),
        ('"88.3: 8"', Reading(value=8.0, key=88, string=3)),
        ('["88.3: 8.5e-06"]', Reading(value=8.5e-6, key=88, string=3)),
    ],
)
def test_a_reading_may_say_at_which_key_and_string(read, written, reading):
    assert read(with_findings(f"pin_torque = {written}")).findings[0].readings == (reading,)


def test_readings_with_and_without_a_place_are_written_as_they_are_read(tables, read):
    line = 'pin_torque = { bass = [8.0, "49.2: 3.5", 9.25], treble = ["88: 7.0"], unit = "N.m" }'
    assert write_visit(read(with_findings(line)), tables).endswith(f"[findings]\n{line}\n")


@pytest.mark.parametrize("check", ["string_rust", "groove_depth", "pin_torque"])
def test_a_check_not_looked_at_is_left_out(read, check):
    assert read(with_findings(f'{check} = "not looked at"')).findings == ()


# what, old text of the whole file, new text, line, key, part of the message
FILE = [
    ("no title", 'title = "Grand in the parlour"\n', "", 0, "title", "it is missing; write title = "),
    ("empty title", '"Grand in the parlour"', '" "', 1, "title", "the title is empty"),
    ("title of two lines", '"Grand in the parlour"', r'"Grand\nin"', 1, "title", "write it on one line"),
    ("title that is no text", '"Grand in the parlour"', "1",
     1, "title", "'1' is not text; write it in quotation marks"),
    ("title without end", "Grand", "G" * 301, 1, "title", "letters; the most is 300"),
    ("no date", "date = 2026-05-04\n", "", 0, "date", "it is missing; write date = 2026-05-04"),
    ("date in quotation marks", "2026-05-04", '"2026-05-04"', 2, "date", "is not a day; write it like 2026-05-04"),
    ("moment for a day", "2026-05-04", "2026-05-04T10:00:00", 2, "date", "is not a day"),
    ("visit in the future", "2026-05-04", "2026-06-02", 2, "date", "2026-06-02 is in the future; today is 2026-06-01"),
    ("visit long ago", "2026-05-04", "1989-05-04", 2, "date", "is too long ago"),
    ("unknown key", "humidity", "humdity", 9, "humdity", "is not known here; did you mean 'humidity'?"),
    ("too humid", "= 38", "= 138", 9, "humidity", "138 is out of range; write 0 to 100 % relative humidity"),
    ("humid in words", "= 38", '= "38"', 9, "humidity", "'38' is not a number; write it like 4 or 4.5"),
    ("true for a number", "= 38", "= true", 9, "humidity", "'true' is not a number"),
    ("no number", "= 38", "= nan", 9, "humidity", "is not a number"),
    ("infinite", "= 38", "= inf", 9, "humidity", "is not a number"),
    ("control character by escape", '"third floor"', r'"third\u0000"', 4, "place", "control character"),
]  # fmt: skip

PIANO = [
    ("no kind", 'kind = "grand"\n', "", 12, "piano.kind", "it is missing; write kind = 'upright' or kind = 'grand'"),
    ("unknown kind", '"grand"', '"grande"', 13, "piano.kind", "is not a kind of piano; did you mean 'grand'?"),
    ("unknown key", "serial", "serail", 16, "piano.serail", "is not known here; did you mean 'serial'?"),
    ("too short for a grand", "5 ft", "3 ft", 14, "piano.size", "'3 ft' is out of range; write 3.937 to 10.5 ft"),
    ("size in other units", "5 ft", "5 kg", 14, "piano.size", "'kg' is not a unit for this; write mm or cm"),
    ("size in words", "5 ft", "long", 14, "piano.size", "'long' is not a number"),
    ("size that is a list", '"5 ft"', "[5]", 14, "piano.size", "'[5]' is not a number; write it like 4.5 or '1/8 in'"),
    ("built in the future", "1912", "2027", 18, "piano.year", "2027 is out of range; write 1700 to 2026"),
    ("built before pianos", "1912", "1699", 18, "piano.year", "1699 is out of range; write 1700 to 2026"),
    ("year in quotation marks", "1912", '"1912"', 18, "piano.year", "is not a whole number"),
    ("about in words", "= true", '= "yes"', 19, "piano.year_is_about", "'yes' is neither true nor false"),
    ("unknown tier", '"fine"', '"fin"', 20, "piano.tier", "is not a tier; did you mean 'fine'?"),
    ("unknown feature", "straight_strung", "straight",
     21, "piano.features", "is not a feature; did you mean 'straight_strung'"),
    ("feature of uprights", "straight_strung", "drop_action", 21, "piano.features", "is not a feature of grands"),
    ("feature twice", '["straight_strung"]', '["straight_strung", "straight_strung"]',
     21, "piano.features", "stands twice"),
    ("feature without a list", '["straight_strung"]', '"straight_strung"',
     21, "piano.features", "is not a list of names"),
    ("unknown part", "strings = 1975", "string = 1975", 24, "piano.renewed.string", "did you mean 'strings'?"),
    ("renewed in the future", "strings = 1975", "strings = 2027", 24, "piano.renewed.strings", "write 1700 to 2026"),
]  # fmt: skip

CLIENT = [
    ("unknown key", "to_have", "too_have", 31, "client.too_have",
     "is not known here; did you mean 'to_have' or 'to_hear'?"),
    ("below nothing", "to_have = 2500", "to_have = -1", 31, "client.to_have", "-1 is out of range; write 0 to"),
    ("horizon without end", "horizon_years = 20", "horizon_years = 200",
     35, "client.horizon_years", "write 1 to 60 years"),
    ("range that doesn't rise", "likely = 11000", "likely = 1100",
     39, "finished_value.likely", "must rise: 8000, 1100, 15000"),
    ("range that is not whole", "low = 8000\n", "", 37, "finished_value.low", "give low, likely and high together"),
    ("worth nothing", "low = 8000", "low = 0", 38, "finished_value.low", "it must be above 0"),
]  # fmt: skip

FINDINGS = [
    ("unknown check", "string_dust = 1", "string_dust", "is not a check; did you mean 'string_rust'?"),
    ("unknown word", 'string_rust = "dul"', "string_rust", "'dul' is not a choice; did you mean 'dull'?"),
    ("severity without words", 'player = "moderate"', "player", "'moderate' is not a choice"),
    ("number for a choice", "string_rust = 3", "string_rust",
     "answered in words: 'bright', 'dull', 'brown' or 'flakes'"),
    ("severity for a number", 'groove_depth = "slight"',
     "groove_depth", "is a severity, which the tables give; give the number"),
    ("words for a number", 'groove_depth = "deep"', "groove_depth", "'deep' is not a number"),
    ("wrong unit", 'groove_depth = "3 kg"', "groove_depth", "'kg' is not a unit for this; write mm or cm"),
    ("list for one number", "groove_depth = [1, 2]",
     "groove_depth", "one number is asked, not a list; write it like '0 mm'"),
    ("true for a number", "groove_depth = true", "groove_depth", "'true' is not a number"),
    ("no number", "groove_depth = nan", "groove_depth", "is not a number"),
    ("infinite", "pin_torque = [8, inf]", "pin_torque", "'inf' is not a number"),
    ("too deep", 'groove_depth = "1 in"', "groove_depth", "'1 in' is out of range; write 0 to 0.4724 in"),
    ("below nothing", 'groove_depth = "-1 mm"', "groove_depth", "'-1 mm' is out of range; write 0 to 12 mm"),
    ("bare number out of range", "groove_depth = 13", "groove_depth", "'13' is out of range; write 0 to 12 mm"),
    ("out of range in the unit given for all", 'pin_torque = { bass = [300], unit = "in-lb" }',
     "pin_torque.bass", "'300' is out of range; write 0 to 265.5 in-lb"),
    ("unknown unit for all", 'pin_torque = { bass = [300], unit = "stone" }',
     "pin_torque.bass", "'stone' is not a unit"),
    ("unknown section", "pin_torque = { bas = [3] }", "pin_torque.bas", "is not known here; did you mean 'bass'?"),
    ("no reading", "pin_torque = []", "pin_torque", "no reading is given"),
    ("no lists", 'pin_torque = { note = "x" }', "pin_torque.readings", "no reading is given"),
    ("reading that is no list", "pin_torque = { bass = 3 }",
     "pin_torque.bass", "'3' is not a list; write it like [60, 55]"),
    ("more pins than there are", f"pin_torque = {[8] * 300}",
     "pin_torque", "300 readings are given, but there are only 225"),
    ("more pins in two sections", f"pin_torque = {{ bass = {[8] * 200}, treble = {[8] * 26} }}",
     "pin_torque.bass", "226 readings are given, but there are only 225"),
    ("no such key", 'pin_torque = ["89: 8"]', "pin_torque", "'89' is not on the keyboard, which goes from A0 (1)"),
    ("no such note", 'pin_torque = ["H4: 8"]', "pin_torque", "'H4' is not a key; write A4, D#5 or Bb2"),
    ("no key at all", 'pin_torque = ["first: 8"]', "pin_torque", "'first' is not a key; write its number or name"),
    ("no such string", 'pin_torque = ["49.4: 8"]',
     "pin_torque", "'4' is not a string of '49'; write 1, 2 or 3, counted from the left"),
    ("string of a string", 'pin_torque = ["49.2.1: 8"]', "pin_torque", "'2.1' is not a string of '49'"),
    ("place without a reading", 'pin_torque = ["49.2:"]', "pin_torque", "at '49.2': '' is not a number"),
    ("reading with a place out of range", 'pin_torque = { bass = ["49.2: 300"], unit = "in-lb" }',
     "pin_torque.bass", "at '49.2': '300' is out of range; write 0 to 265.5 in-lb"),
    ("a string twice", 'pin_torque = { bass = ["49.2: 8"], treble = [9, "A4.2: 8"] }',
     "pin_torque.treble", "key 49.2 has more than one reading; keep one"),
    ("a key twice", 'pin_torque = ["49: 8", "49: 9"]',
     "pin_torque", "key 49 has more than one reading; say of which string, as 49.1 and 49.2, or keep one"),
    ("a place of one number", 'groove_depth = "49.2: 1"',
     "groove_depth", "has a place, but one number is asked for the whole piano"),
    ("check that is worked out", "loose_pins = 3",
     "loose_pins", "worked out from the readings of 'pin_torque'; give those"),
    ("no value", 'string_rust = { note = "x" }',
     "string_rust.value", "it is missing; write { value = ..., note = ... }"),
    ("unknown part of a finding", 'string_rust = { value = "dull", nota = "x" }',
     "string_rust.nota", "did you mean 'note'?"),
    ("unit of a choice", 'string_rust = { value = "dull", unit = "mm" }', "string_rust.unit", "is not known here"),
    ("note that is no text", 'string_rust = { value = "dull", note = 1 }', "string_rust.note", "is not text"),
    ("note on a check not made", 'string_rust = { value = "not looked at", note = "x" }',
     "string_rust.value", "has no note"),
    ("day for an answer", "string_rust = 2026-05-04", "string_rust", "is no answer to this check"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "line", "key", "fragment"), named(FILE + PIANO + CLIENT))
def test_a_fault_in_a_visit_file_is_told(faults, old, new, line, key, fragment):
    assert old in WHOLE
    assert_told(faults(WHOLE.replace(old, new, 1)), "visit.toml", line, key, fragment)


@pytest.mark.parametrize(("line", "key", "fragment"), named(FINDINGS))
def test_a_fault_in_a_finding_is_told(faults, line, key, fragment):
    assert_told(faults(with_findings(line)), "visit.toml", 6, f"findings.{key}", fragment)


@pytest.mark.parametrize("key", ["piano", "client", "findings", "finished_value"])
def test_a_table_given_as_something_else_is_told(faults, key):
    text = f'title = "x"\ndate = 2026-05-04\n{key} = 3\n' + ("" if key == "piano" else 'piano.kind = "grand"\n')
    assert_told(faults(text), "visit.toml", 3, key, f"write it as a table: [{key}] and below it key = value")


def test_a_check_for_the_other_kind_is_told(faults):
    problems = faults(with_findings("hammer_swings = 4").replace("grand", "upright"))
    assert_told(problems, "visit.toml", 6, "findings.hammer_swings", "this check is not for uprights; take it out")


def test_a_part_is_not_renewed_before_the_piano_was_built(faults):
    text = WHOLE.replace("year_is_about = true\n", "").replace("strings = 1975", "strings = 1911")
    assert_told(faults(text), "visit.toml", 23, "piano.renewed.strings", "1911 is out of range; write 1912 to 2026")


def test_a_part_may_be_renewed_before_a_year_that_is_a_guess(read):
    assert read(WHOLE.replace("strings = 1975", "strings = 1911")).piano.renewed == (("strings", 1911),)


def test_a_part_that_this_piano_lacks_is_told():
    parts = [
        ("hammers,action,hammers,,", "hammers,action,hammers,straight_strung,"),
        ("yes,yes,2,0.5,", "yes,yes,2,0.8,"),
    ]
    tables = small_rules.tables(parts=parts)
    least = with_findings("groove_depth = 1").replace("[findings]", "[piano.renewed]\nhammers = 1990\n[findings]")
    with pytest.raises(VisitError) as caught:
        parse_visit(least, "visit.toml", tables, today=TODAY)
    told = list(caught.value.problems)
    assert_told(told, "visit.toml", 6, "piano.renewed.hammers", "only a piano with 'straight_strung' has it")
    there = least.replace('kind = "grand"', 'kind = "grand"\nfeatures = ["straight_strung"]')
    assert len(parse_visit(there, "visit.toml", tables, today=TODAY).findings) == 1


def test_all_faults_are_told_at_once_in_the_order_of_the_file(faults):
    text = (
        WHOLE.replace("= 38", "= 138")
        .replace("5 ft", "3 ft")
        .replace('"heated"', '"hot"')
        .replace("[60]", "[true, 600]")
    )
    assert [(p.line, p.where) for p in faults(text)] == [
        (9, "humidity"),
        (14, "piano.size"),
        (43, "findings.room"),
        (47, "findings.pin_torque.bass"),
        (47, "findings.pin_torque.bass"),
    ]


@pytest.mark.parametrize(
    ("text", "line", "fragment"),
    [
        ("title = x", 1, "this is not TOML: Invalid value (at line 1, column 9)"),
        ('title = "x"\n[piano]\nyear = 1912\nyear = 1913', 4, "this is not TOML: Cannot overwrite a value"),
        ("humidity = 38,5", 1, "this is not TOML"),
        ('a = 1\n\nb = \'\u2028\'\nc = """open\n', 4, "this is not TOML"),
        (f"x = {'[' * 50_000}", 0, "nested too deeply"),
        (f"{'a.' * 50_000}a = 1", 1, "nested too deeply"),
        (f"x = 0x{'f' * 9000}", 0, "has more than 18 digits"),
        (f"x = {'9' * 9000}", 0, "this is not TOML"),
        ("", 0, "the file is empty"),
        ("\ufefftitle = 'x'", 1, "save as UTF-8 without byte-order mark"),
        ("title = 'x'\ndate\0 = 1", 2, "a NUL stands in the text"),
        ("title = '\udc80'", 1, "is not UTF-8"),
        ("#" * 1_000_001, 0, "larger than 1,000,000 bytes"),
    ],
)
def test_a_text_that_is_no_toml_is_told(faults, text, line, fragment):
    assert_told(faults(text), "visit.toml", line, "", fragment)


@pytest.mark.parametrize(
    ("data", "line", "fragment"),
    [
        (b"title = '\xfc'", 1, "byte FC (hexadecimal) is not UTF-8"),
        (b"\xef\xbb\xbftitle = 'x'", 1, "byte-order mark"),
        (b"#" * 1_000_001, 0, "larger than 1,000,000 bytes"),
    ],
)
def test_a_file_that_is_no_plain_text_is_told(small_tables, tmp_path, data, line, fragment):
    path = tmp_path / "visit.toml"
    path.write_bytes(data)
    with pytest.raises(VisitError) as caught:
        read_visit(path, small_tables, today=TODAY)
    assert_told(list(caught.value.problems), "visit.toml", line, "", fragment)


def test_a_missing_visit_file_is_told(small_tables, tmp_path):
    with pytest.raises(VisitError, match=r"nowhere.toml: the file is missing"):
        read_visit(tmp_path / "nowhere.toml", small_tables, today=TODAY)


def test_a_visit_reads_back_equal(tables, tmp_path, read):
    path = tmp_path / "visit.toml"
    path.write_text(write_visit(read(WHOLE), tables), encoding="utf-8", newline="")
    assert read_visit(path, tables, today=TODAY) == read(WHOLE)


def test_a_visit_file_is_written_for_people(tables, read):
    findings = 'string_rust = "slight"\nroom = "can\'t be seen"\ngroove_depth = "0.25 in"'
    text = write_visit(read(with_findings(findings)), tables)
    assert text == (
        'title = "x"\ndate = 2026-05-04\n\n[piano]\nkind = "grand"\n\n'
        '[findings]\nstring_rust = "dull"\nroom = "can\'t be seen"\ngroove_depth = 6.35  # mm\n'
    )


@pytest.mark.parametrize("kind", KINDS)
def test_every_check_of_the_packaged_tables_can_be_written_and_read(kind):
    tables = load_tables()
    for name, check in tables.of_kind("checks", kind).items():
        if check.readings_of:
            continue
        if check.answer == "choice":
            findings = [Finding(check=name, grade=grade, note="seen") for grade in check.choices]
        else:
            findings = [Finding(check=name, readings=(Reading(value=v),)) for v in (check.lowest, check.highest)]
        features = tuple(row.id for row in tables.features if row.id in check.only_with and row.kinds in (kind, "both"))
        piano = Piano(kind=kind, features=features[:1])
        for finding in findings:
            visit = Visit(title="all", on=TODAY, piano=piano, findings=(finding,))
            assert parse_visit(write_visit(visit, tables), "all.toml", tables, today=TODAY) == visit
