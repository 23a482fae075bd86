"""Whatever stands in a file, a reader gives what it promises or tells what is wrong; nothing else comes out."""

from __future__ import annotations

import tempfile
from contextlib import suppress
from datetime import date
from pathlib import Path

import pytest
import small_rules
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from valuation.engine.rows import SECTIONS, SEVERITIES, Tables
from valuation.errors import Problem, TableError, VisitError
from valuation.facts.visit import Client, Finding, Piano, Range, Reading, Visit
from valuation.files.faults import file_of
from valuation.files.read_csv import read_table
from valuation.files.read_toml import read_settings
from valuation.files.visit_file import parse_visit, read_visit
from valuation.files.visit_writer import write_visit
from valuation.rules import load_tables
from valuation.rules.load import ROW_CLASSES

TODAY = date(2026, 6, 1)
FILES = {file_of(table): text for table, text in small_rules.texts().items()}
VISIT = """\
title = "Grand in the parlour"
date = 2026-05-04
story = '''
long'''
humidity = 38
[piano]
kind = "grand"
size = "5 ft"
year = 1912
tier = "fine"
features = ["straight_strung"]
[piano.renewed]
strings = 1975
[client]
wants_to_play = false
to_have = 2500
to_hear = 4000
[finished_value]
low = 8000
likely = 11000
high = 15000
[findings]
room = "heated"
string_rust = { value = "flakes", note = "bass" }
groove_depth = "1/8 in"
pin_torque = { treble = [80, "9 N.m"], bass = [60], unit = "in-lb", note = "dry" }
"""

few = settings(max_examples=60, deadline=None)
many = settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
fragments = st.sampled_from(
    [*",;:.\"'\n\r\t=[]{}#-_0123456789", "", "\ufeff", "\0", '"""', "nan", "1e999", "yes", "failed", "é"]
)
inserted = st.lists(fragments | st.text(max_size=3), max_size=4).map("".join)


@st.composite
def changed(draw: st.DrawFn, text: str) -> str:
    """The text with one to three stretches replaced, as by a careless hand."""
    for _ in range(draw(st.integers(1, 3))):
        start = draw(st.integers(0, len(text)))
        end = min(len(text), start + draw(st.sampled_from([0, 0, 1, 1, 2, 5, 40])))
        text = text[:start] + draw(inserted) + text[end:]
    return text


@pytest.fixture(scope="module")
def folder():
    with tempfile.TemporaryDirectory() as place:
        yield small_rules.write(Path(place) / "small")


def load(folder: Path) -> Tables | None:
    """Load the tables; None where they are refused with at least one problem in a file of the folder."""
    try:
        return load_tables(folder)
    except TableError as error:
        problems = error.problems
    assert problems
    assert {problem.file for problem in problems} <= set(FILES)
    assert all(problem.message and problem.line >= 0 for problem in problems)
    return None


def parse(text: str, tables: Tables) -> Visit | None:
    """Parse a visit; None where it is refused with at least one problem."""
    try:
        return parse_visit(text, "visit.toml", tables, today=TODAY)
    except VisitError as error:
        problems = error.problems
    assert problems
    assert all(problem.message and 0 <= problem.line <= text.count("\n") + 1 for problem in problems)
    return None


@many
@given(text=st.text(), table=st.sampled_from(sorted(ROW_CLASSES)))
def test_any_text_for_a_table_gives_rows_or_problems(text, table):
    rows, problems = read_table(text, f"{table}.csv", ROW_CLASSES[table])
    assert all(isinstance(row, ROW_CLASSES[table]) for _, row in rows)
    assert all(isinstance(problem, Problem) for problem in problems)


@many
@given(text=st.text() | changed(FILES["settings.toml"]))
def test_any_text_for_the_settings_gives_settings_or_problems(text):
    read = read_settings(text, "settings.toml")
    assert (read.settings is None) == bool(read.problems)


@few
@given(data=st.data())
def test_tables_changed_by_a_careless_hand_are_whole_or_refused(folder, data):
    name = data.draw(st.sampled_from(sorted(FILES)))
    (folder / name).write_text(data.draw(changed(FILES[name])), encoding="utf-8", newline="")
    load(folder)
    (folder / name).write_text(FILES[name], encoding="utf-8", newline="")


@few
@given(name=st.sampled_from(sorted(FILES)), junk=st.binary(max_size=60), at=st.integers(0, 200))
def test_any_bytes_in_the_tables_are_read_or_refused(folder, name, junk, at):
    whole = FILES[name].encode()
    (folder / name).write_bytes(whole[:at] + junk + whole[at:])
    load(folder)
    (folder / name).write_bytes(whole)


@many
@given(text=st.text() | changed(VISIT))
def test_any_visit_file_gives_a_visit_that_reads_back_equal_or_problems(small_tables, text):
    visit = parse(text, small_tables)
    if visit is not None:
        assert parse_visit(write_visit(visit, small_tables), "again.toml", small_tables, today=TODAY) == visit


@few
@given(junk=st.binary(max_size=80), at=st.integers(0, 600))
def test_any_bytes_for_a_visit_file_are_read_or_refused(folder, small_tables, junk, at):
    path = folder / "visit.toml"
    path.write_bytes(VISIT.encode()[:at] + junk + VISIT.encode()[at:])
    with suppress(VisitError):  # refused, as it may be
        assert read_visit(path, small_tables, today=TODAY).title


scalars = (
    st.sampled_from(
        ["1", "-1", "0", "38.5", "1e300", "inf", "nan", "true", "false", "0xffffffffffffffffffff", "9" * 30]
    )
    | st.sampled_from(
        ["2026-05-04", "2026-05-04T10:00:00Z", "07:32:00", '"grand"', '"3 mm"', '"1/0 in"', '"good"', '""']
    )
    | st.sampled_from(['"strings"', '"not looked at"', '"can\'t be seen"', '"dull"', '"N.m"', "[]", "{}"])
)
values = st.recursive(
    scalars,
    lambda inner: (
        st.lists(inner, max_size=3).map(lambda items: f"[{', '.join(items)}]")
        | st.dictionaries(
            st.sampled_from(["value", "note", "unit", "bass", "readings", "kind", "low", "likely", "strings"]),
            inner,
            max_size=3,
        ).map(lambda pairs: "{" + ", ".join(f"{key} = {value}" for key, value in pairs.items()) + "}")
    ),
    max_leaves=6,
)
keys = st.sampled_from(
    ["title", "date", "story", "humidity", "piano", "piano.kind", "piano.size", "piano.year", "piano.features",
     "piano.tier", "piano.renewed", "piano.renewed.strings", "client", "client.to_hear", "client.wants_to_play",
     "finished_value", "finished_value.low", "findings", "findings.string_rust", "findings.groove_depth",
     "findings.pin_torque", "findings.pin_torque.bass", "findings.pin_torque.unit", "findings.loose_pins"]
)  # fmt: skip


@many
@given(pairs=st.dictionaries(keys, values, max_size=5))
def test_any_value_under_any_key_is_read_or_refused(small_tables, pairs):
    pairs = {"title": '"x"', "date": "2026-05-04", "piano.kind": '"grand"'} | pairs
    parse("\n".join(f"{key} = {value}" for key, value in pairs.items()), small_tables)


line = st.text(st.characters(exclude_categories=["Cs", "Cc"]) | st.just("\t"), max_size=20)
text = st.text(st.characters(exclude_categories=["Cs", "Cc"]) | st.sampled_from("\n\t\r\"'\\"), max_size=30)
money = st.floats(0.01, 1e9)


@st.composite
def findings(draw: st.DrawFn) -> tuple[Finding, ...]:
    words = {"room": SEVERITIES, "string_rust": SEVERITIES}
    found = []
    for check in draw(st.lists(st.sampled_from([*words, "groove_depth", "pin_torque"]), unique=True)):
        note = draw(text)
        if draw(st.booleans()):
            found.append(Finding(check=check, cannot_see=True, note=note))
        elif check in words:
            found.append(Finding(check=check, grade=draw(st.sampled_from(words[check])), note=note))
        elif check == "groove_depth":
            found.append(Finding(check=check, readings=(Reading(value=draw(st.floats(0, 12))),), note=note))
        else:
            sections = draw(st.lists(st.sampled_from([*SECTIONS, ""]), unique=True, min_size=1))
            numbers = st.lists(st.floats(0, 30), min_size=1, max_size=4)
            places = iter(draw(st.permutations([*((key, s) for key in (1, 49, 88) for s in (0, 2, 3)), *[(0, 0)] * 9])))
            readings = tuple(
                Reading(value=v, section=section, key=key, string=string)
                for section in sections
                for v, (key, string) in zip(draw(numbers), places, strict=False)
            )
            found.append(Finding(check=check, readings=readings, note=note))
    return tuple(found)


@st.composite
def visits(draw: st.DrawFn) -> Visit:
    kind, low, high = draw(st.sampled_from([("upright", 800.0, 1600.0), ("grand", 1200.0, 3200.0)]))
    year = draw(st.none() | st.integers(1700, 2020))
    parts = draw(st.lists(st.sampled_from(["pinblock", "strings", "hammers"]), unique=True))
    piano = Piano(
        kind=kind,
        size_mm=draw(st.none() | st.floats(low, high, exclude_max=True)),
        maker=draw(line),
        serial=draw(line),
        finish=draw(line),
        year=year,
        year_is_about=draw(st.booleans()),
        tier=draw(st.sampled_from(["", "plain", "fine"])),
        features=draw(st.sampled_from([(), ("straight_strung",)])),
        renewed=tuple((part, draw(st.integers(year or 1700, 2020))) for part in parts),
    )
    client = Client(
        name=draw(line),
        purpose=draw(text),
        wishes=draw(text),
        wants_to_play=draw(st.booleans()),
        to_have=draw(st.just(0.0) | money),
        to_hear=draw(st.just(0.0) | money),
        budget=draw(st.none() | money),
        playing_year=draw(st.none() | money),
        horizon_years=draw(st.none() | st.floats(1, 60)),
    )
    figures = draw(st.none() | st.lists(money, min_size=3, max_size=3).map(sorted))
    return Visit(
        title=draw(line.filter(str.strip)),
        on=draw(st.dates(date(2020, 1, 1), TODAY)),
        piano=piano,
        technician=draw(line),
        place=draw(line),
        story=draw(text),
        humidity=draw(st.none() | st.floats(0, 100)),
        temperature=draw(st.none() | st.floats(-40, 60)),
        client=client,
        finished_value=figures and Range(low=figures[0], likely=figures[1], high=figures[2]),
        findings=draw(findings()),
    )


@many
@given(visit=visits())
def test_every_visit_that_is_written_reads_back_equal(small_tables, visit):
    assert parse_visit(write_visit(visit, small_tables), "visit.toml", small_tables, today=TODAY) == visit
